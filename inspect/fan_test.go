package inspect

import (
	"encoding/json"
	"math"
	"math/rand/v2"
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

// TestSlantedWithoutABendCurve: twist and board radius of slanted frets need the bend curve; without one they are not measured, and
// what is missing is said. Where the frets are square the same crowns are enough.
func TestSlantedWithoutABendCurve(t *testing.T) {
	thin := func(r *Readings) *Readings {
		for i := range r.Profile {
			for j := range r.Profile[i].ZMM {
				if j != 0 && j != 6 && j != 16 && j != 20 {
					r.Profile[i].ZMM[j] = nil
				}
			}
		}
		return r
	}
	s, r := fullFan(3)
	res := mustEvaluate(t, s, thin(r), Options{})
	if c := row(t, res, rowKey{name: Twist}); c == nil || c.Value != nil || c.Zone != NotMeasured {
		t.Errorf("twist without a bend curve: %+v", c)
	}
	if c := row(t, res, rowKey{name: BoardRadius, fret: 7}); c == nil || c.Value == nil {
		t.Error("no radius at the perpendicular fret")
	}
	if slices.ContainsFunc(res.Characteristics, func(c Characteristic) bool { return c.Name == BoardRadius && c.Fret == 17 }) {
		t.Error("a radius of a slanted fret without a bend curve")
	}
	if missing := MissingFor(s, r, res, Twist); len(missing) != 1 || !containsAll(missing[0], "fret 17", "at least five", "bend curve") {
		t.Errorf("missing for twist: %q", missing)
	}
	s, r = fullNeck(3)
	if c := row(t, mustEvaluate(t, s, thin(r), Options{}), rowKey{name: Twist}); c == nil || c.Value == nil {
		t.Error("no twist of square frets from four crowns")
	}
}

// TestBeamOnAFan: a beam's reading is worth the relief of its own track; on a track that nothing places it is an error that names it.
func TestBeamOnAFan(t *testing.T) {
	s, _ := fullFan(1)
	r := &Readings{Serial: "QM-1"}
	f := s.Fan()
	for _, name := range []string{bass, centre, treble} {
		l := f.Track(s, name)
		const curvature = 2e-5
		feet := [2]float64{30, 400} // from the nut: only their distances matter
		r.Beam = append(r.Beam, BeamReading{Track: name, FeetMM: feet, PlungerMM: 200, ReadingMM: curvature * (200 - 30) * (400 - 200) / 2})
		res := mustEvaluate(t, s, r, Options{})
		want := curvature * (l.At(7) - l.At(1)) * (l.At(17) - l.At(7)) / 2
		if got := *row(t, res, rowKey{name: Relief, track: name}).Value; math.Abs(got-want) > 1e-12 {
			t.Errorf("%s: %v, want %v", name, got, want)
		}
	}
	r.Beam = append(r.Beam, BeamReading{Track: "edge", FeetMM: [2]float64{30, 400}, PlungerMM: 200, ReadingMM: 0.3})
	if _, err := Evaluate(s, r, Options{}); err == nil || !containsAll(err.Error(), "beam[4].track", "edge") {
		t.Errorf("a beam on a track without a place: %v", err)
	}
}

// TestRandomFans: whatever geometry passes its check gives finite results, and its routine measures what is limited.
func TestRandomFans(t *testing.T) {
	refused := 0
	for seed := uint64(1); seed <= 150; seed++ {
		g := rand.New(rand.NewPCG(seed, 77))
		n := NeckSpec{ScaleBassMM: 500 + 500*g.Float64(), ScaleTrebleMM: 500 + 400*g.Float64(), PerpendicularFret: new(24 * g.Float64())}
		if seed%3 > 0 {
			n.ScaleTrebleMM = n.ScaleBassMM + 40*g.NormFloat64()
		}
		s, r := fullNeckOf(n, seed)
		s.Tracks = []TrackSpec{{"edge", 20 + 30*g.Float64(), 20 + 60*g.Float64()}}
		if s.Check() != nil {
			refused++
			continue
		}
		soundResult(t, mustEvaluate(t, s, r, Options{}))
		if faults := s.Unmeasurable(); faults != nil {
			t.Errorf("neck %d: %v", seed, faults)
		}
	}
	if refused > 75 {
		t.Errorf("%d of 150 necks refused", refused)
	}
	t.Logf("%d of 150 random fans are finite, %d were refused", 150-refused, refused)
}

// TestFanOffTheCentreLine: strings all on one side, of scales so unlike that their frets meet on the centre line, are refused.
func TestFanOffTheCentreLine(t *testing.T) {
	s, _ := fullFan(1)
	for i := range s.Strings {
		s.Strings[i].YNutMM, s.Strings[i].YSaddleMM = 40-float64(i), 60-2*float64(i)
	}
	s.Neck.ScaleBassMM, s.Neck.ScaleTrebleMM = 600, 700
	if faults := s.Check(); len(faults) == 0 || faults[0].Field != "neck.scale_bass_mm" || !containsAll(faults[0].Error(), "600", "700", "centre line") {
		t.Errorf("frets that meet on the centre line: %v", faults)
	}
}
