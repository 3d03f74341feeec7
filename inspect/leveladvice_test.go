package inspect

import (
	"strings"
	"testing"
)

// TestLevelAdvice: the high fret is to be taken down by what stands over the bend curve, its low neighbours are its shadow, and
// a crown that would become too low calls for a new fret (definition).
func TestLevelAdvice(t *testing.T) {
	s, r := readNeck(t, "W3-high-fret-guarded")
	s.Decision.Rule = "simple"
	s.Limits = append(s.Limits[:3:3], Limit{Characteristic: Rocker, Track: treble, Fret: EachIndex(), LowerMM: number(-0.03), UpperMM: number(0.04)})
	res := mustEvaluate(t, s, r, Options{})
	a := res.Advice[0]
	if a.What != "fret level" || len(a.Items) != 1 || a.Items[0].Fret != 12 || a.Items[0].Track != treble {
		t.Fatalf("%+v", a)
	}
	level := row(t, res, rowKey{name: LevelDeviation, track: treble, fret: 12})
	if *a.Items[0].AmountMM != *level.Value || !strings.Contains(a.Why, "0.75") {
		t.Errorf("take off %v, level deviation %v: %s", *a.Items[0].AmountMM, *level.Value, a.Why)
	}
	for i := range r.Profile {
		r.Profile[i].CrownMM = make([]*float64, 22)
		r.Profile[i].CrownMM[11] = number(0.78)
	}
	a = mustEvaluate(t, s, r, Options{}).Advice[0]
	if !strings.Contains(a.Items[0].Note, "refret") || strings.Contains(a.Why, "Measure the crowns") {
		t.Errorf("%+v", a)
	}
}

// TestLowFretIsNoHighNeighbour: a fret that sank makes both its neighbours look high to a short straightedge; it is the one to be
// brought up, and the simulated neck is then inside its limits with no metal off the neighbours.
func TestLowFretIsNoHighNeighbour(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	for i := range r.Profile {
		*r.Profile[i].ZMM[5] -= 0.09
	}
	res := mustEvaluate(t, s, r, Options{})
	if c := row(t, res, rowKey{name: Rocker, track: bass, fret: 7}); c.Zone != Nonconforming || *c.Value < 0 {
		t.Fatalf("the neighbour does not look high: %+v", c)
	}
	a := res.Advice[0]
	if a.What != "fret level" || len(a.Items) != 3 {
		t.Fatalf("%+v", a)
	}
	for _, item := range a.Items {
		if item.Fret != 6 || item.AmountMM != nil || !strings.Contains(item.Note, "low") {
			t.Errorf("%+v", item)
		}
	}
	for _, p := range a.Predicted {
		if p.Zone != Conforming {
			t.Errorf("%+v", p)
		}
	}
}

// TestLevelAdviceKinds: what level advice says of a low fret, of a fall-away out of its limits, of a radius and of a zone.
func TestLevelAdviceKinds(t *testing.T) {
	items := func(limits []Limit, move func(r *Readings)) []AdviceItem {
		t.Helper()
		s, r := readNeck(t, "W1-good-neck")
		s.Limits = limits
		move(r)
		res := mustEvaluate(t, s, r, Options{})
		if len(res.Advice) != 1 || res.Advice[0].What != "fret level" {
			t.Fatalf("%s: %+v", res.Disposition, res.Advice)
		}
		return res.Advice[0].Items
	}
	stay := func(*Readings) {}
	level := []Limit{{Characteristic: LevelDeviation, Track: each, Fret: EachIndex(), LowerMM: number(-0.04), UpperMM: number(0.04)}}
	if got := items(level, func(r *Readings) { *r.Profile[0].ZMM[8] -= 0.08 }); len(got) != 1 || got[0].Fret != 9 || got[0].AmountMM != nil || !strings.Contains(got[0].Note, "low") {
		t.Errorf("low fret: %+v", got)
	}
	fall := []Limit{{Characteristic: FallAway, Track: bass, LowerMM: number(0.1)}}
	if got := items(fall, stay); len(got) != 5 || got[0].Fret != 18 || got[4].Fret != 22 || *got[0].AmountMM >= *got[4].AmountMM || !strings.Contains(got[4].Note, "rise") {
		t.Errorf("too little fall-away: %+v", got)
	}
	fall = []Limit{{Characteristic: FallAway, Track: bass, UpperMM: number(0.01)}}
	if got := items(fall, stay); len(got) != 1 || !strings.Contains(got[0].Note, "too far") {
		t.Errorf("too much fall-away: %+v", got)
	}
	radius := []Limit{{Characteristic: BoardRadius, Fret: NumberIndex(9), UpperMM: number(290)}}
	if got := items(radius, stay); len(got) != 1 || got[0].Fret != 9 || !strings.Contains(got[0].Note, "radius") {
		t.Errorf("radius: %+v", got)
	}
	zone := []Limit{{Characteristic: LevelZone, UpperMM: number(0.03)}}
	if got := items(zone, func(r *Readings) { *r.Profile[2].ZMM[5] += 0.06 }); len(got) != 1 || got[0].Track != treble || got[0].Fret != 6 || got[0].AmountMM == nil {
		t.Errorf("level zone: %+v", got)
	}
	// Nothing stands out: the highest of all is taken first.
	zone[0].UpperMM = number(0.005)
	if got := items(zone, stay); len(got) == 0 || got[0].AmountMM == nil {
		t.Errorf("tight level zone: %+v", got)
	}
}
