package inspect

import (
	"encoding/json"
	"strings"
	"testing"
)

// TestNothingJudged: without limits a neck conforms and the reason says that nothing was judged; empty lists stay lists.
func TestNothingJudged(t *testing.T) {
	s, _ := readNeck(t, "W1-good-neck")
	s.Limits = nil
	res := mustEvaluate(t, s, &Readings{Serial: "QM-1"}, Options{})
	if !res.Conforms || res.Disposition != Pass || !strings.Contains(res.Why, "nothing was judged") {
		t.Errorf("%v %s: %s", res.Conforms, res.Disposition, res.Why)
	}
	data, err := json.Marshal(res)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"characteristics":[]`, `"profile":[]`, `"clearance":[]`, `"advice":[]`} {
		if !strings.Contains(string(data), want) {
			t.Errorf("%s lacks %s", data, want)
		}
	}
}

// TestPartsMissing: whatever is missing, what remains is computed and what a limit needs is not measured.
func TestPartsMissing(t *testing.T) {
	s, whole := readNeck(t, "W1-good-neck")
	for _, c := range []struct {
		name   string
		remove func(*Readings)
		gone   []string
		left   []string
	}{
		{"profile", func(r *Readings) { r.Profile = nil }, []string{Relief, Twist, LeastClearance}, []string{Action, NutHeight, Pitch}},
		{"one track", func(r *Readings) { r.Profile = r.Profile[:1] }, []string{Twist, SideDifference, Flatness, LevelZone, BoardRadius}, []string{Relief, Rocker, Hump, Straightness}},
		{"nut heights", func(r *Readings) { r.NutHeight = nil }, []string{NutHeight, LeastClearance, ClearanceMargin}, []string{Relief, Action}},
		{"action", func(r *Readings) { r.Action = nil }, []string{Action, LeastClearance, ClearanceMargin}, []string{Relief, NutHeight}},
		{"all but four crowns of each track", func(r *Readings) {
			for i := range r.Profile {
				for j := range r.Profile[i].ZMM {
					if j != 0 && j != 6 && j != 16 && j != 21 {
						r.Profile[i].ZMM[j] = nil
					}
				}
			}
		}, []string{LevelDeviation, Rocker, Hump, FallAway}, []string{Relief, Straightness, Flatness, LevelZone, Twist}},
		{"everything", func(r *Readings) { *r = Readings{Serial: "x"} }, []string{Relief, Action, Pitch}, nil},
	} {
		r := whole.clone()
		c.remove(r)
		res := mustEvaluate(t, s, r, Options{})
		if res.Conforms || res.Disposition != Remeasure {
			t.Errorf("without %s: %s", c.name, res.Disposition)
		}
		values := map[string]bool{}
		for _, k := range res.Characteristics {
			values[k.Name] = values[k.Name] || k.Value != nil
		}
		for _, name := range c.gone {
			if values[name] {
				t.Errorf("without %s: %s has a value", c.name, name)
			}
		}
		for _, name := range c.left {
			if !values[name] {
				t.Errorf("without %s: %s has no value", c.name, name)
			}
		}
	}
}

// TestMissingCrownAtPitch: the largest relief over a range with a crown missing is not measured, and the reason is the
// crown: the pitch was measured and is right.
func TestMissingCrownAtPitch(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	s.Limits = []Limit{{Characteristic: ReliefMax, Track: each, UpperMM: number(0.6)}}
	r.Profile[0].ZMM[4] = nil
	res := mustEvaluate(t, s, r, Options{})
	if res.Disposition != Remeasure || !strings.HasPrefix(res.Why, "largest relief") || !strings.Contains(res.Why, "not fully measured") {
		t.Errorf("%s: %s", res.Disposition, res.Why)
	}
}
