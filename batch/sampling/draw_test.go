package sampling

import (
	"fmt"
	"math"
	"slices"
	"testing"
)

// The least of the hashes that coreutils' sha256sum 9.1 gives for q1/QM-1 to q1/QM-5: see the command in Draw's description.
func TestDrawCanBeRepeatedByHand(t *testing.T) {
	names := []string{"QM-5", "QM-3", "QM-1", "QM-4", "QM-2"}
	if got, want := Draw(names, 2, "q1"), []string{"QM-1", "QM-4"}; !slices.Equal(got, want) {
		t.Errorf("drawn %v, want %v", got, want)
	}
	slices.Reverse(names)
	if !slices.Equal(Draw(names, 2, "q1"), Draw([]string{"QM-1", "QM-2", "QM-3", "QM-4", "QM-5"}, 2, "q1")) {
		t.Error("the order of the lot changes what is drawn")
	}
	if got := Draw(names, 9, "q1"); len(got) != 5 || !slices.IsSorted(got) {
		t.Errorf("all of them: %v", got)
	}
	if got := Draw(nil, 2, "q1"); len(got) != 0 {
		t.Errorf("of an empty lot: %v", got)
	}
}

// Every unit is drawn as often as any other: over 4,000 seeds the chi-square statistic of 20 units, 5 drawn at a time, stays
// under the 99.9 % point of 19 degrees of freedom, 43.82 (any table of the chi-square distribution); drawing without
// replacement makes it smaller by the factor 15/19.
func TestDrawIsFair(t *testing.T) {
	names := make([]string, 20)
	for i := range names {
		names[i] = fmt.Sprintf("QM-%02d", i)
	}
	const seeds = 4000
	drawn := map[string]int{}
	for seed := range seeds {
		for _, name := range Draw(names, 5, fmt.Sprint(seed)) {
			drawn[name]++
		}
	}
	expected, chi := seeds*5/20.0, 0.0
	for _, name := range names {
		chi += math.Pow(float64(drawn[name])-expected, 2) / expected
	}
	if chi > 43.82 || chi == 0 {
		t.Errorf("chi-square %.1f", chi)
	}
}
