package inspect

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"
)

// TestSpecCheck: everything a specification can get wrong is found, and named by its place in the file.
func TestSpecCheck(t *testing.T) {
	for _, c := range []struct {
		field string
		spoil func(*Spec)
	}{
		{"name", func(s *Spec) { s.Name = " " }},
		{"neck.scale_mm", func(s *Spec) { s.Neck.ScaleMM = math.NaN() }},
		{"neck.scale_mm", func(s *Spec) { s.Neck.ScaleMM = -648 }},
		{"neck.frets", func(s *Spec) { s.Neck.Frets = 0 }},
		{"neck.joint_fret", func(s *Spec) { s.Neck.JointFret = 23 }},
		{"neck.nut_radius_mm", func(s *Spec) { s.Neck.NutRadiusMM = 12 }},
		{"neck.last_fret_radius_mm", func(s *Spec) { s.Neck.LastFretRadiusMM = math.Inf(1) }},
		{"neck.rod", func(s *Spec) { s.Neck.Rod = "triple" }},
		{"neck.rod_turns_left", func(s *Spec) { s.Neck.RodTurnsLeft = number(-1) }},
		{"datum.second_fret", func(s *Spec) { s.Datum = Datum{9, 9, 9} }},
		{"datum.relief_fret", func(s *Spec) { s.Datum = Datum{1, 5, 7} }},
		{"datum.first_fret", func(s *Spec) { s.Datum.FirstFret = -2 }},
		{"string", func(s *Spec) { s.Strings = nil }},
		{"string[2].number", func(s *Spec) { s.Strings[1].Number = 1 }},
		{"string[3].pitch_hz", func(s *Spec) { s.Strings[2].PitchHz = 0 }},
		{"string[1].y_nut_mm", func(s *Spec) { s.Strings[0].YNutMM = math.NaN() }},
		{"string[4].mass_g_per_m", func(s *Spec) { s.Strings[3].MassGPerM, s.Strings[3].Material = nil, Nylon }},
		{"string[1].mass_g_per_m", func(s *Spec) { s.Neck.Kind = Classical }},
		{"string[1].material", func(s *Spec) { s.Strings[0].Material = "gut" }},
		{"neck.kind", func(s *Spec) { s.Neck.Kind = "lute" }},
		{"neck.joint", func(s *Spec) { s.Neck.Joint = "glued" }},
		{"neck.bridge", func(s *Spec) { s.Neck.Bridge = "tailpiece" }},
		{"string.y_nut_mm", func(s *Spec) { s.Strings[0].YNutMM, s.Strings[5].YNutMM = -17.5, 17.5 }},
		{"track[1].name", func(s *Spec) { s.Tracks = []TrackSpec{{Name: each}} }},
		{"decision.rule", func(s *Spec) { s.Decision.Rule = "generous" }},
		{"decision.guard_factor", func(s *Spec) { s.Decision.GuardFactor = number(-1) }},
		{"uncertainty.resolution_mm", func(s *Spec) { s.Uncertainty.ResolutionMM = -0.01 }},
		{"pluck.distance_mm", func(s *Spec) { s.Pluck.DistanceMM = 0 }},
		{"routine.tracks[1]", func(s *Spec) { s.Routine = &Routine{Tracks: []string{"basso"}} }},
		{"routine.action_frets[1]", func(s *Spec) { s.Routine = &Routine{ActionFrets: []int{40}} }},
		{"routine.strings[2]", func(s *Spec) { s.Routine = &Routine{Strings: StringList{Numbers: []int{1, 1}}} }},
		{"routine.leaves_mm[2]", func(s *Spec) { s.Routine = &Routine{LeavesMM: []float64{0.3, 30}} }},
		{"routine.profile", func(s *Spec) { s.Routine = &Routine{Profile: "by eye"} }},
		{"limit[1].characteristic", func(s *Spec) { s.Limits[0].Characteristic = "releif" }},
		{"limit[1].characteristic", func(s *Spec) { s.Limits[0].Characteristic = FretPosition }},
		{"limit[1].track", func(s *Spec) { s.Limits[0].Track = "left" }},
		{"limit[1].upper_mm", func(s *Spec) { s.Limits[0].UpperMM = number(0.1) }},
		{"limit[1].target_mm", func(s *Spec) { s.Limits[0].TargetMM = number(0.5) }},
		{"limit[1].upper_deg", func(s *Spec) { s.Limits[0].UpperDeg = number(0.5) }},
		{"limit[1].string", func(s *Spec) { s.Limits[0].String = NumberIndex(1) }},
		{"limit[1].held_fret", func(s *Spec) { s.Limits[0].HeldFret = 1 }},
		{"limit[2].track", func(s *Spec) { s.Limits[1].Track = bass }},
		{"limit[3]", func(s *Spec) { s.Limits[2].UpperMM = nil }},
		{"limit[3].upper_mm", func(s *Spec) { s.Limits[2].UpperMM = number(math.NaN()) }},
		{"limit[4].fret", func(s *Spec) { s.Limits[3].Fret = NumberIndex(22) }},
		{"limit[8].fret", func(s *Spec) { s.Limits[7].Fret = NumberIndex(23) }},
		{"limit[8].held_fret", func(s *Spec) { s.Limits[7].HeldFret = 12 }},
		{"limit[10].string", func(s *Spec) { s.Limits[9].String = NumberIndex(7) }},
		{"limit[13]", func(s *Spec) { s.Limits = append(s.Limits, s.Limits[0]) }},
	} {
		s, r := readNeck(t, "W1-good-neck")
		if faults := s.Check(); len(faults) > 0 {
			t.Fatal(Faults(faults))
		}
		c.spoil(s)
		faults := s.Check()
		found := false
		for _, f := range faults {
			found = found || f.Field == c.field
			if f.Found == "" || f.Allowed == "" {
				t.Errorf("%s: says too little: %+v", c.field, f)
			}
		}
		if !found {
			t.Errorf("%s: not found in %v", c.field, Faults(faults))
		}
		var listed Faults
		if _, err := Evaluate(s, r, Options{}); !errors.As(err, &listed) {
			t.Errorf("%s: Evaluate gives %v", c.field, err)
		}
	}
}

// TestReadingsCheck: the same for readings.
func TestReadingsCheck(t *testing.T) {
	for _, c := range []struct {
		field string
		spoil func(*Readings)
	}{
		{"profile[1].z_mm", func(r *Readings) { r.Profile[0].ZMM = r.Profile[0].ZMM[:21] }},
		{"profile[1].z_mm[3]", func(r *Readings) { r.Profile[0].ZMM[2] = number(math.NaN()) }},
		{"profile[1].z_mm[7]", func(r *Readings) { *r.Profile[0].ZMM[6] -= 2.5 }}, // more than 2 mm of relief
		{"profile[2].track", func(r *Readings) { r.Profile[1].Track = bass }},
		{"profile[1].y_nut_mm", func(r *Readings) { r.Profile[0].YNutMM = math.Inf(-1) }},
		{"profile.y_nut_mm", func(r *Readings) { r.Profile[0].Track, r.Profile[2].Track = treble, bass }},
		{"profile[1].u_mm", func(r *Readings) { r.Profile[0].UMM = []*float64{nil} }},
		{"profile[1].crown_mm[1]", func(r *Readings) { r.Profile[0].CrownMM = make([]*float64, 22); r.Profile[0].CrownMM[0] = number(-1) }},
		{"action[1].string", func(r *Readings) { r.Action[0].String = 7 }},
		{"action[1].fret", func(r *Readings) { r.Action[0].Fret = 0 }},
		{"action[2]", func(r *Readings) { r.Action[1] = r.Action[0] }},
		{"action[1].height_mm", func(r *Readings) { r.Action[0].HeightMM = math.NaN() }},
		{"action[1].u_mm", func(r *Readings) { r.Action[0].UMM = number(-0.1) }},
		{"action[1].held_fret", func(r *Readings) { r.Action[0].HeldFret = 12 }},
		{"nut_height[2]", func(r *Readings) { r.NutHeight[1] = r.NutHeight[0] }},
		{"pitch[1]", func(r *Readings) { r.Pitch[0].Cents = number(1) }},
		{"pitch[1].hz", func(r *Readings) { r.Pitch[0].Hz = number(0) }},
		{"pitch[1].string", func(r *Readings) { r.Pitch[0].String = 0 }},
		{"leaves[1].stops_mm", func(r *Readings) { r.Leaves = []LeafReading{{bass, 7, number(0.3), number(0.3), nil}} }},
		{"leaves[1]", func(r *Readings) { r.Leaves = []LeafReading{{Track: bass, Fret: 7}} }},
		{"leaves[1].track", func(r *Readings) { r.Leaves = []LeafReading{{Track: "left", Fret: 7, StopsMM: number(0.1)}} }},
		{"beam[1].plunger_mm", func(r *Readings) { r.Beam = []BeamReading{{bass, [2]float64{36, 405}, 10, 0.3, nil}} }},
		{"beam[1].reading_mm", func(r *Readings) { r.Beam = []BeamReading{{bass, [2]float64{36, 405}, 215, 3, nil}} }},
		{"rod_steps[1].turns", func(r *Readings) { r.RodSteps = []RodStep{{Direction: "tighten"}} }},
		{"rod_steps[1].direction", func(r *Readings) { r.RodSteps = []RodStep{{Turns: 0.25, Direction: "left"}} }},
		{"fret_x_mm", func(r *Readings) { r.FretXMM = []*float64{number(1)} }},
		{"intonation[1].fret", func(r *Readings) { r.Intonation = []IntonationReading{{1, 99, 82, 164}} }},
		{"posture", func(r *Readings) { r.Posture = "upside down" }},
		{"handed", func(r *Readings) { r.Handed = "both" }},
		{"climate.humidity_percent", func(r *Readings) { r.Climate = &Climate{HumidityPercent: number(130)} }},
	} {
		s, r := readNeck(t, "W1-good-neck")
		if faults := r.Check(s); len(faults) > 0 {
			t.Fatal(Faults(faults))
		}
		c.spoil(r)
		faults := r.Check(s)
		found := false
		for _, f := range faults {
			found = found || f.Field == c.field
		}
		if !found {
			t.Errorf("%s: not found in %v", c.field, Faults(faults))
		}
		if _, err := Evaluate(s, r, Options{}); err == nil {
			t.Errorf("%s: Evaluate takes it", c.field)
		}
	}
}

// TestImplausibleReliefInPlainWords: a relief of more than 2 mm is refused in words an inspector understands.
func TestImplausibleReliefInPlainWords(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	*r.Profile[0].ZMM[6] -= 2.5
	_, err := Evaluate(s, r, Options{})
	if err == nil || !strings.Contains(err.Error(), "no neck in use bends more") {
		t.Errorf("got %v", err)
	}
}

// TestIndexText: "each", numbers and absence go through text and JSON and come back.
func TestIndexText(t *testing.T) {
	for text, want := range map[string]Index{`"each"`: EachIndex(), `6`: NumberIndex(6), `null`: {}, `"12"`: NumberIndex(12)} {
		var got, again Index
		if err := json.Unmarshal([]byte(text), &got); err != nil || got != want {
			t.Errorf("%s: got %+v, %v", text, got, err)
		}
		data, err := json.Marshal(got)
		if err != nil || json.Unmarshal(data, &again) != nil || again != want {
			t.Errorf("%s: written as %s, read as %+v", text, data, again)
		}
	}
	for _, bad := range []string{`"every"`, `0`, `-3`, `1.5`, `[1]`, `true`} {
		var i Index
		if json.Unmarshal([]byte(bad), &i) == nil {
			t.Errorf("index %s was read as %+v", bad, i)
		}
	}
	for text, want := range map[string]string{`"each"`: `"each"`, `[1,6]`: `[1,6]`, `"1, 6"`: `[1,6]`, `null`: `null`} {
		var l StringList
		if err := json.Unmarshal([]byte(text), &l); err != nil {
			t.Errorf("%s: %v", text, err)
		}
		if data, err := json.Marshal(l); err != nil || string(data) != want {
			t.Errorf("%s: written as %s", text, data)
		}
		plain, err := l.MarshalText()
		var back StringList
		if err != nil || back.UnmarshalText(plain) != nil || back.Each != l.Each || len(back.Numbers) != len(l.Numbers) {
			t.Errorf("%s: text %s, read as %+v", text, plain, back)
		}
	}
	for _, bad := range []string{`[0]`, `"some"`, `7.5`, `{"a":1}`} {
		var l StringList
		if json.Unmarshal([]byte(bad), &l) == nil {
			t.Errorf("list %s was read as %+v", bad, l)
		}
	}
}

// TestDefaults: what a file may leave out.
func TestDefaults(t *testing.T) {
	s, _ := readNeck(t, "W1-good-neck")
	s.Decision = Decision{}
	d := s.WithDefaults()
	if d.Datum != (Datum{1, 17, 7}) || d.Decision.Rule != "simple" || *d.Decision.GuardFactor != 1.645 || d.Routine == nil || d.Routine.Profile != "each fret" {
		t.Errorf("%+v %+v %+v", d.Datum, d.Decision, d.Routine)
	}
	if s.Routine != nil || s.Datum != (Datum{}) {
		t.Error("the specification itself was changed")
	}
	tracks := s.TracksOf()
	if len(tracks) != 3 || tracks[0] != (TrackSpec{bass, -17.5, -26}) || tracks[1] != (TrackSpec{centre, 0, 0}) || tracks[2] != (TrackSpec{treble, 17.5, 26}) {
		t.Errorf("%+v", tracks)
	}
	s.Tracks = []TrackSpec{{treble, 10, 15}, {"edge", -20, -28}}
	names := ""
	for _, k := range s.TracksOf() {
		names += k.Name + " "
	}
	if names != "edge bass centre treble " {
		t.Errorf("tracks %s", names)
	}
}

// TestWords: every relief is named with its datum pair (definition), and no characteristic is without a name, a source and,
// where it can fail, a remedy.
func TestWords(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	res := mustEvaluate(t, s, r, Options{})
	for _, c := range []struct {
		k    rowKey
		want string
	}{
		{rowKey{name: Relief, track: bass}, "relief, bass side, fret 7 over frets 1–17"},
		{rowKey{name: Rocker, track: treble, fret: 9}, "rocker, treble side, fret 9"},
		{rowKey{name: Action, string: 6, fret: 12}, "action, string 6, fret 12, open"},
		{rowKey{name: SideDifference}, "relief side difference over frets 1–17"},
		{rowKey{name: Pitch, string: 2}, "pitch, string 2"},
	} {
		if got := Words(s, *row(t, res, c.k)); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
	for turns, want := range map[float64]string{0: "no turn", 0.0625: "1/16 turn", 0.125: "1/8 turn", 0.1875: "3/16 turn", 0.25: "1/4 turn", 1: "1 turn", 2: "2 turns", 0.1: "0.1 turn"} {
		if got := TurnsWords(turns); got != want {
			t.Errorf("%v: %q", turns, got)
		}
	}
}

// TestInvolved: the points to measure again are those whose change changes the value; every other reading leaves it alone.
func TestInvolved(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	s.Routine = &Routine{Tracks: []string{bass, centre, treble}}
	for _, c := range []struct {
		c      Characteristic
		points int
	}{
		{Characteristic{Name: Relief, Track: bass, Method: "profile"}, 3},
		{Characteristic{Name: Relief, Track: bass, Method: "beam"}, 1},
		{Characteristic{Name: Relief, Track: bass, Method: "leaves"}, 2},
		{Characteristic{Name: ReliefMax, Track: bass}, 17},
		{Characteristic{Name: SideDifference}, 6},
		{Characteristic{Name: Twist}, 4},
		{Characteristic{Name: Straightness, Track: treble}, 22},
		{Characteristic{Name: Flatness}, 66},
		{Characteristic{Name: LevelZone}, 51},
		{Characteristic{Name: Rocker, Track: treble, Fret: 9}, 3},
		{Characteristic{Name: Hump, Track: treble}, 22},
		{Characteristic{Name: BoardRadius, Fret: 3}, 3},
		{Characteristic{Name: Action, String: 3, Fret: 12}, 1},
		{Characteristic{Name: NutHeight, String: 3}, 1},
		{Characteristic{Name: Pitch, String: 3}, 1},
		{Characteristic{Name: ClearanceMargin, String: 1}, 24},
		{Characteristic{Name: LeastClearance, String: 2}, 46},
	} {
		refs := Involved(s, c.c)
		if len(refs) != c.points {
			t.Errorf("%s: %d points, want %d", c.c.Name, len(refs), c.points)
		}
		switch c.c.Name {
		case Relief, SideDifference, Twist, Straightness, LeastClearance, ClearanceMargin, BoardRadius, Action, NutHeight:
		default:
			continue
		}
		if c.c.Method == "beam" || c.c.Method == "leaves" {
			continue
		}
		parts, _, err := Budget(s, r, c.c)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range parts {
			known := false
			for _, ref := range refs {
				known = known || ref == p.Point
			}
			if !known {
				t.Errorf("%s rests on %+v, which is not among its points", c.c.Name, p.Point)
			}
		}
	}
}
