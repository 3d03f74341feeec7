package batch

import (
	"testing"

	"sagitta/inspect"
)

// A nut height is over fret 1 always, and its point names no fret.
func TestPointOf(t *testing.T) {
	if p := PointOf(inspect.PointRef{Kind: inspect.PointNutHeight, String: 6, Fret: 1}); p.Fret != 0 || p.String != 6 {
		t.Errorf("a nut height is at %+v", p)
	}
}
