package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/study"
	"sagitta/inspect/unit"
	"sagitta/station/web/show"
	"sagitta/station/web/webtest"
)

// A study is planned on the gauge's page with its mistakes named, and refused as a whole until they are mended.
func TestPlanAStudy(t *testing.T) {
	s := openShop(t).fill()
	path := "/gauges/" + s.Gauge.ID + "/studies"
	form := url.Values{"kind": {"crossed"}, "about": {"steel blocks"}, "appraisers": {"Mara Quill", "Tove Aske"}, "trials": {"2"}, "tolerance": {"0.16"}, "parts": {"P1..P5"}, "by": {"Tove Aske"}}
	for name, c := range map[string]struct{ key, value, want string }{
		"one trial":    {"trials", "1", "at least 2 parts, 1 appraiser and 2 trials"},
		"one part":     {"parts", "P1", "at least 2 parts"},
		"nobody":       {"by", "", "Nothing is chosen"},
		"not a number": {"trials", "many", "is not a number"},
		"no kind":      {"kind", "", "Nothing is chosen"},
	} {
		wrong := url.Values{}
		for k, v := range form {
			wrong[k] = v
		}
		wrong.Set(c.key, c.value)
		if page := s.Post(path, wrong, http.StatusUnprocessableEntity); !strings.Contains(page, c.want) || !strings.Contains(page, "steel blocks") {
			t.Errorf("%s: no %q, or what was typed is lost", name, c.want)
		}
	}
	to := s.Post(path, form, http.StatusSeeOther)
	webtest.Wants(t, s.Get(to, http.StatusOK), "0 of 20 readings taken", "Measure at the bench", "Steel blocks")
	webtest.Wants(t, s.Get("/gauges/"+s.Gauge.ID, http.StatusOK), "Crossed study", "0 of 20 readings")
}

// The result page's numbers are those of the study computed from the same readings; its outcome becomes the gauge's
// repeatability when a person says so.
func TestStudyResult(t *testing.T) {
	s := openShop(t).fill()
	ctx := context.Background()
	plan := batch.StudyPlan{Kind: batch.CrossedStudy, About: "steel blocks", Parts: []string{"1", "2", "3", "4"}, Appraisers: []string{"Mara Quill", "Tove Aske"}, Trials: 2, Seed: 5, ToleranceMM: 0.2}
	st := webtest.Must[batch.GaugeStudy](s)(s.Rec.StartStudy(ctx, "Tove Aske", s.Gauge.ID, plan))
	steps := webtest.Must[[]batch.StudyStep](s)(plan.Steps())
	var data []study.Measurement
	for i, step := range steps {
		v := 0.3*float64(step.Part[0]-'0') + 0.004*float64(i%3)
		webtest.Must[batch.StudyReading](s)(s.Rec.AppendStudyReading(ctx, batch.StudyReading{StudyID: st.ID, By: step.Appraiser, Part: step.Part, Appraiser: step.Appraiser, Trial: step.Trial, ValueMM: v}))
		data = append(data, study.Measurement{Part: step.Part, Appraiser: step.Appraiser, Trial: step.Trial, Value: v})
	}
	if err := s.Rec.EndStudy(ctx, "Tove Aske", st.ID, batch.StudyFinished, ""); err != nil {
		t.Fatal(err)
	}
	want, err := study.Crossed(data, study.Options{Tolerance: 0.2})
	if err != nil {
		t.Fatal(err)
	}
	page := s.Get("/studies/"+st.ID, http.StatusOK)
	webtest.Wants(t, page, fmt.Sprintf("it takes %.1f %% of the total variation", *want.PercentGRR), `id="by-part"`, `id="components"`, "Analysis of variance")
	if got := webtest.Cell(t, page, "gauge and appraisers", 0); got != fmt.Sprintf("%.4f", want.GRR) {
		t.Errorf("the page says %s, the study %.4f", got, want.GRR)
	}
	for by, want := range map[string]string{"": "Nothing is chosen. Choose one of the list", "Mara Quill": "&#34;Mara Quill&#34; is not offered"} { // Mara Quill is on the bench
		webtest.Wants(t, s.Post("/studies/"+st.ID+"/use", url.Values{"by": {by}}, http.StatusUnprocessableEntity), want)
	}
	if changed := webtest.Must[[]batch.Gauge](s)(s.Rec.Gauges(ctx))[0].RepeatabilityU; changed != s.Gauge.RepeatabilityU {
		t.Errorf("a refused person changed the repeatability to %v", changed)
	}
	s.Post("/studies/"+st.ID+"/use", url.Values{"by": {"Tove Aske"}}, http.StatusSeeOther)
	for _, g := range webtest.Must[[]batch.Gauge](s)(s.Rec.Gauges(ctx)) {
		if g.ID == s.Gauge.ID && g.RepeatabilityU != want.GRR {
			t.Errorf("the gauge's repeatability is %v, want %v", g.RepeatabilityU, want.GRR)
		}
	}
	if s.changed == 0 {
		t.Error("the station was not told of the gauge's new entry")
	}
	webtest.Wants(t, s.Get("/studies/"+st.ID, http.StatusOK), "Tove Aske made")
	webtest.Wants(t, s.Post("/studies/"+st.ID+"/give-up", url.Values{"by": {"Tove Aske"}, "reason": {"late"}}, http.StatusConflict), "finished")
}

// The other two kinds, on readings whose answer is known beforehand.
func TestStudiesOfMasters(t *testing.T) {
	var readings []batch.StudyReading
	for i := range 30 {
		readings = append(readings, batch.StudyReading{ValueMM: 1 + 0.001*float64(i%3-1)})
	}
	r := show.StudyResultOf(batch.StudyPlan{Kind: batch.TypeOneStudy, References: []float64{1}, ToleranceMM: 0.2}, readings, 0.001, unit.Millimetre)
	if !strings.HasPrefix(r.Answer, "The gauge is capable: Cg 8.03") { // 0.2 * 0.2/(6 * sqrt(20/29)/1000)
		t.Errorf("%s", r.Answer)
	}
	// The same readings of a gauge whose step is 10 % of the tolerance: at most 5 % is allowed (ISO 22514-7:2021, from memory).
	r = show.StudyResultOf(batch.StudyPlan{Kind: batch.TypeOneStudy, References: []float64{1}, ToleranceMM: 0.2}, readings, 0.02, unit.Millimetre)
	if !strings.HasPrefix(r.Answer, "The gauge is not capable: Cg 8.03") || !strings.Contains(r.Answer, "resolution is too coarse") || !strings.Contains(strings.Join(r.Why, "\n"), "resolution takes 10.0 % of the tolerance: too coarse") {
		t.Errorf("%s %q", r.Answer, r.Why)
	}
	r = show.StudyResultOf(batch.StudyPlan{Kind: batch.TypeOneStudy, References: []float64{1}, ToleranceMM: 0.2}, readings, 0.01, unit.Millimetre)
	if !strings.HasPrefix(r.Answer, "The gauge is capable") || !strings.Contains(strings.Join(r.Why, "\n"), "takes 5.0 % of the tolerance: fine enough") {
		t.Errorf("%s %q", r.Answer, r.Why)
	}
	readings = nil
	for i, ref := range []float64{1, 1, 2, 2, 3, 3, 4, 4} {
		readings = append(readings, batch.StudyReading{ReferenceMM: ref, ValueMM: ref*1.01 + 0.0005*float64(i%2)})
	}
	r = show.StudyResultOf(batch.StudyPlan{Kind: batch.LinearityStudy, References: []float64{1, 2, 3, 4}}, readings, 0.001, unit.Millimetre)
	if !strings.Contains(r.Answer, "changes over its travel, by 0.01 ") || len(r.Rows) != 4 {
		t.Errorf("%s, %v", r.Answer, r.Rows)
	}
	// The same bias at masters far from zero: the intercept alone would not tell it from none.
	readings = nil
	for i, ref := range []float64{8, 8, 9, 9, 10, 10} {
		off := 0.01 + 0.002*float64(i%2)
		readings = append(readings, batch.StudyReading{ReferenceMM: ref, ValueMM: ref + off})
	}
	r = show.StudyResultOf(batch.StudyPlan{Kind: batch.LinearityStudy, References: []float64{8, 9, 10}}, readings, 0.001, unit.Millimetre)
	if !strings.Contains(r.Answer, "off by about the same amount at every master, 0.0110 mm") {
		t.Errorf("%s", r.Answer)
	}
	for i := range readings {
		readings[i].ValueMM = readings[i].ReferenceMM + 0.001*float64(i%2*2-1)
	}
	r = show.StudyResultOf(batch.StudyPlan{Kind: batch.LinearityStudy, References: []float64{8, 9, 10}}, readings, 0.001, unit.Millimetre)
	if !strings.Contains(r.Answer, "no bias is seen") {
		t.Errorf("%s", r.Answer)
	}
	if r = show.StudyResultOf(batch.StudyPlan{Kind: batch.LinearityStudy, References: []float64{1, 2}}, nil, 0.001, unit.Millimetre); !strings.Contains(r.Answer, "cannot be evaluated") {
		t.Errorf("%s", r.Answer)
	}
}
