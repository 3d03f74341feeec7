package bench

import (
	"slices"
	"testing"
)

// What went in as two leaves together is two leaves in the next round too, with the uncertainty of two.
func TestLeavesOf(t *testing.T) {
	set := []float64{0.05, 0.10, 0.15, 0.20, 0.30}
	for mm, want := range map[float64][]float64{0.20: {0.20}, 0.25: {0.20, 0.05}, 0.45: {0.30, 0.15}, 0.27: {0.27}} {
		if got := leavesOf(set, mm); !slices.Equal(got, want) {
			t.Errorf("%g mm: %v, want %v", mm, got, want)
		}
	}
}
