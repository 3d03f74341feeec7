package simulate

import (
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"
)

// TestFannedPlaces: where strings and the centre line have their frets on six multi-scale necks, against figures solved from the
// equations of the two lines (numpy 1.24.2).
func TestFannedPlaces(t *testing.T) {
	data, err := os.ReadFile("../../testdata/reference/geometry/multi_scale.json")
	if err != nil {
		t.Fatal(err)
	}
	type line struct {
		YNutMM    float64   `json:"y_nut_mm"`
		YSaddleMM float64   `json:"y_saddle_mm"`
		XNutMM    float64   `json:"x_nut_mm"`
		XSaddleMM float64   `json:"x_saddle_mm"`
		XMM       []float64 `json:"x_mm"`
		YMM       []float64 `json:"y_mm"`
	}
	var ref struct {
		Necks []struct {
			Neck   string  `json:"neck"`
			Bass   float64 `json:"scale_bass_mm"`
			Treble float64 `json:"scale_treble_mm"`
			Square float64 `json:"perpendicular_fret"`
			Frets  int     `json:"frets"`
			Outer  []line  `json:"outer_strings"`
			Lines  []line  `json:"lines"`
		} `json:"necks"`
	}
	if err := json.Unmarshal(data, &ref); err != nil {
		t.Fatal(err)
	}
	worst := 0.0
	for _, c := range ref.Necks {
		n := &Neck{Frets: c.Frets, ScaleMM: (c.Bass + c.Treble) / 2, ScaleBassMM: c.Bass, ScaleTrebleMM: c.Treble, PerpendicularFret: c.Square}
		for i, o := range c.Outer {
			n.Strings = append(n.Strings, String{Track: Track{o.YNutMM, o.YSaddleMM}, Number: i + 1})
		}
		for _, l := range c.Lines {
			track := Track{l.YNutMM, l.YSaddleMM}
			off := max(math.Abs(n.NutX(track)-l.XNutMM), math.Abs(n.SaddleX(track)-l.XSaddleMM))
			for i := range l.XMM {
				x := n.FretOn(track, i+1)
				off = max(off, math.Abs(x-l.XMM[i]), math.Abs(n.Y(track, x)-l.YMM[i]), math.Abs(n.fretAt(i+1, l.YMM[i])-l.XMM[i]))
			}
			worst = max(worst, off)
			if !(off < 1e-9) {
				t.Errorf("%s, line from y = %v: off by %v mm", c.Neck, l.YNutMM, off)
			}
		}
	}
	t.Logf("%d necks within %.1e mm", len(ref.Necks), worst)
}

// TestFannedTruth: an even bow of a fanned neck is no twist, and gives the longer side more relief, about as the square of its scale.
func TestFannedTruth(t *testing.T) {
	n := &Neck{
		Frets: 22, JointFret: 17, ReliefFret: 7, ScaleMM: 647.7, ScaleBassMM: 660.4, ScaleTrebleMM: 635, PerpendicularFret: 0,
		NutRadiusMM: 305, LastFretRadiusMM: 305, Strings: []String{{Track: Track{-17.5, -26}, Number: 6}, {Track: Track{17.5, 26}, Number: 1}},
	}
	n.bend(0.3 - n.Bow())
	near(t, "mean relief", n.Bow(), 0.3, 1e-9)
	near(t, "twist of an even bow", n.Twist(), 0, 1e-9)
	bass, treble := n.Outer()
	flat := *n
	flat.CurvaturePerMM = 0 // what is left is the radius under spreading tracks
	ratio := (n.Relief(bass, 1, 17, 7) - flat.Relief(bass, 1, 17, 7)) / (n.Relief(treble, 1, 17, 7) - flat.Relief(treble, 1, 17, 7))
	near(t, "relief of the sides", ratio, 660.4*660.4/(635.0*635.0), 0.02)
	n.TwistDeg = 0.5
	near(t, "twist", n.Twist(), 0.5, 1e-3)
}

// TestFannedScenario: a model has one scale or the two of its outer strings.
func TestFannedScenario(t *testing.T) {
	text, err := demoFile("QM-2613.truth.toml")
	if err != nil {
		t.Fatal(err)
	}
	for keys, want := range map[string]string{
		"scale_bass_mm = 660\nscale_treble_mm = 635\nperpendicular_fret = 7.5": "",
		"scale_mm = 648\nscale_bass_mm = 660\nscale_treble_mm = 635":           "model.scale_mm",
		"scale_bass_mm = 660": "model.scale_treble_mm",
		"scale_bass_mm = 660\nscale_treble_mm = 635\nperpendicular_fret = 23": "model.perpendicular_fret",
		"scale_mm = 648\nperpendicular_fret = 7":                              "model.perpendicular_fret",
	} {
		_, err := ParseScenario("fan", []byte(strings.Replace(string(text), "scale_mm = 648.0", keys, 1)))
		if (err == nil) != (want == "") || err != nil && !strings.Contains(err.Error(), want) {
			t.Errorf("%q: got %v, want %q", keys, err, want)
		}
	}
}
