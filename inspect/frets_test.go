package inspect

import (
	"math"
	"testing"

	"sagitta/inspect/internal/kerneltest"
)

func TestFretPositions(t *testing.T) {
	var ref struct {
		Tables []struct {
			ScaleMM float64   `json:"scale_mm"`
			XMM     []float64 `json:"x_mm"`
		}
		Printed struct {
			Source     string
			MMToBridge []float64 `json:"mm_to_bridge"`
		}
		Convention struct {
			Source  string
			ScaleMM float64 `json:"scale_mm"`
			Frets   []struct {
				Fret  int
				XMM   float64 `json:"x_mm"`
				Minus float64 `json:"minus_formula_mm"`
			}
		} `json:"printed_convention"`
	}
	kerneltest.Load(t, "frets.json", &ref)
	for _, table := range ref.Tables {
		var worst float64
		for i, want := range table.XMM {
			got := FretX(table.ScaleMM, i+1)
			worst = math.Max(worst, math.Abs(got-want))
			if math.Abs(got-want) > 1e-6 {
				t.Errorf("scale %v fret %d: got %v, want %v", table.ScaleMM, i+1, got, want)
			}
		}
		t.Logf("formula, scale %v mm, %d frets: within %.1e mm", table.ScaleMM, len(table.XMM), worst)
	}
	if len(ref.Tables) == 0 || len(ref.Printed.MMToBridge) == 0 || len(ref.Convention.Frets) == 0 {
		t.Fatal("reference table missing")
	}
	// The table prints whole micrometres of a 25 in scale, from the bridge.
	for i, want := range ref.Printed.MMToBridge {
		if got := 635 - FretX(635, i+1); math.Abs(got-want) > 0.0005 {
			t.Errorf("%s: fret %d: got %v, printed %v", ref.Printed.Source, i+1, got, want)
		}
	}
	t.Logf("%s: all %d frets to the printed 0.001 mm", ref.Printed.Source, len(ref.Printed.MMToBridge))
	// Dividing what is left by 17.817 is the older convention; its excess over the formula is tabulated.
	for _, f := range ref.Convention.Frets {
		if got := f.XMM - FretX(ref.Convention.ScaleMM, f.Fret); math.Abs(got-f.Minus) > 1.1e-6 {
			t.Errorf("%s: fret %d exceeds the formula by %v, tabulated %v", ref.Convention.Source, f.Fret, got, f.Minus)
		}
	}
	t.Logf("%s: %d frets, excess to 1e-6 mm", ref.Convention.Source, len(ref.Convention.Frets))
	for octave := range 4 { // 12 frets halve what is left, by definition of the octave
		if got, want := FretX(648, 12*octave), 648*(1-math.Pow(2, -float64(octave))); math.Abs(got-want) > 1e-13*648 {
			t.Errorf("fret %d: got %v, want %v", 12*octave, got, want)
		}
	}
}

func TestSagitta(t *testing.T) {
	var ref struct {
		Cases []struct {
			RadiusMM   float64 `json:"radius_mm"`
			ChordMM    float64 `json:"chord_mm"`
			SagittaMM  float64 `json:"sagitta_mm"`
			ParabolaMM float64 `json:"parabola_mm"`
		}
	}
	kerneltest.Load(t, "sagitta.json", &ref)
	if len(ref.Cases) == 0 {
		t.Fatal("no cases")
	}
	for _, c := range ref.Cases {
		got := Sagitta(c.RadiusMM, c.ChordMM)
		t.Logf("circle of %v mm over %v mm: %.1f digits", c.RadiusMM, c.ChordMM, kerneltest.Digits(got, c.SagittaMM))
		if kerneltest.Digits(got, c.SagittaMM) < 15 {
			t.Errorf("radius %v chord %v: got %v, want %v", c.RadiusMM, c.ChordMM, got, c.SagittaMM)
		}
		if Sagitta(-c.RadiusMM, c.ChordMM) != -got {
			t.Errorf("radius %v chord %v: hollow circle is not the mirror image", c.RadiusMM, c.ChordMM)
		}
		// An arc's sagitta exceeds the parabola's c^2/(8R) by no more than the next term of the series allows.
		if p := c.ChordMM * c.ChordMM / (8 * c.RadiusMM); kerneltest.Digits(p, c.ParabolaMM) < 15 || got < p*(1-1e-15) {
			t.Errorf("radius %v chord %v: sagitta %v, parabola %v, want %v", c.RadiusMM, c.ChordMM, got, p, c.ParabolaMM)
		}
	}
	for _, c := range []struct{ radius, chord, want float64 }{{0, 50, 0}, {300, 0, 0}, {25, 50, 25}, {25, 80, 25}} {
		if got := Sagitta(c.radius, c.chord); got != c.want {
			t.Errorf("Sagitta(%v, %v) = %v, want %v", c.radius, c.chord, got, c.want)
		}
	}
}

func TestDeveloped(t *testing.T) {
	// A crown on a circle of the nominal radius is level with the crest.
	for _, radius := range []float64{184.15, 305, 406.4, 1e6, 1e9} {
		for _, y := range []float64{-26, -17.5, 0, 3, 26} {
			onCircle := -y * y / (radius + math.Sqrt((radius-y)*(radius+y)))
			if got := Developed(onCircle, y, radius); math.Abs(got) > 1e-15 {
				t.Errorf("radius %v y %v: got %v, want 0", radius, y, got)
			}
		}
	}
	if got := Developed(0.25, 20, 0); got != 0.25 {
		t.Errorf("flat board: got %v, want the height itself, 0.25", got)
	}
	if got := Developed(1, 400, 305); got != 306 {
		t.Errorf("y beyond the radius: got %v, want the height at y = R, 306", got)
	}
}

func TestTrackAndBoardRadius(t *testing.T) {
	if got := TrackY(-17, -26, 648, 324); got != -21.5 {
		t.Errorf("middle of the track: got %v, want -21.5", got)
	}
	if got := TrackY(3, 9, 0, 5); got != 3 {
		t.Errorf("no scale: got %v, want the nut's place", got)
	}
	last := FretX(648, 22)
	for _, c := range []struct{ nut, end, x, want float64 }{
		{305, 305, 100, 305},
		{0, 0, 100, 0},
		{254, 406.4, 0, 254},
		{254, 406.4, last, 406.4},
		{254, 406.4, last / 2, 330.2},
		{254, 406.4, 2 * last, 558.8},
		{0, 300, 0, 0},
		{0, 300, last / 2, 600},
		{300, 0, last / 2, 600},
		{300, 0, last, 0},
	} {
		if got := NominalRadius(c.nut, c.end, FretX(648, 22), c.x); math.Abs(got-c.want) > 1e-10 {
			t.Errorf("BoardRadius(%v, %v) at %v: got %v, want %v", c.nut, c.end, c.x, got, c.want)
		}
	}
}
