package inspect

import (
	"slices"
	"strings"
	"testing"
)

func number(v float64) *float64 { return &v }

// row finds a row of a result.
func row(t testing.TB, res *Result, k rowKey) *Characteristic {
	t.Helper()
	for i := range res.Characteristics {
		if c := &res.Characteristics[i]; c.key() == k {
			return c
		}
	}
	t.Fatalf("no row %+v", k)
	return nil
}

// TestPitchGate: without every string at pitch, limited relief and action are not measured though shown (definition).
func TestPitchGate(t *testing.T) {
	gated := func(t *testing.T, res *Result, want bool) {
		t.Helper()
		for _, k := range []rowKey{{name: Relief, track: bass}, {name: SideDifference}, {name: Action, string: 1, fret: 12}} {
			c := row(t, res, k)
			if c.Value == nil || (c.Zone == NotMeasured) != want {
				t.Errorf("%v: value %v, zone %s", k, show(c.Value), c.Zone)
			}
			if want && c.PConform != nil {
				t.Errorf("%v: a probability though not measured", k)
			}
		}
		if c := row(t, res, rowKey{name: Twist}); c.Zone != Conforming {
			t.Errorf("twist needs no pitch: %s", c.Zone)
		}
	}
	s, r := readNeck(t, "W1-good-neck")
	t.Run("a string without a reading", func(t *testing.T) {
		c := *r
		c.Pitch = r.Pitch[1:]
		res := mustEvaluate(t, s, &c, Options{})
		gated(t, res, true)
		if res.Disposition != Remeasure || !strings.Contains(res.Why, "string 1") {
			t.Errorf("%s: %s", res.Disposition, res.Why)
		}
	})
	t.Run("off pitch where pitch has a limit", func(t *testing.T) {
		c := *r
		c.Pitch = append([]PitchReading{{String: 1, Cents: number(-12)}}, r.Pitch[1:]...)
		res := mustEvaluate(t, s, &c, Options{})
		gated(t, res, true)
		if res.Disposition != Rework || len(res.Advice) != 1 || res.Advice[0].What != "pitch" || *res.Advice[0].Items[0].Cents != 12 {
			t.Errorf("%s: %+v", res.Disposition, res.Advice)
		}
	})
	t.Run("off pitch where it has none", func(t *testing.T) {
		unlimited := *s
		unlimited.Limits = s.Limits[:len(s.Limits)-1]
		c := *r
		c.Pitch = append([]PitchReading{{String: 1, Cents: number(-5.1)}}, r.Pitch[1:]...)
		res := mustEvaluate(t, &unlimited, &c, Options{})
		gated(t, res, true)
		if res.Disposition != Remeasure || !strings.Contains(res.Why, "off pitch") {
			t.Errorf("%s: %s", res.Disposition, res.Why)
		}
	})
	t.Run("declared", func(t *testing.T) {
		declared := *s
		declared.Limits = s.Limits[:len(s.Limits)-1]
		declared.Routine = &Routine{Tracks: []string{bass, treble}, Pitch: "declared"}
		c := *r
		c.Pitch, c.PitchDeclared = nil, true
		gated(t, mustEvaluate(t, &declared, &c, Options{}), false)
		declared.Routine.Pitch = "measured"
		gated(t, mustEvaluate(t, &declared, &c, Options{}), true)
	})
	t.Run("a wide pitch limit lets the gate through", func(t *testing.T) {
		wide := *s
		wide.Limits = append(append([]Limit{}, s.Limits[:len(s.Limits)-1]...),
			Limit{Characteristic: Pitch, String: EachIndex(), LowerCents: number(-20), UpperCents: number(20)})
		c := *r
		c.Pitch = append([]PitchReading{{String: 1, Cents: number(-12)}}, r.Pitch[1:]...)
		gated(t, mustEvaluate(t, &wide, &c, Options{}), false)
	})
}

// TestLimits: which limit a row gets, and what is asked for that was not read.
func TestLimits(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	s.Limits = []Limit{
		{Characteristic: Relief, Track: each, UpperMM: number(0.36)},
		{Characteristic: Relief, Track: bass, UpperMM: number(0.25)},
		{Characteristic: Rocker, Track: treble, Fret: EachIndex(), UpperMM: number(0.1)},
		{Characteristic: Rocker, Track: each, Fret: EachIndex(), UpperMM: number(0.04)},
		{Characteristic: Rocker, Track: each, Fret: NumberIndex(5), UpperMM: number(0.02)},
		{Characteristic: Action, String: NumberIndex(6), UpperMM: number(2.3)},
		{Characteristic: Action, String: NumberIndex(6), Fret: NumberIndex(12), HeldFret: 1, UpperMM: number(1.7)},
	}
	res := mustEvaluate(t, s, r, Options{})
	for _, c := range []struct {
		k     rowKey
		upper float64
		zone  Zone
	}{
		{rowKey{name: Relief, track: bass}, 0.25, Nonconforming},
		{rowKey{name: Relief, track: treble}, 0.36, Conforming},
		{rowKey{name: Rocker, track: treble, fret: 5}, 0.1, Conforming},
		{rowKey{name: Rocker, track: bass, fret: 5}, 0.02, Conforming},
		{rowKey{name: Rocker, track: bass, fret: 6}, 0.04, Conforming},
		{rowKey{name: Action, string: 6, fret: 12}, 2.3, Conforming},
		{rowKey{name: Action, string: 6, fret: 12, held: 1}, 1.7, NotMeasured},
	} {
		got := row(t, res, c.k)
		if got.Upper == nil || *got.Upper != c.upper || got.Zone != c.zone {
			t.Errorf("%+v: upper %v, zone %s; want %v, %s", c.k, show(got.Upper), got.Zone, c.upper, c.zone)
		}
	}
	// Held at fret 1 is another row than open.
	r.Action = append(r.Action, HeightReading{String: 6, Fret: 12, HeldFret: 1, HeightMM: 1.65})
	res = mustEvaluate(t, s, r, Options{})
	if c := row(t, res, rowKey{name: Action, string: 6, fret: 12, held: 1}); c.Zone != Conforming || *c.Value != 1.65 {
		t.Errorf("pressed at fret 1: %+v", c)
	}
	if c := row(t, res, rowKey{name: Action, string: 6, fret: 12}); *c.Value != 1.95 {
		t.Errorf("open: %+v", c)
	}
}

// TestEachFretOfAnAction: without a routine "each" fret means those at which the readings hold an action of the limit's own
// held fret; fret 12 where there is none (definition).
func TestEachFretOfAnAction(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	s.Limits = []Limit{
		{Characteristic: Action, String: EachIndex(), Fret: EachIndex(), UpperMM: number(2.5)},
		{Characteristic: Action, String: NumberIndex(6), Fret: EachIndex(), HeldFret: 1, UpperMM: number(2.5)},
	}
	r.Action = []HeightReading{{String: 6, Fret: 15, HeightMM: 2.1}, {String: 6, Fret: 5, HeldFret: 1, HeightMM: 0.6}}
	frets := func(held int) (all []int) {
		for _, c := range mustEvaluate(t, s, r, Options{}).Characteristics {
			if c.Name == Action && c.String == 6 && c.HeldFret == held {
				all = append(all, c.Fret)
			}
		}
		return all
	}
	if open, held := frets(0), frets(1); !slices.Equal(open, []int{15}) || !slices.Equal(held, []int{5}) {
		t.Errorf("open over %v, pressed at fret 1 over %v; want 15, 5", open, held)
	}
	r.Action = r.Action[1:]
	if open := frets(0); !slices.Equal(open, []int{12}) {
		t.Errorf("open over %v where no open action was read; want 12", open)
	}
}

// TestFlatBoardHasNoRadius: a board that the specification calls flat has no radius, limit or not (definition).
func TestFlatBoardHasNoRadius(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	s.Limits = []Limit{
		{Characteristic: BoardRadius, Fret: EachIndex(), LowerMM: number(200), UpperMM: number(400)},
		{Characteristic: BoardRadius, Fret: NumberIndex(9), LowerMM: number(200), UpperMM: number(400)},
	}
	radii := func(s *Spec) (n int) {
		res := mustEvaluate(t, s, r, Options{})
		for _, c := range res.Characteristics {
			if c.Name == BoardRadius {
				n++
			}
		}
		if n == 0 && res.Disposition != Pass {
			t.Errorf("without a radius: %s, %s", res.Disposition, res.Why)
		}
		return n
	}
	if n := radii(s); n != s.Neck.Frets {
		t.Errorf("%d radii on a board of radius %v mm", n, s.Neck.NutRadiusMM)
	}
	s.Neck.NutRadiusMM, s.Neck.LastFretRadiusMM = 0, 0
	if n := radii(s); n != 0 {
		t.Errorf("%d radii on a flat board", n)
	}
	c, err := s.JudgeElsewhere(Characteristic{Name: BoardRadius, Fret: 9, Value: number(1000)})
	if err != nil || c.Zone != NoLimit {
		t.Errorf("a radius read elsewhere: %s, %v", c.Zone, err)
	}
	if missing := MissingFor(s, r, mustEvaluate(t, s, r, Options{}), BoardRadius); !slices.Equal(missing, []string{"a board with a radius: the specification calls it flat"}) {
		t.Errorf("missing: %q", missing)
	}
}

// TestEachTrack: "each" means the routine's tracks, then those in the readings, then one row that names no track.
func TestEachTrack(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	s.Limits = []Limit{{Characteristic: Relief, Track: each, UpperMM: number(0.36)}}
	s.Routine = &Routine{Tracks: []string{bass, treble}}
	r.Profile = r.Profile[:2] // bass and centre
	res := mustEvaluate(t, s, r, Options{})
	if c := row(t, res, rowKey{name: Relief, track: treble}); c.Zone != NotMeasured {
		t.Errorf("a routine's track that was not read: %s", c.Zone)
	}
	if res.Disposition != Remeasure {
		t.Errorf("disposition %s", res.Disposition)
	}
	s.Routine, r.Profile = nil, nil
	res = mustEvaluate(t, s, r, Options{})
	if c := row(t, res, rowKey{name: Relief, track: each}); c.Zone != NotMeasured {
		t.Errorf("no track at all: %s", c.Zone)
	}
	if c := row(t, res, rowKey{name: Relief, track: each}); c.Fret != 0 {
		t.Errorf("no track at all, and yet fret %d", c.Fret)
	}
}

// TestLeavesOpenEnds: an open interval has neither value nor uncertainty nor probability, and its zone still counts.
func TestLeavesOpenEnds(t *testing.T) {
	s, r := readNeck(t, "W6-leaves-and-beam-only")
	r.Leaves[0] = LeafReading{Track: treble, Fret: 7, PassesMM: number(0.6)}
	r.Beam = nil
	res := mustEvaluate(t, s, r, Options{})
	c := row(t, res, rowKey{name: Relief, track: treble})
	if c.Value != nil || c.U != nil || c.PConform != nil || c.Zone != Nonconforming || c.IntervalMM[1] != nil {
		t.Errorf("%+v", c)
	}
	if a := res.Advice[0]; a.What != "truss rod" || a.Turns != nil || a.Direction != "tighten" {
		t.Errorf("%+v", a)
	}
	if m, ok := WorstMargin(*c); !ok || m < -0.2400001 || m > -0.2399999 {
		t.Errorf("margin of an open interval: %v %v, want -0.24 at least", m, ok)
	}
}

// TestOwnUncertainty: a reading that brings its own uncertainty is judged by it.
func TestOwnUncertainty(t *testing.T) {
	s, r := readNeck(t, "W6-leaves-and-beam-only")
	r.Action[0].UMM, r.NutHeight[0].UMM, r.Beam[0].UMM, r.Leaves[0].UMM = number(0.05), number(0.04), number(0.01), number(0.02)
	res := mustEvaluate(t, s, r, Options{})
	for _, c := range []struct {
		k rowKey
		u float64
	}{
		{rowKey{name: Action, string: 1, fret: 12}, 0.05},
		{rowKey{name: NutHeight, string: 1}, 0.04},
		{rowKey{name: Relief, track: bass}, 0.01 * beamReliefOver(s, BeamReading{FeetMM: r.Beam[0].FeetMM, PlungerMM: r.Beam[0].PlungerMM, ReadingMM: 1})},
		{rowKey{name: Relief, track: treble}, 0.02},
	} {
		if got := *row(t, res, c.k).U; got < c.u-1e-15 || got > c.u+1e-15 {
			t.Errorf("%+v: u %v, want %v", c.k, got, c.u)
		}
	}
	// A crown's own u reaches relief through its weight.
	s, r = readNeck(t, "W1-good-neck")
	r.Profile[0].UMM = make([]*float64, 22)
	for i := range r.Profile[0].UMM {
		r.Profile[0].UMM[i] = number(0)
	}
	r.Profile[0].UMM[6] = number(0.02)
	if c := row(t, mustEvaluate(t, s, r, Options{}), rowKey{name: Relief, track: bass}); *c.U < 0.02-1e-12 || *c.U > 0.02+1e-12 {
		t.Errorf("relief u %v, want 0.02", *c.U)
	}
}

// TestFretPositionsAndIntonation: places against the formula, each and cumulative; a fretted octave against twice the open pitch.
func TestFretPositionsAndIntonation(t *testing.T) {
	s, _ := readNeck(t, "W1-good-neck")
	r := &Readings{Serial: "QM-2", FretXMM: make([]*float64, 22)}
	for i := range r.FretXMM {
		x := FretX(648, i+1)
		switch i + 1 {
		case 4:
			continue // not measured
		case 5, 6:
			x += 0.1 // two frets too far
		}
		r.FretXMM[i] = &x
	}
	r.Intonation = []IntonationReading{{String: 6, Fret: 12, OpenHz: 82.41, FrettedHz: 2 * 82.41 * 1.0005777895}} // one cent: 2^(1/1200), ISO 80000-8
	res := mustEvaluate(t, s, r, Options{})
	for fret, want := range map[int][2]float64{3: {0, 0}, 6: {0.1, 0}, 7: {0, -0.1}} {
		c := row(t, res, rowKey{name: FretPosition, fret: fret})
		if d := *c.Value - want[0]; d < -1e-9 || d > 1e-9 || *c.StepMM < want[1]-1e-9 || *c.StepMM > want[1]+1e-9 {
			t.Errorf("fret %d: %v, step %v, want %v", fret, *c.Value, *c.StepMM, want)
		}
	}
	if c := row(t, res, rowKey{name: FretPosition, fret: 5}); c.StepMM != nil {
		t.Error("a distance from a fret that was not measured")
	}
	if c := row(t, res, rowKey{name: Intonation, string: 6, fret: 12}); *c.Value < 0.999999 || *c.Value > 1.000001 || c.Unit != "cents" {
		t.Errorf("intonation %v %s, want 1 cent", *c.Value, c.Unit)
	}
}

// TestActionFrets: an action limit without a fret means fret 12; at "each" fret it means the routine's frets, else those read.
func TestActionFrets(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	r.Action = []HeightReading{{String: 1, Fret: 14, HeightMM: 1.8}}
	limit := func(fret Index) []Limit {
		return []Limit{{Characteristic: Action, String: NumberIndex(1), Fret: fret, UpperMM: number(2)}}
	}
	zones := func() map[int]Zone {
		found := map[int]Zone{}
		for _, c := range mustEvaluate(t, s, r, Options{}).Characteristics {
			if c.Name == Action {
				found[c.Fret] = c.Zone
			}
		}
		return found
	}
	check := func(what string, want map[int]Zone) {
		t.Helper()
		got := zones()
		if len(got) != len(want) {
			t.Errorf("%s: got %v, want %v", what, got, want)
		}
		for fret, z := range want {
			if got[fret] != z {
				t.Errorf("%s: got %v, want %v", what, got, want)
			}
		}
	}
	s.Limits = limit(Index{})
	check("no fret", map[int]Zone{12: NotMeasured, 14: NoLimit})
	s.Limits = limit(EachIndex())
	check("each fret read", map[int]Zone{14: Conforming})
	s.Routine = &Routine{ActionFrets: []int{7, 14}}
	check("each fret of the routine", map[int]Zone{7: NotMeasured, 14: Conforming})
	s.Routine, r.Action = nil, nil
	check("each fret, none read", map[int]Zone{12: NotMeasured})
}

// TestStringLineFret: the string line rests on fret 12, else on the highest measured.
func TestStringLineFret(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	r.Action = append(r.Action, HeightReading{String: 1, Fret: 17, HeightMM: 9}, HeightReading{String: 1, Fret: 5, HeightMM: 9})
	with := row(t, mustEvaluate(t, s, r, Options{}), rowKey{name: LeastClearance, string: 1})
	s, r = readNeck(t, "W1-good-neck")
	if before := row(t, mustEvaluate(t, s, r, Options{}), rowKey{name: LeastClearance, string: 1}); *with.Value != *before.Value {
		t.Errorf("fret 12 is there, yet %v became %v", *before.Value, *with.Value)
	}
	// A straight string over a flat board: any fret gives the same line.
	for _, fret := range []int{5, 17} {
		flat := &Readings{Serial: "x", Profile: []TrackReading{{Track: bass, YNutMM: -17.5, YSaddleMM: -26}, {Track: treble, YNutMM: 17.5, YSaddleMM: 26}}}
		zero := make([]*float64, 22)
		for i := range zero {
			zero[i] = number(0)
		}
		flat.Profile[0].ZMM, flat.Profile[1].ZMM = zero, zero
		line := func(n int) float64 { return 0.3 + 0.005*FretX(648, n) }
		flat.NutHeight = []HeightReading{{String: 1, HeightMM: line(1)}}
		flat.Action = []HeightReading{{String: 1, Fret: 3, HeightMM: 7}, {String: 1, Fret: fret, HeightMM: line(fret)}}
		level := *s
		level.Neck.NutRadiusMM, level.Neck.LastFretRadiusMM = 0, 0
		res := mustEvaluate(t, &level, flat, Options{})
		// Held at the nut the string clears fret 1 least: 0.3 + 0.005 x_1.
		if c := res.Clearance[0]; c.AtFret != 1 || *c.LeastMM < line(1)-1e-12 || *c.LeastMM > line(1)+1e-12 {
			t.Errorf("fret %d: %+v", fret, c)
		}
		// Held at fret n the line from (x_n, 0) to the saddle clears fret n + 1 by H (1 - 2^(-1/12)), H the saddle's height.
		if c := res.Clearance[9]; *c.LeastMM < 0.056*3.54 || *c.LeastMM > 0.0562*3.54 {
			t.Errorf("fret %d, pressed at fret 9: %v, want 0.0561 x 3.54", fret, *c.LeastMM)
		}
	}
}
