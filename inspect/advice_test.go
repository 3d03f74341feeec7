package inspect

import (
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
)

// overBowed is a worked neck with too much relief.
func overBowed(t *testing.T) (*Spec, *Readings) { return readNeck(t, "W2-too-much-relief") }

// TestRodStops: each reason not to turn the rod turns the advice over to the repairer and says why (definition).
func TestRodStops(t *testing.T) {
	step := func(turns, before, after float64) RodStep {
		return RodStep{Turns: turns, Direction: "tighten", ReliefBeforeMM: before, ReliefAfterMM: after, UMM: number(0.009)}
	}
	for _, c := range []struct {
		name, why string
		prepare   func(*Spec, *Readings)
	}{
		{"no rod", "no truss rod", func(s *Spec, _ *Readings) { s.Neck.Rod = "none" }},
		{"too little travel", "has about 0.20 left", func(s *Spec, _ *Readings) { s.Neck.RodTurnsLeft = number(0.2) }},
		{"travel used up", "has about 0.10 left", func(s *Spec, r *Readings) {
			s.Neck.RodTurnsLeft = number(0.35)
			r.RodSteps = []RodStep{step(0.25, 0.58, 0.46)}
		}},
		{"travel used up together with other work", "has about 0.10 left", func(s *Spec, r *Readings) {
			s.Neck.RodTurnsLeft = number(0.6)
			r.RodTurned = number(0.5)
			r.RodSteps = []RodStep{step(0.25, 0.58, 0.46)} // one of its two quarters
		}},
		{"two poor steps", "no effect twice", func(_ *Spec, r *Readings) {
			r.RodSteps = []RodStep{step(0.25, 0.50, 0.48), step(0.25, 0.48, 0.46)}
		}},
		{"slack and back-bowed", "already slack", func(s *Spec, r *Readings) {
			r.RodSlack = true
			*r = *change(s, r, func(x, _, z float64) float64 {
				return z - 6e-5*(FretX(s.Neck.ScaleMM, 14)-x)*(FretX(s.Neck.ScaleMM, 14)-x)/2
			})
		}},
		{"S-shaped", "bent into an S", func(s *Spec, r *Readings) {
			*r = *change(s, r, func(x, _, z float64) float64 {
				u := x / FretX(s.Neck.ScaleMM, 14)
				return z - 1.2*u*u*(3-2*u)*0.9 + 3*(u-0.5)*(u-0.5)*(u-0.5)
			})
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, r := overBowed(t)
			c.prepare(s, r)
			res := mustEvaluate(t, s, r, Options{})
			if res.Disposition != Repair || len(res.Advice) == 0 || res.Advice[0].What != "repairer" || !strings.Contains(res.Advice[0].Why, c.why) {
				t.Errorf("%s: %+v", res.Disposition, res.Advice)
			}
			if defects := map[string]string{"two poor steps": "rod stuck", "S-shaped": "S-curve"}; defects[c.name] != "" {
				if got := Remedies(res); !slices.ContainsFunc(got, func(r Remedy) bool { return r.Defect == defects[c.name] }) {
					t.Errorf("remedies: %+v", got)
				}
			}
			for _, a := range res.Advice {
				if a.What == "truss rod" {
					t.Error("the rod is still to be turned")
				}
			}
		})
	}
	s, r := overBowed(t)
	s.Neck.RodTurnsLeft = nil
	r.RodSteps = []RodStep{step(0.25, 0.50, 0.48)} // one step without effect teaches nothing, and does not stop
	res := mustEvaluate(t, s, r, Options{})
	if res.Disposition != Rework || res.Advice[0].What != StepMeasure || res.Advice[1].What != "truss rod" {
		t.Errorf("one poor step: %s %+v", res.Disposition, res.Advice)
	}
}

// TestOrderOfRework: the first step has numbers, later ones wait for it.
func TestOrderOfRework(t *testing.T) {
	s, r := overBowed(t)
	r.Action[0].HeightMM = 2.6
	r.NutHeight[2].HeightMM = 0.8
	res := mustEvaluate(t, s, r, Options{})
	var order []string
	for i, a := range res.Advice {
		order = append(order, a.What)
		if a.Order != i+1 || a.Waits != (i > 0) || i > 0 && (a.Why == "" || !strings.Contains(StepWords(a), "after the steps before it") || strings.Contains(a.Why, "after")) {
			t.Errorf("step %+v", a)
		}
	}
	if got := strings.Join(order, ", "); got != "truss rod, nut slots, action" {
		t.Errorf("order: %s", got)
	}
	rod := res.Advice[0]
	if !slices.Contains(rod.Cautions, cautionForce) || slices.Contains(res.Advice[1].Cautions, cautionForce) {
		t.Error("no cautions")
	}
	if c := FirstFailing(res); c == nil || c.Name != Relief {
		t.Errorf("first failing: %+v", c)
	}
	// The prediction for action follows from the predicted fall of relief (see the closed form's own test).
	var fall, drop float64
	for _, p := range rod.Predicted {
		switch p.Name {
		case Relief:
			fall = *row(t, res, rowKey{name: Relief, track: p.Track}).Value - p.Value
		case Action:
			if p.String == 6 {
				drop = *row(t, res, rowKey{name: Action, string: 6, fret: 12}).Value - p.Value
			}
		}
	}
	want := defaultActionRatio * reliefToAction(645, 1, 14, 7, 12) * fall
	if fall <= 0 || drop < want-1e-12 || drop > want+1e-12 {
		t.Errorf("relief falls %v, action %v, want %v", fall, drop, want)
	}
}

// TestActionAdvice: the saddle moves twice the change at fret 12, and the string line then gives the target.
func TestActionAdvice(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	r.Action[0].HeightMM = 2.1 // target 1.6
	res := mustEvaluate(t, s, r, Options{})
	if len(res.Advice) != 1 || res.Advice[0].What != "action" || len(res.Advice[0].Items) != 1 {
		t.Fatalf("%+v", res.Advice)
	}
	if item := res.Advice[0].Items[0]; item.String != 1 || *item.AmountMM > -0.9999999 || *item.AmountMM < -1.0000001 {
		t.Errorf("saddle: %+v, want 1.0 mm down", item)
	}
	// Clearance: raise the saddle by the missing margin and evaluate again.
	s, r = readNeck(t, "W5-hump")
	res = mustEvaluate(t, s, r, Options{})
	e := evaluation{}
	e.neck, _ = newNeck(filled(s), r, true)
	e.clearances = res.Clearance
	c := row(t, res, rowKey{name: ClearanceMargin, string: 1})
	move := e.saddleMove(c)
	for i := range r.Action {
		if h := &r.Action[i]; h.String == 1 {
			h.HeightMM += move * FretX(648, 12) / 648
		}
	}
	for i := range r.NutHeight {
		if h := &r.NutHeight[i]; h.String == 1 {
			h.HeightMM += move * FretX(648, 1) / 648
		}
	}
	after := row(t, mustEvaluate(t, s, r, Options{}), rowKey{name: ClearanceMargin, string: 1})
	if *c.Value >= 0 || *after.Value < -1e-9 || *after.Value > 1e-9 {
		t.Errorf("margin %v, saddle %+.4f, then %v; want 0", *c.Value, move, *after.Value)
	}
}

// filled is a specification with its datum filled in.
func filled(s *Spec) *Spec {
	c := *s
	c.fillDatum()
	return &c
}

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

// TestPredictions: what a step is predicted to do is what an evaluation of the worked-on neck gives.
func TestPredictions(t *testing.T) {
	check := func(t *testing.T, s *Spec, a Advice, after *Readings, fewest int) {
		t.Helper()
		then := mustEvaluate(t, s, after, Options{SkipUncertainty: true})
		if len(a.Predicted) < fewest {
			t.Fatalf("%d predictions: %+v", len(a.Predicted), a.Predicted)
		}
		for _, p := range a.Predicted {
			k := rowKey{p.Name, p.Track, p.String, p.Fret, 0}
			if !kinds[p.Name].Fret {
				k.fret = 0
			}
			if got := *row(t, then, k).Value; got < p.Value-1e-9 || got > p.Value+1e-9 || p.Interval[0] > p.Value || p.Interval[1] < p.Value {
				t.Errorf("%+v: predicted %v, got %v", k, p.Value, got)
			}
		}
	}
	t.Run("action", func(t *testing.T) {
		s, r := readNeck(t, "W1-good-neck")
		r.Action[0].HeightMM = 2.1
		a := mustEvaluate(t, s, r, Options{}).Advice[0]
		after := r.clone()
		after.Action[0].HeightMM = 1.6
		after.NutHeight[0].HeightMM -= 1.0 * FretX(648, 1) / 648
		check(t, s, a, after, 2)
	})
	t.Run("nut slots", func(t *testing.T) {
		s, r := readNeck(t, "W1-good-neck")
		r.NutHeight[5].HeightMM = 0.685 // middle of the limits 0.485
		a := mustEvaluate(t, s, r, Options{}).Advice[0]
		if a.What != "nut slots" || *a.Items[0].AmountMM < 0.1999999 || *a.Items[0].AmountMM > 0.2000001 {
			t.Fatalf("%+v", a)
		}
		after := r.clone()
		after.NutHeight[5].HeightMM -= 0.2
		after.Action[5].HeightMM -= 0.2 * (648 - FretX(648, 12)) / (648 - FretX(648, 1))
		check(t, s, a, after, 2) // held at a fret the string does not know of the nut
	})
	t.Run("fret level", func(t *testing.T) {
		s, r := readNeck(t, "W3-high-fret-guarded")
		a := mustEvaluate(t, s, r, Options{}).Advice[0]
		after := r.clone()
		for _, item := range a.Items {
			// A string has a part of a crown of the tracks beside it under it, linear across the board.
			track := slices.IndexFunc(after.Profile, func(p TrackReading) bool { return p.Track == item.Track })
			*after.Profile[track].ZMM[item.Fret-1] -= *item.AmountMM
			for i := range after.Action {
				if h := &after.Action[i]; h.Fret == item.Fret {
					away := (s.FindString(h.String).YNutMM - after.Profile[track].YNutMM) / 17.5
					h.HeightMM += max(0, 1-math.Abs(away)) * *item.AmountMM
				}
			}
		}
		check(t, s, a, after, 3)
		if c := row(t, mustEvaluate(t, s, after, Options{}), rowKey{name: Rocker, track: treble, fret: 12}); c.Zone != Conforming {
			t.Errorf("the dressed fret: %+v", c)
		}
	})
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

// TestAdviceWords: what the bench reads out.
func TestAdviceWords(t *testing.T) {
	s, r := overBowed(t)
	r.Action[0].HeightMM = 2.6
	res := mustEvaluate(t, s, r, Options{})
	for i, want := range []string{"turn the truss rod: tighten 1/4 turn; mean relief then 0.33 mm (0.27 to 0.39)", "set the action, after the steps before it"} {
		if got := AdviceWords(s, res.Advice[i]); !strings.HasPrefix(got, want) {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	by, down, cents := 0.0412, -1.0, 3.2
	for _, c := range []struct {
		a    Advice
		want string
	}{
		{Advice{What: "fret level", Items: []AdviceItem{{Track: bass, Fret: 9, AmountMM: &by, Note: "careful"}}}, "level the frets: bass side, fret 9 press it down and seat it; what still stands high, take off 0.04 mm (careful)"},
		{Advice{What: "action", Items: []AdviceItem{{String: 6, AmountMM: &down}, {String: 5, AmountMM: &by}}}, "set the action: string 6 saddle down 1.00 mm; string 5 saddle up 0.04 mm"},
		{Advice{What: "pitch", Items: []AdviceItem{{String: 2, Cents: &cents}}}, "tune the strings: string 2 +3.2 cents"},
		{Advice{What: "truss rod", Direction: "loosen", Why: "too straight"}, "turn the truss rod: loosen"},
	} {
		if got := AdviceWords(s, c.a); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
	if got := Remedies(res); len(got) != 2 || got[0].Defect != "over-bow" || got[1].Defect != "action too high" {
		t.Errorf("remedies %+v", got)
	}
}

// TestTurnsOfNothing: sides that differ while their mean is on target get no turn, and are told why.
func TestTurnsOfNothing(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	s.Limits[0].LowerMM, s.Limits[0].TargetMM, s.Limits[0].UpperMM = number(0.288), number(0.292), number(0.296)
	res := mustEvaluate(t, s, r, Options{})
	a := res.Advice[0]
	if a.What != "truss rod" || *a.Turns != 0 || a.Direction != "" || !strings.Contains(a.Why, "cannot even them out") {
		t.Errorf("%+v", a)
	}
}

// TestMeanRelief: over the limited tracks, over all of them where none is limited (definition).
func TestMeanRelief(t *testing.T) {
	of := func(v, u float64, zone Zone) Characteristic {
		return Characteristic{Name: Relief, Value: &v, U: &u, Zone: zone}
	}
	for _, c := range []struct {
		values  []Characteristic
		want, u float64
	}{
		{[]Characteristic{of(0.2, 0.003, Conforming), of(0.4, 0.004, Nonconforming), of(9, 1, NoLimit)}, 0.3, 0.0025},
		{[]Characteristic{of(0.2, 0.003, NoLimit), of(0.3, 0.004, NoLimit)}, 0.25, 0.0025},
	} {
		got, u := MeanRelief(&Result{Characteristics: c.values})
		if got == nil || math.Abs(*got-c.want) > 1e-12 || math.Abs(u-c.u) > 1e-12 {
			t.Errorf("mean relief %v (u %v), want %v (%v)", got, u, c.want, c.u)
		}
	}
	if got, _ := MeanRelief(&Result{}); got != nil {
		t.Errorf("mean of nothing is %v", *got)
	}
}

// TestPitchComesFirst: what fails whatever the pitch is does not hide that relief and action wait for it, and the step says
// which strings, whether pitch has a limit or not (definition).
func TestPitchComesFirst(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	s.Limits = s.Limits[:len(s.Limits)-1] // pitch was the last
	r.NutHeight[2].HeightMM = 0.8
	for _, c := range []struct {
		name, why string
		pitch     []PitchReading
		items     []AdviceItem
	}{
		{"off", "string 1 is 329 cents off pitch", append([]PitchReading{{String: 1, Cents: number(-329)}}, r.Pitch[1:]...), []AdviceItem{{String: 1, Cents: number(329)}}},
		{"unread", "no pitch reading of string 1", r.Pitch[1:], []AdviceItem{{String: 1, Note: "no pitch reading: tune it and measure its pitch"}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			out := *r
			out.Pitch = c.pitch
			res := mustEvaluate(t, s, &out, Options{})
			if res.Disposition != Rework || len(res.Advice) != 2 || res.Advice[0].What != "pitch" || res.Advice[1].What != "nut slots" || !res.Advice[1].Waits {
				t.Fatalf("%s: %+v", res.Disposition, res.Advice)
			}
			a := res.Advice[0]
			if !strings.HasPrefix(a.Why, c.why) || a.Waits || !reflect.DeepEqual(a.Items, c.items) {
				t.Errorf("%+v", a)
			}
			out.NutHeight = slices.Clone(r.NutHeight)
			out.NutHeight[2].HeightMM = r.NutHeight[1].HeightMM // nothing but the pitch
			res = mustEvaluate(t, s, &out, Options{})
			if res.Disposition != Remeasure || !strings.HasPrefix(res.Why, c.why+": ") {
				t.Errorf("pitch alone: %s, %s", res.Disposition, res.Why)
			}
			if len(res.Advice) != 1 || res.Advice[0].What != "pitch" || !reflect.DeepEqual(res.Advice[0].Items, c.items) || res.Advice[0].Waits {
				t.Errorf("pitch alone: %+v", res.Advice)
			}
		})
	}
}

// TestPitchBeforeTheRepairer: where the pitch keeps a limited value from a verdict it is the first step, before a hump too, and
// what then fails is not told as taken out of limits by it (definition).
func TestPitchBeforeTheRepairer(t *testing.T) {
	s, r := readNeck(t, "W5-hump")
	r.Pitch = nil
	s.Limits = append(s.Limits, Limit{Characteristic: Action, String: NumberIndex(2), UpperMM: number(0.5)})
	res := mustEvaluate(t, s, r, Options{})
	var what []string
	for _, a := range res.Advice {
		what = append(what, a.What)
	}
	if want := []string{"pitch", "repairer", "action"}; res.Disposition != Repair || !slices.Equal(what, want) { // its clearance fails as measured
		t.Errorf("%s: %q, want %q", res.Disposition, what, want)
	}
	for _, a := range res.Advice {
		if strings.Contains(a.Why, "take out of limits") || len(a.Items) > 0 && a.What == "action" {
			t.Errorf("%+v", a)
		}
	}
	if len(res.Advice[0].Items) != len(s.Strings) {
		t.Errorf("%+v", res.Advice[0])
	}
}

// TestPitchNotDeclared: where the routine lets the inspector declare the pitch and nobody did, that is the first advice.
func TestPitchNotDeclared(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	s.Limits = s.Limits[:len(s.Limits)-1] // pitch was the last
	s.Routine = &Routine{Tracks: []string{bass, treble}, Pitch: "declared"}
	r.Pitch = nil
	res := mustEvaluate(t, s, r, Options{})
	if res.Disposition != Remeasure || len(res.Advice) != 1 || res.Advice[0].What != "pitch" || len(res.Advice[0].Items) != 0 ||
		!strings.HasPrefix(res.Advice[0].Why, "nobody has confirmed that the instrument is at pitch") {
		t.Errorf("%s: %+v", res.Disposition, res.Advice)
	}
}

// TestLaterStepThatTheFirstMends: an action a little too high because of the relief is said to come right with the rod.
func TestLaterStepThatTheFirstMends(t *testing.T) {
	s, r := overBowed(t)
	res := mustEvaluate(t, s, r, Options{})
	then := map[int]float64{}
	for _, p := range res.Advice[0].Predicted {
		if p.Name == Action {
			then[p.String] = p.Value
		}
	}
	now := *row(t, res, rowKey{name: Action, string: 6, fret: 12}).Value
	for _, c := range []struct {
		upper float64
		mends bool
	}{{(now + then[6]) / 2, true}, {then[6] - 0.3, false}} {
		spec := *s
		spec.Decision.Rule = simpleRule
		spec.Limits = slices.DeleteFunc(slices.Clone(s.Limits), func(l Limit) bool { return l.Characteristic == Action })
		spec.Limits = append(spec.Limits, Limit{Characteristic: Action, String: NumberIndex(6), Fret: NumberIndex(12), UpperMM: &c.upper})
		res := mustEvaluate(t, &spec, r, Options{})
		a := res.Advice[len(res.Advice)-1]
		if a.What != "action" || !a.Waits || strings.Contains(a.Why, "truss rod, should bring it inside") != c.mends {
			t.Errorf("upper %v, after the rod %v: %+v", c.upper, then[6], a)
		}
	}
}

// TestRemediesCoverTheRejectReasons: every reason on the factory's pick list of reject reasons (common practice, no source) has
// likely causes, remedies and who may do them.
func TestRemediesCoverTheRejectReasons(t *testing.T) {
	of := map[string]Remedy{}
	for _, r := range AllRemedies() {
		if _, twice := of[r.Defect]; twice || len(r.Causes) == 0 || len(r.Remedies) == 0 || !slices.Contains([]string{"inspector", "fret bench", "repairer"}, r.Who) {
			t.Errorf("%+v", r)
		}
		of[r.Defect] = r
	}
	for _, defect := range []string{
		"high fret", "low fret", "loose fret", "sharp ends", "back-bow", "over-bow", "S-curve", "hump at the joint", "tongue rise", "twist",
		"rod dead", "rod loose", "rod stuck", "nut slot low", "nut slot high", "nut binding", "action too high", "action too low",
		"saddle at end of travel", "intonation", "fret position", "crown too low", "cosmetic",
	} {
		if _, ok := of[defect]; !ok {
			t.Errorf("no remedy for %q", defect)
		}
	}
	for name, k := range kinds {
		for _, v := range []float64{-1, 1} {
			c := Characteristic{Name: name, Value: &v, Lower: number(-0.5), Upper: number(0.5), Zone: Nonconforming}
			r, ok := RemedyFor(c)
			if _, listed := of[r.Defect]; ok != k.Limited || ok && !listed {
				t.Errorf("%s at %v: %q", name, v, r.Defect)
			}
		}
	}
	fall := Characteristic{Name: FallAway, Value: number(-0.1), Lower: number(0), Zone: Nonconforming}
	if r, _ := RemedyFor(fall); r.Defect != "tongue rise" {
		t.Errorf("a rising end is a %q", r.Defect)
	}
}

// A bow taken out of a board without a rod, its strings where they are, would leave them on the frets: no height below 0 is
// predicted, and the saddles are listed by their strings' numbers.
func TestAdviceOnStringsThatWouldLieOnTheFrets(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	s.Neck.Rod, s.Neck.RodTurnsLeft = "none", nil
	xa, xk, xb := FretX(s.Neck.ScaleMM, 1), FretX(s.Neck.ScaleMM, 7), FretX(s.Neck.ScaleMM, 17)
	for i := range r.Profile {
		for j, z := range r.Profile[i].ZMM {
			if d := xb - FretX(s.Neck.ScaleMM, j+1); z != nil && d > 0 {
				*z += 1.2 * d * d / ((xk - xa) * (xb - xk))
			}
		}
	}
	res := mustEvaluate(t, s, r, Options{})
	if len(res.Advice) != 3 || res.Advice[1].What != StepNut || res.Advice[2].What != StepAction {
		t.Fatalf("advice %+v", res.Advice)
	}
	if want := "Strings 6 to 1 would then lie on the frets"; !strings.Contains(res.Advice[0].Why, want) {
		t.Errorf("no %q in %s", want, res.Advice[0].Why)
	}
	for _, a := range res.Advice {
		if strings.Contains(a.Why, "open is −") {
			t.Errorf("a height below 0: %s", a.Why)
		}
		for _, p := range a.Predicted {
			if (p.Name == Action || p.Name == NutHeight) && (p.Value < 0 || p.Before != nil && *p.Before < 0) {
				t.Errorf("step %d: %s, string %d: a height below 0", a.Order, p.Name, p.String)
			}
		}
	}
	for i, item := range res.Advice[2].Items {
		if item.String != i+1 {
			t.Errorf("saddle %d is string %d's", i+1, item.String)
		}
	}
}

// The rod takes relief out and the strings come down with it: an action that conforms as measured and would not after the
// rod's step has a step of its own, which waits.
func TestAdviceOnWhatTheStepsBeforeTakeOut(t *testing.T) {
	s, r := readNeck(t, "W2-too-much-relief")
	for i := range r.Action {
		if h := &r.Action[i]; h.String == 1 {
			h.HeightMM = 1.32 // lower limit 1.30
		}
	}
	res := mustEvaluate(t, s, r, Options{Rod: evenCurve})
	last := res.Advice[len(res.Advice)-1]
	if last.What != StepAction || !last.Waits || !strings.HasPrefix(last.Why, "The steps before it take out of limits: action, string 1, fret 12, open is 0.") {
		t.Fatalf("last step %+v", last)
	}
	if i := last.Items[0]; i.String != 1 || *i.AmountMM <= 0 {
		t.Errorf("items %+v: the saddle of string 1 up", last.Items)
	}
}
