package batch

import (
	"strings"
	"testing"
)

func TestStudyPlanFaults(t *testing.T) {
	for want, p := range map[string]StudyPlan{
		`kind of study: found ""`:               {Appraisers: []string{"A"}},
		"at least 2 parts":                      {Kind: CrossedStudy, Parts: []string{"1"}, Appraisers: []string{"A"}, Trials: 2},
		"masters: found 0; needed: one":         {Kind: TypeOneStudy, Appraisers: []string{"A"}, Trials: 25},
		"allowed: 25 or more":                   {Kind: TypeOneStudy, Appraisers: []string{"A"}, Trials: 24, References: []float64{1}},
		"a type-1 study is measured by one":     {Kind: TypeOneStudy, Appraisers: []string{"A", "B"}, Trials: 25, References: []float64{1}},
		"needed: at least 2 that differ":        {Kind: LinearityStudy, Appraisers: []string{"A"}, Trials: 5, References: []float64{1}},
		"master 2: found 1 mm":                  {Kind: LinearityStudy, Appraisers: []string{"A"}, Trials: 5, References: []float64{1, 1}},
		"tolerance: found -1 mm":                {Kind: TypeOneStudy, Appraisers: []string{"A"}, Trials: 25, References: []float64{1}, ToleranceMM: -1},
		"a study of 1200 readings is too long":  {Kind: CrossedStudy, Parts: []string{"a", "b", "c", "d"}, Appraisers: []string{"A", "B", "C"}, Trials: 100},
		"readings of each master: found 600; a": {Kind: LinearityStudy, Appraisers: []string{"A"}, Trials: 600, References: []float64{1, 2}},
	} {
		if _, err := p.Steps(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%+v: got %v, want %s", p, err, want)
		}
	}
}

// A linearity study asks for every master the planned number of times, each reading once.
func TestLinearitySteps(t *testing.T) {
	p := StudyPlan{Kind: LinearityStudy, Appraisers: []string{"A"}, Trials: 3, References: []float64{0.5, 1, 2.5}}
	steps, err := p.Steps()
	if err != nil || len(steps) != 9 {
		t.Fatal(err, len(steps))
	}
	seen := map[string]bool{}
	var taken []StudyReading
	for range steps {
		s := NextStep(steps, taken)
		if key := s.Part + "/" + s.Trial; seen[key] {
			t.Errorf("%s is asked for twice", key)
		} else {
			seen[key] = true
		}
		taken = append(taken, StudyReading{ID: s.Part + s.Trial, Part: s.Part, Appraiser: s.Appraiser, Trial: s.Trial, ReferenceMM: s.ReferenceMM})
	}
	if NextStep(steps, taken) != nil {
		t.Error("the study does not end")
	}
}
