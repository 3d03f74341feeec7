package tell

import (
	"slices"
	"testing"

	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// TestMultiScaleInWords: the specification's words have the two scales and the fret that is square, and no single scale.
func TestMultiScaleInWords(t *testing.T) {
	for p, want := range map[float64]string{0: "the nut", 0.5: "between the nut and fret 1 (0.5)", 7: "fret 7", 7.25: "between frets 7 and 8 (7.25)"} {
		s := &inspect.Spec{Neck: inspect.NeckSpec{ScaleBassMM: 660.4, ScaleTrebleMM: 635, PerpendicularFret: &p}}
		neck := Spec(s, unit.Millimetre)[0].Fields
		for _, f := range []Field{{"Scale, outermost bass string", "660.4 mm"}, {"Scale, outermost treble string", "635 mm"}, {"Square to the centre line", want}} {
			if !slices.Contains(neck, f) {
				t.Errorf("square at %v: %v lacks %v", p, neck, f)
			}
		}
		if slices.ContainsFunc(neck, func(f Field) bool { return f.Name == "Scale" }) {
			t.Errorf("square at %v: one scale is told besides", p)
		}
	}
}
