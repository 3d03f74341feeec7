package tell

import (
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// Points and rework steps as the inspector says them, bytes so that every one can be read.
func TestPoint(t *testing.T) {
	for want, p := range map[string]batch.Point{
		"bass side, fret 7":                                   {Kind: batch.Crown, Track: "bass", Fret: 7},
		"centre, fret 7":                                      {Kind: batch.Crown, Track: "centre", Fret: 7},
		"treble side, beam on two feet":                       {Kind: batch.BeamReading, Track: "treble", Fret: 7},
		"string 6, fret 1, open":                              batch.PointOf(inspect.PointRef{Kind: inspect.PointNutHeight, String: 6, Fret: 1}),
		"string 6, fret 12, open":                             batch.PointOf(inspect.PointRef{Kind: inspect.PointAction, String: 6, Fret: 12}),
		"string 6, fret 12, pressed at fret 1":                {Kind: batch.ActionHeight, String: 6, Fret: 12, HeldFret: 1},
		"pitch of string 2, cents from its target":            {Kind: batch.Pitch, String: 2},
		"every string at pitch":                               {Kind: batch.PitchDeclared},
		"bass side, fret 7, thinnest leaf that does not pass": {Kind: batch.LeafStops, Track: "bass", Fret: 7},
		"sweep along the treble side":                         {Kind: batch.Sweep, Track: "treble"},
	} {
		if got := Point(p); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	for want, a := range map[string]batch.ReworkAction{
		"truss rod, tighten 3/16 turn":             {What: "truss rod", Direction: "tighten", Turns: 0.1875},
		"truss rod, loosen 0.1 turn":               {What: "truss rod", Direction: "loosen", Turns: 0.1},
		"nut slots, string 6, −0.100 mm":           {What: "nut slots", String: 6, AmountMM: -0.1},
		"fret level, bass side, fret 9, +0.060 mm": {What: "fret level", Fret: 9, Track: "bass", AmountMM: 0.06},
		"repairer": {What: "repairer"},
	} {
		if got := ReworkStep(a, unit.Millimetre); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	if got := Printable([]byte("+0.31\\\t\x02\xff\r\n")); got != `+0.31\\\t\x02\xff\r\n` {
		t.Errorf("printable: %s", got)
	}
}
