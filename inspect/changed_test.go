package inspect

import (
	"math"
	"slices"
	"testing"
	"time"
)

// judgedAt is when the earlier inspection of these tests was judged.
var judgedAt = time.Date(2026, 11, 2, 14, 2, 0, 0, time.UTC)

// changeSpec is the specification of these tests with limits on everything that a routine measures, and a neck that conforms.
func changeSpec(t *testing.T) (*Spec, *Readings) {
	t.Helper()
	s, _ := readNeck(t, "W1-good-neck")
	s.Limits, s.Routine = nil, nil
	w := s.WithDefaults()
	w.Routine.Pitch = "declared"
	limit := func(l Limit) { w.Limits = append(w.Limits, l) }
	limit(Limit{Characteristic: Relief, Track: each, LowerMM: new(0.1), UpperMM: new(0.5)})
	limit(Limit{Characteristic: LevelDeviation, Track: each, Fret: Index{Each: true}, LowerMM: new(-0.1), UpperMM: new(0.1)})
	limit(Limit{Characteristic: Rocker, Track: each, Fret: Index{Each: true}, UpperMM: new(0.1)})
	limit(Limit{Characteristic: Hump, Track: each, UpperMM: new(0.1)})
	limit(Limit{Characteristic: FallAway, Track: each, LowerMM: new(-0.1), UpperMM: new(0.5)})
	limit(Limit{Characteristic: Twist, LowerDeg: new(-0.5), UpperDeg: new(0.5)})
	limit(Limit{Characteristic: NutHeight, String: Index{Each: true}, LowerMM: new(0.3), UpperMM: new(0.8)})
	limit(Limit{Characteristic: Action, String: Index{Each: true}, LowerMM: new(1.0), UpperMM: new(2.5)})
	r := &Readings{Serial: "QM-2611-0001", PitchDeclared: true}
	xs := w.Fan().Centre.X
	for _, track := range w.TracksOf() {
		if track.Name == centre {
			continue
		}
		z := make([]*float64, len(xs))
		for i, x := range xs {
			z[i] = new(arched(w, x, track))
		}
		r.Profile = append(r.Profile, TrackReading{Track: track.Name, YNutMM: track.YNutMM, YSaddleMM: track.YSaddleMM, ZMM: z})
	}
	for _, n := range w.StringNumbers() {
		r.NutHeight = append(r.NutHeight, HeightReading{String: n, HeightMM: 0.45})
		r.Action = append(r.Action, HeightReading{String: n, Fret: 12, HeightMM: 1.8})
	}
	return w, r
}

// arched is a crown of a neck with 0.25 mm of relief and a little fall-away, on the board's own radius.
func arched(s *Spec, x float64, t TrackSpec) float64 {
	xb := FretX(s.Neck.ScaleMM, s.Neck.JointFret)
	z := -0.1 * (x - xb) / (FretX(s.Neck.ScaleMM, s.Neck.Frets) - xb)
	if x < xb {
		xa, xk := FretX(s.Neck.ScaleMM, 1), FretX(s.Neck.ScaleMM, 7)
		z = 0.25 / ((xk - xa) * (xb - xk)) * (xb - x) * (xb - x)
	}
	y := TrackY(t.YNutMM, t.YSaddleMM, s.Neck.ScaleMM, x)
	if radius := NominalRadius(s.Neck.NutRadiusMM, s.Neck.LastFretRadiusMM, FretX(s.Neck.ScaleMM, s.Neck.Frets), x); radius > 0 {
		z -= radius - math.Sqrt(radius*radius-y*y)
	}
	return z
}

// names are the characteristics of rows, each once.
func names(rows []Characteristic) []string {
	var all []string
	for _, c := range rows {
		if !slices.Contains(all, c.Name) {
			all = append(all, c.Name)
		}
	}
	return all
}

// points counts what is asked for of the points of a full routine, by kind.
func pointsAsked(s *Spec, carried []Characteristic) map[string]int {
	asked := Asked(s, carried)
	counts := map[string]int{}
	count := func(p PointRef) {
		if asked(p) {
			counts[p.Kind]++
		}
	}
	for _, track := range s.Routine.Tracks {
		for fret := 1; fret <= s.Neck.Frets; fret++ {
			count(PointRef{Kind: PointCrown, Track: track, Fret: fret})
		}
	}
	for _, n := range s.StringNumbers() {
		count(PointRef{Kind: PointPitch, String: n})
		count(PointRef{Kind: PointNutHeight, String: n})
		count(PointRef{Kind: PointAction, String: n, Fret: 12})
	}
	return counts
}

// TestWhatWorkChanges: what is asked for again and what is carried over after each kind of work, and after several.
func TestWhatWorkChanges(t *testing.T) {
	level := []string{LevelDeviation, Rocker, Hump, FallAway, Twist}
	for name, c := range map[string]struct {
		works                 []Work
		carried               []string // limited characteristics of which a row is carried
		gone                  []string // of which none is
		crowns, nuts, actions int
	}{
		"nothing":           {nil, nil, slices.Concat(level, []string{Relief, NutHeight, Action}), -1, 0, 0},
		"nut slot 3":        {[]Work{{StepNut, 3}}, slices.Concat(level, []string{Relief, NutHeight, Action}), []string{Pitch}, 0, 3, 3},
		"nut slot 6":        {[]Work{{StepNut, 6}}, slices.Concat(level, []string{Relief, NutHeight, Action}), nil, 0, 2, 2},
		"nut slots":         {[]Work{{StepNut, 0}}, slices.Concat(level, []string{Relief}), []string{NutHeight, Action}, 0, 6, 6},
		"saddle of 1":       {[]Work{{StepAction, 1}}, slices.Concat(level, []string{Relief}), nil, 0, 2, 2},
		"rod":               {[]Work{{StepRod, 0}}, level, []string{Relief, NutHeight, Action, Straightness, Flatness, ReliefMax}, 6, 6, 6},
		"pitch":             {[]Work{{StepPitch, 0}}, level, []string{Relief, NutHeight, Action}, 6, 6, 6},
		"rod and slot 1":    {[]Work{{StepRod, 0}, {StepNut, 1}}, level, []string{Relief, NutHeight, Action}, 6, 6, 6},
		"slots 1 and 6":     {[]Work{{StepNut, 1}, {StepNut, 6}}, slices.Concat(level, []string{Relief}), nil, 0, 4, 4},
		"fret level":        {[]Work{{StepLevel, 0}}, nil, slices.Concat(level, []string{Relief, NutHeight, Action}), -1, 0, 0},
		"slot, then level":  {[]Work{{StepNut, 3}, {StepLevel, 0}}, nil, level, -1, 0, 0},
		"a repair":          {[]Work{{StepRepairer, 0}}, nil, level, -1, 0, 0},
		"other strings":     {[]Work{{WorkStrings, 0}}, nil, level, -1, 0, 0},
		"of no known kind":  {[]Work{{"polish", 0}}, nil, level, -1, 0, 0},
		"an unknown string": {[]Work{{StepNut, 9}}, slices.Concat(level, []string{Relief}), []string{NutHeight, Action}, 0, 6, 6},
	} {
		s, r := changeSpec(t)
		earlier, err := Evaluate(s, r, Options{})
		if err != nil || !earlier.Conforms {
			t.Fatalf("the earlier inspection: %v, %v", earlier, err)
		}
		carried := Carry(s, earlier, CarriedFrom{1, judgedAt}, c.works)
		got := names(carried)
		for _, want := range c.carried {
			if !slices.Contains(got, want) {
				t.Errorf("%s: %s is not carried; %v are", name, want, got)
			}
		}
		for _, not := range c.gone {
			if slices.Contains(got, not) {
				t.Errorf("%s: %s is carried", name, not)
			}
		}
		if c.crowns < 0 {
			if carried != nil {
				t.Errorf("%s: %v are carried, want nothing", name, got)
			}
			continue
		}
		asked := pointsAsked(s, carried)
		if asked[PointCrown] != c.crowns || asked[PointNutHeight] != c.nuts || asked[PointAction] != c.actions || asked[PointPitch] != 6 {
			t.Errorf("%s: asks for %v, want %d crowns, %d nut heights, %d actions, every pitch", name, asked, c.crowns, c.nuts, c.actions)
		}
	}
}

// TestOneBridgeMovesAllStrings: work at one string of a bridge that carries them all can have changed every action.
func TestOneBridgeMovesAllStrings(t *testing.T) {
	s, r := changeSpec(t)
	earlier, err := Evaluate(s, r, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for bridge, want := range map[string]int{"": 2, OneSaddle: 6, TwoPosts: 6} {
		s.Neck.Bridge = bridge
		if asked := pointsAsked(s, Carry(s, earlier, CarriedFrom{1, judgedAt}, []Work{{StepAction, 1}})); asked[PointAction] != want || asked[PointNutHeight] != want {
			t.Errorf("bridge %q: %v are asked for, want %d actions and nut heights", bridge, asked, want)
		}
	}
}

// TestWholeProfileAnew: where relief_max, straightness, flatness, clearance or its margin is limited the rod has every crown asked for.
func TestWholeProfileAnew(t *testing.T) {
	for _, l := range []Limit{
		{Characteristic: ReliefMax, Track: each, UpperMM: new(1.0)},
		{Characteristic: Straightness, Track: each, UpperMM: new(2.0)},
		{Characteristic: Flatness, UpperMM: new(2.0)},
		{Characteristic: LeastClearance, String: Index{Each: true}, LowerMM: new(0.0)},
		{Characteristic: ClearanceMargin, String: Index{Each: true}, LowerMM: new(-2.0)},
	} {
		s, r := changeSpec(t)
		s.Limits = append(s.Limits, l)
		s.Pluck = &Pluck{ForceN: 0.25, DistanceMM: 130}
		earlier, err := Evaluate(s, r, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if asked := pointsAsked(s, Carry(s, earlier, CarriedFrom{1, judgedAt}, []Work{{StepRod, 0}})); asked[PointCrown] != 2*s.Neck.Frets {
			t.Errorf("%s limited: after the rod %d crowns are asked for, want all %d", l.Characteristic, asked[PointCrown], 2*s.Neck.Frets)
		}
		asked := pointsAsked(s, Carry(s, earlier, CarriedFrom{1, judgedAt}, []Work{{StepNut, 3}}))
		if asked[PointCrown] != 0 {
			t.Errorf("%s limited: after a nut slot %d crowns are asked for", l.Characteristic, asked[PointCrown])
		}
		if !kindOf(l.Characteristic).String {
			continue
		}
		for i := range s.Limits { // now a slot may be so deep that the open string is the nearest
			if s.Limits[i].Characteristic == NutHeight {
				s.Limits[i].LowerMM = new(0.0)
			}
		}
		asked = pointsAsked(s, Carry(s, earlier, CarriedFrom{1, judgedAt}, []Work{{StepNut, 3}}))
		if asked[PointCrown] != 2*s.Neck.Frets {
			t.Errorf("%s limited, slots of any depth: after a nut slot %d crowns are asked for, want all", l.Characteristic, asked[PointCrown])
		}
		asked = pointsAsked(s, Carry(s, earlier, CarriedFrom{1, judgedAt}, []Work{{StepAction, 3}}))
		if asked[PointCrown] != 2*s.Neck.Frets {
			t.Errorf("%s limited: after a saddle %d crowns are asked for, want all", l.Characteristic, asked[PointCrown])
		}
	}
}

// TestOnlyWhatConformed: what did not conform, or was not measured, is measured again whatever was worked at; what was carried keeps where it
// came from.
func TestOnlyWhatConformed(t *testing.T) {
	s, r := changeSpec(t)
	*r.Profile[0].ZMM[8] += 0.2 // a high fret
	earlier, err := Evaluate(s, r, Options{})
	if err != nil {
		t.Fatal(err)
	}
	carried := Carry(s, earlier, CarriedFrom{1, judgedAt}, []Work{{StepRod, 0}})
	for _, c := range carried {
		if c.Zone == Nonconforming {
			t.Errorf("%s, fret %d, was nonconforming and is carried", c.Name, c.Fret)
		}
	}
	if asked := pointsAsked(s, carried); asked[PointCrown] != 2*s.Neck.Frets {
		t.Errorf("a fret stood high: %d crowns are asked for, want all", asked[PointCrown])
	}
	s, r = changeSpec(t)
	r.NutHeight = r.NutHeight[1:]
	if earlier, err = Evaluate(s, r, Options{}); err != nil {
		t.Fatal(err)
	}
	if asked := pointsAsked(s, Carry(s, earlier, CarriedFrom{1, judgedAt}, []Work{{StepAction, 6}})); asked[PointNutHeight] != 3 {
		t.Errorf("string 1 had no nut height and 6 was worked at: %d are asked for, want those of 1, 5 and 6", asked[PointNutHeight])
	}
	earlier.Characteristics = Carry(s, earlier, CarriedFrom{1, judgedAt}, []Work{{StepRod, 0}})
	for _, c := range Carry(s, earlier, CarriedFrom{2, judgedAt.Add(time.Hour)}, []Work{{StepNut, 3}}) {
		if c.CarriedFrom.Attempt != 1 || !c.CarriedFrom.At.Equal(judgedAt) {
			t.Errorf("%s carried twice says it is from %+v", c.Name, *c.CarriedFrom)
		}
	}
}

// TestNutOfAllStrings: a zero fret carries all strings, and where a slot was too low the nut may have been changed: every nut height is asked for, not only
// that of the string and its neighbours.
func TestNutOfAllStrings(t *testing.T) {
	for name, want := range map[string]int{"slot filed": 3, "zero fret": 6, "slot too low": 6} {
		s, r := changeSpec(t)
		s.Neck.ZeroFret = name == "zero fret"
		if r.NutHeight[2].HeightMM = 1.0; name == "slot too low" {
			r.NutHeight[2].HeightMM = 0.1
		}
		earlier, err := Evaluate(s, r, Options{})
		if err != nil {
			t.Fatal(err)
		}
		works := []Work{{StepNut, r.NutHeight[2].String}}
		asked := pointsAsked(s, Carry(s, earlier, CarriedFrom{1, judgedAt}, works))
		if asked[PointNutHeight] != want || asked[PointAction] != want || asked[PointCrown] != 0 || works[0].String == 0 {
			t.Errorf("%s: %d nut heights, %d actions, %d crowns are asked for, want %d, %d and none", name, asked[PointNutHeight], asked[PointAction], asked[PointCrown], want, want)
		}
	}
}

// TestVerdictCarried: what is carried is judged with what is measured anew, and nothing is told from a few crowns that needs them all.
func TestVerdictCarried(t *testing.T) {
	s, r := changeSpec(t)
	earlier, err := Evaluate(s, r, Options{})
	if err != nil {
		t.Fatal(err)
	}
	carried := Carry(s, earlier, CarriedFrom{1, judgedAt}, []Work{{StepRod, 0}})
	asked := Asked(s, carried)
	again := r.clone()
	for i := range again.Profile {
		for f := range again.Profile[i].ZMM {
			if !asked(PointRef{Kind: PointCrown, Track: again.Profile[i].Track, Fret: f + 1}) {
				again.Profile[i].ZMM[f] = nil
			}
		}
	}
	res, err := Evaluate(s, again, Options{Carried: carried})
	if err != nil {
		t.Fatal(err)
	}
	if !res.Conforms || res.Why != earlier.Why {
		t.Errorf("%s: %s; measured whole it was: %s", res.Disposition, res.Why, earlier.Why)
	}
	for _, c := range res.Characteristics {
		if c.CarriedFrom != nil == (c.Name == Relief || c.Name == SideDifference || c.Name == Action || c.Name == NutHeight || c.Name == Twist) {
			t.Errorf("%s, %s fret %d: carried from %v", c.Name, c.Track, c.Fret, c.CarriedFrom)
		}
		if c.Name == Straightness || c.Name == Flatness || c.Name == ReliefMax {
			t.Errorf("%s is told from three crowns of a track", c.Name)
		}
	}
	again.PitchDeclared = false
	if res, err = Evaluate(s, again, Options{Carried: carried}); err != nil || res.Disposition != Remeasure {
		t.Errorf("off pitch it is %v, %v, want remeasure", res, err)
	}
	carried = Carry(s, earlier, CarriedFrom{1, judgedAt}, []Work{{StepNut, 3}})
	slots := &Readings{Serial: r.Serial, NutHeight: r.NutHeight[1:4], Action: r.Action[1:4]}
	if res, err = Evaluate(s, slots, Options{Carried: carried}); err != nil || res.Disposition != Remeasure {
		t.Errorf("off pitch a carried relief makes it %v, %v, want remeasure", res, err)
	}
	slots.PitchDeclared = true
	if res, err = Evaluate(s, slots, Options{Carried: carried}); err != nil || !res.Conforms {
		t.Errorf("after a nut slot it is %v, %v", res, err)
	}
}
