package inspect

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"
)

// fanCase is one neck of multi_scale.json.
type fanCase struct {
	Neck string `json:"neck"`
	NeckSpec
	First        int       `json:"first"`
	Joint        int       `json:"joint"`
	ReliefFret   int       `json:"relief_fret"`
	OuterStrings []String  `json:"outer_strings"`
	Lines        []fanLine `json:"lines"`
}

// fanLine is a string or the centre line of a fanCase.
type fanLine struct {
	Line    string    `json:"line"`
	YNut    float64   `json:"y_nut_mm"`
	YSaddle float64   `json:"y_saddle_mm"`
	XNut    float64   `json:"x_nut_mm"`
	XSaddle float64   `json:"x_saddle_mm"`
	Scale   float64   `json:"own_scale_mm"`
	X       []float64 `json:"x_mm"`
	Y       []float64 `json:"y_mm"`
	Radius  []float64 `json:"nominal_radius_mm"`
	Relief  float64   `json:"relief_of_curvature_2e-5_per_mm"`
	Mass    float64   `json:"mass_g_per_m"`
	Hz      float64   `json:"hz"`
	Tension float64   `json:"tension_n"`
	Saddle  float64   `json:"saddle_move_for_dh_0_1_at_12_mm"`
	Action  float64   `json:"d_action_12_for_d_relief_of_this_line_minus_0_1_mm"`
}

// spec is the case's specification: its outer strings, with what Check asks of strings filled in.
func (c *fanCase) spec() *Spec {
	s := &Spec{Name: c.Neck, Neck: c.NeckSpec, Strings: c.OuterStrings, Datum: Datum{c.First, c.Joint, c.ReliefFret}}
	for i := range s.Strings {
		t := &s.Strings[i]
		t.Number, t.Name, t.PitchHz, t.DiameterMM, t.PlainString = len(s.Strings)-i, "-", 100, 1, true
	}
	return s
}

// TestFan compares every place of six multi-scale necks with figures solved from the equations of the two lines (numpy 1.24.2,
// agreeing to 1e-10 mm), and what strings and relief make of them.
func TestFan(t *testing.T) {
	var ref struct {
		Necks []fanCase `json:"necks"`
	}
	readJSON(t, "../testdata/reference/geometry/multi_scale.json", &ref)
	if len(ref.Necks) != 6 {
		t.Fatalf("%d necks", len(ref.Necks))
	}
	for i := range ref.Necks {
		c := &ref.Necks[i]
		s := c.spec()
		if faults := s.Check(); faults != nil {
			t.Fatalf("%s: %v", c.Neck, faults)
		}
		f := s.Fan()
		worst, force := 0.0, 0.0
		check := func(what string, got, want float64) {
			t.Helper()
			worst = max(worst, math.Abs(got-want))
			if !(math.Abs(got-want) < 1e-9) {
				t.Errorf("%s, %s: got %v, want %v", c.Neck, what, got, want)
			}
		}
		for _, w := range c.Lines {
			l := f.Line(w.YNut, w.YSaddle)
			check(w.Line+" nut", l.Nut, w.XNut)
			check(w.Line+" saddle", l.Saddle, w.XSaddle)
			check(w.Line+" scale", l.Scale(), w.Scale)
			for n := range w.X {
				check(w.Line+" x", l.X[n], w.X[n])
				check(w.Line+" y", l.Y[n], w.Y[n])
				check(w.Line+" y at x", l.YAt(l.X[n]), w.Y[n])
				check(w.Line+" radius", f.Radius(l.X[n]), w.Radius[n])
			}
			check(w.Line+" relief", 2e-5*s.reliefPerCurvature(l, c.ReliefFret), w.Relief)
			if w.Line == "centre" {
				continue
			}
			check(w.Line+" saddle move", 0.1*l.Scale()/(l.At(12)-l.Nut), w.Saddle)
			check(w.Line+" action", -0.1*s.actionPerCurvature(l, 12)/s.reliefPerCurvature(l, c.ReliefFret), w.Action)
			tension := Tension(w.Mass, l.Scale(), w.Hz)
			force = max(force, math.Abs(tension-w.Tension))
			if !(math.Abs(tension-w.Tension) < 1e-9*w.Tension) {
				t.Errorf("%s, %s: tension %v, want %v", c.Neck, w.Line, tension, w.Tension)
			}
		}
		t.Logf("%s: %d lines within %.1e mm and %.1e N", c.Neck, len(c.Lines), worst, force)
	}
}

// TestFanKeys: one scale, or the two of the outer strings; every other way names the keys and what is allowed.
func TestFanKeys(t *testing.T) {
	cases := []struct {
		keys, field, words string
	}{
		{`{"scale_mm": 648}`, "", ""},
		{`{"scale_bass_mm": 660.4, "scale_treble_mm": 635}`, "", ""},
		{`{"scale_bass_mm": 660.4, "scale_treble_mm": 635, "perpendicular_fret": 7.5}`, "", ""},
		{`{"scale_bass_mm": 660.4, "scale_treble_mm": 635, "perpendicular_fret": 0}`, "", ""},
		{`{}`, "neck.scale_mm", "is missing"},
		{`{"scale_in": 25.5}`, "", ""},
		{`{"scale_in": 25.5, "scale_mm": 647.7}`, "neck.scale_in", "one of them alone"},
		{`{"scale_in": 25.5, "scale_bass_mm": 660.4, "scale_treble_mm": 635}`, "neck.scale_in", "one of them alone"},
		{`{"scale_in": 647.7}`, "neck.scale_in", "from 3.94 to 78.74 in"},
		{`{"scale_in": -25.5}`, "neck.scale_in", "from 3.94 to 78.74 in"},
		{`{"scale_in": 25.5, "perpendicular_fret": 7}`, "neck.perpendicular_fret", "only beside scale_bass_mm and scale_treble_mm"},
		{`{"scale_mm": 648, "scale_bass_mm": 660.4, "scale_treble_mm": 635}`, "neck.scale_mm", "alone"},
		{`{"scale_mm": 648, "scale_treble_mm": 635}`, "neck.scale_mm", "alone"},
		{`{"scale_bass_mm": 660.4}`, "neck.scale_treble_mm", "is missing"},
		{`{"scale_treble_mm": 635}`, "neck.scale_bass_mm", "is missing"},
		{`{"scale_bass_mm": 66, "scale_treble_mm": 635}`, "neck.scale_bass_mm", "from 100 to 2000"},
		{`{"scale_bass_mm": 660, "scale_treble_mm": 6350}`, "neck.scale_treble_mm", "from 100 to 2000"},
		{`{"scale_mm": 648, "perpendicular_fret": 7}`, "neck.perpendicular_fret", "only beside scale_bass_mm and scale_treble_mm"},
		{`{"scale_bass_mm": 660.4, "scale_treble_mm": 635, "perpendicular_fret": 23}`, "neck.perpendicular_fret", "0 (the nut) to 22"},
		{`{"scale_bass_mm": 660.4, "scale_treble_mm": 635, "perpendicular_fret": -1}`, "neck.perpendicular_fret", "0 (the nut) to 22"},
	}
	for _, c := range cases {
		s, _ := readNeck(t, "W1-good-neck")
		s.Neck.ScaleMM = 0
		if err := json.Unmarshal([]byte(c.keys), &s.Neck); err != nil {
			t.Fatal(err)
		}
		faults := s.Check()
		if c.field == "" {
			if faults != nil {
				t.Errorf("%s: %v", c.keys, faults)
			}
			continue
		}
		if len(faults) != 1 || faults[0].Field != c.field || !containsAll(faults[0].Error(), c.words) {
			t.Errorf("%s: got %v, want one fault of %s saying %q", c.keys, faults, c.field, c.words)
		}
	}
	s, _ := readNeck(t, "W7-fan-good")
	s.Strings = s.Strings[5:]
	s.Strings[0].Number = 1
	if faults := s.Check(); len(faults) == 0 || faults[0].Field != "string" || !containsAll(faults[0].Error(), "two [[string]] at least") {
		t.Errorf("one string: %v", faults)
	}
	s, _ = readNeck(t, "W7-fan-good")
	s.Neck.ScaleBassMM, s.Neck.ScaleTrebleMM = 760, 560
	s.Tracks = append(s.Tracks, TrackSpec{Name: "outside", YNutMM: -190, YSaddleMM: 200})
	if faults := s.Check(); len(faults) != 1 || !containsAll(faults[0].Error(), "track[1].y_nut_mm", "crosses the frets one after another") {
		t.Errorf("a track across the frets: %v", faults)
	}
}

// containsAll reports that a text holds all of some words.
func containsAll(text string, words ...string) bool {
	return !slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(text, w) })
}
