package tell

import (
	"strings"
	"testing"

	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// TestWrong plants a value beyond each limit of each characteristic: the sentence says on which side it lies, its value and the limit.
func TestWrong(t *testing.T) {
	s := (&inspect.Spec{}).WithDefaults()
	s.Uncertainty.ResolutionMM = 0.01
	for _, c := range []struct {
		of           inspect.Characteristic
		value        float64
		lower, upper float64
		want         string
	}{
		{inspect.Characteristic{Name: inspect.Relief, Track: "bass", Fret: 7}, 0.46, 0.2, 0.36, "too much relief, bass side: +0.46 mm (limit 0.36 mm)"},
		{inspect.Characteristic{Name: inspect.Relief, Track: "bass", Fret: 7}, 0.1, 0.2, 0.36, "too little relief, bass side: +0.10 mm (limit 0.20 mm)"},
		{inspect.Characteristic{Name: inspect.Relief, Track: "treble", Fret: 7}, -0.1, 0.2, 0.36, "back-bow, treble side: −0.10 mm (limit 0.20 mm)"},
		{inspect.Characteristic{Name: inspect.SideDifference}, 0.12, -0.05, 0.05, "the bass side has too much more relief than the treble side: 0.12 mm (limit 0.05 mm)"},
		{inspect.Characteristic{Name: inspect.SideDifference}, -0.12, -0.06, 0.05, "the treble side has too much more relief than the bass side: 0.12 mm (limit 0.06 mm)"},
		{inspect.Characteristic{Name: inspect.Straightness, Track: "bass"}, 0.12, -1, 0.08, "the frets do not run straight, bass side: 0.12 mm (limit 0.08 mm)"},
		{inspect.Characteristic{Name: inspect.Flatness}, 0.12, -1, 0.08, "the frets are not level with one another: 0.12 mm (limit 0.08 mm)"},
		{inspect.Characteristic{Name: inspect.LevelZone}, 0.12, -1, 0.08, "the frets before the joint are not level: 0.12 mm (limit 0.08 mm)"},
		{inspect.Characteristic{Name: inspect.Rocker, Track: "bass", Fret: 9}, 0.09, -0.05, 0.05, "fret 9" + ", bass side, stands 0.09 mm high (limit 0.05 mm)"},
		{inspect.Characteristic{Name: inspect.LevelDeviation, Track: "bass", Fret: 9}, -0.09, -0.05, 0.05, "fret 9" + ", bass side, stands 0.09 mm low (limit 0.05 mm)"},
		{inspect.Characteristic{Name: inspect.Hump, Track: "bass"}, 0.23, -1, 0.02, "the board rises past the joint, bass side: 0.23 mm (limit 0.02 mm)"},
		{inspect.Characteristic{Name: inspect.FallAway, Track: "bass"}, 0.4, 0, 0.3, "the board drops too far at its end, bass side: +0.40 mm (limit 0.30 mm)"},
		{inspect.Characteristic{Name: inspect.FallAway, Track: "bass"}, -0.05, 0, 0.3, "the board drops too little at its end, bass side: −0.05 mm (limit 0.00 mm)"},
		{inspect.Characteristic{Name: inspect.BoardRadius, Fret: 7}, 330, 295, 315, "the board is too flat, fret 7: 330"},
		{inspect.Characteristic{Name: inspect.BoardRadius, Fret: 7}, 280, 295, 315, "the board is too round, fret 7: 280"},
		{inspect.Characteristic{Name: inspect.BoardRadius, Fret: 7}, -900, 295, 315, "the board is hollow, fret 7: −900"},
		{inspect.Characteristic{Name: inspect.Action, String: 6, Fret: 12}, 2.4, 1.5, 2.2, "string 6 stands too high, fret 12: 2.40 mm (limit 2.20 mm)"},
		{inspect.Characteristic{Name: inspect.Action, String: 6, Fret: 12, HeldFret: 1}, 1.2, 1.5, 2.2, "string 6 stands too low, fret 12, pressed at fret 1: 1.20 mm (limit 1.50 mm)"},
		{inspect.Characteristic{Name: inspect.NutHeight, String: 1}, 0.7, 0.4, 0.6, "string 1 stands too high at the nut: 0.70 mm (limit 0.60 mm)"},
		{inspect.Characteristic{Name: inspect.LeastClearance, String: 1}, 0.1, 0.2, 9, "string 1 comes too near the frets: 0.10 mm (limit 0.20 mm)"},
		{inspect.Characteristic{Name: inspect.ClearanceMargin, String: 1}, -0.1, 0, 9, "string 1 is likely to buzz when plucked: −0.10 mm (limit 0.00 mm)"},
		{inspect.Characteristic{Name: inspect.ClearanceMargin, String: 1}, 0.1, 0.2, 9, "string 1 has too little room when plucked: +0.10 mm (limit 0.20 mm)"},
		{inspect.Characteristic{Name: inspect.Pitch, String: 5}, 12, -5, 5, "string 5 is too sharp: +12"},
		{inspect.Characteristic{Name: inspect.Pitch, String: 5}, -12, -5, 5, "string 5 is too flat: −12"},
	} {
		k := inspect.KindOf(c.of.Name)
		c.of.Unit, c.of.Value, c.of.Lower, c.of.Upper, c.of.Zone = k.Unit, &c.value, &c.lower, &c.upper, inspect.Nonconforming
		if got := Wrong(s, c.of, unit.Millimetre); !strings.HasPrefix(got, c.want) {
			t.Errorf("%s %g: %q, want %q", c.of.Name, c.value, got, c.want)
		}
	}
	// What the words would not be true of is said by the handbook's.
	for _, c := range []inspect.Characteristic{
		{Name: inspect.SideDifference, Value: new(0.02), Lower: new(0.05)},
		{Name: inspect.LeastClearance, String: 1, Value: new(2.0), Upper: new(1.0)},
		{Name: inspect.Relief, Track: "bass", Fret: 7, Method: inspect.ByLeaves, IntervalMM: &[2]*float64{new(0.5), nil}, Upper: new(0.36)},
	} {
		c.Unit, c.Zone = inspect.KindOf(c.Name).Unit, inspect.Nonconforming
		if got, want := Wrong(s, c, unit.Millimetre), inspect.FailingWords(s, c, unit.Millimetre); got != want {
			t.Errorf("%s: %q, want %q", c.Name, got, want)
		}
	}
}

// TestWorker: beside the prompt a value is named in the words of whoever holds the neck.
func TestWorker(t *testing.T) {
	for want, c := range map[string]inspect.Characteristic{
		"relief, bass side":          {Name: inspect.Relief, Track: "bass", Fret: 7},
		"bass side, fret 9 stands":   {Name: inspect.Rocker, Track: "bass", Fret: 9},
		"rise past joint":            {Name: inspect.Hump},
		"action, string 6, fret 12":  {Name: inspect.Action, String: 6, Fret: 12},
		"nut, string 6":              {Name: inspect.NutHeight, String: 6},
		"twist":                      {Name: inspect.Twist},
		"bass side less treble side": {Name: inspect.SideDifference},
	} {
		if got := Worker(c); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
