package batch

import (
	"fmt"
	"testing"

	"sagitta/inspect"
)

// TestWords: points and rework as the inspector says them, bytes so that every one can be read.
func TestWords(t *testing.T) {
	for want, p := range map[string]Point{
		"fret 7, bass side":                                     {Kind: Crown, Track: "bass", Fret: 7},
		"fret 7, centre":                                        {Kind: Crown, Track: "centre", Fret: 7},
		"two-foot beam, treble side":                            {Kind: BeamReading, Track: "treble", Fret: 7},
		"string 6 over fret 1, open":                            PointOf(inspect.PointRef{Kind: inspect.PointNutHeight, String: 6, Fret: 1}),
		"string 6 over fret 12, open":                           PointOf(inspect.PointRef{Kind: inspect.PointAction, String: 6, Fret: 12}),
		"string 6 over fret 12, held at fret 1":                 {Kind: ActionHeight, String: 6, Fret: 12, HeldFret: 1},
		"pitch of string 2, cents from its target":              {Kind: Pitch, String: 2},
		"every string at pitch":                                 {Kind: PitchDeclared},
		"thinnest leaf that does not pass at fret 7, bass side": {Kind: LeafStops, Track: "bass", Fret: 7},
	} {
		if got := p.Words(); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	if p := PointOf(inspect.PointRef{Kind: inspect.PointNutHeight, String: 6, Fret: 1}); p.Fret != 0 {
		t.Errorf("a nut height is at fret %d", p.Fret)
	}
	length := func(mm float64) string { return fmt.Sprintf("%+.3f mm", mm) }
	for want, a := range map[string]ReworkAction{
		"truss rod, tighten 3/16 turn":             {What: "truss rod", Direction: "tighten", Turns: 0.1875},
		"truss rod, loosen 0.1 turn":               {What: "truss rod", Direction: "loosen", Turns: 0.1},
		"nut slots, string 6, -0.100 mm":           {What: "nut slots", String: 6, AmountMM: -0.1},
		"fret level, fret 9, bass side, +0.060 mm": {What: "fret level", Fret: 9, Track: "bass", AmountMM: 0.06},
		"repairer": {What: "repairer"},
	} {
		if got := a.Words(length); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	if got := Printable([]byte("+0.31\\\t\x02\xff\r\n")); got != `+0.31\\\t\x02\xff\r\n` {
		t.Errorf("printable: %s", got)
	}
}
