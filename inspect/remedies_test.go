package inspect

import (
	"slices"
	"testing"
)

// TestRemediesCoverTheRejectReasons: every reason on the factory's pick list of reject reasons (common practice, no source) has
// likely causes, remedies and who may do them.
func TestRemediesCoverTheRejectReasons(t *testing.T) {
	of := map[string]Remedy{}
	for _, r := range AllRemedies() {
		if _, twice := of[r.Defect]; twice || len(r.Causes) == 0 || len(r.Remedies) == 0 || !slices.Contains([]string{"inspector", "fret bench", "repairer"}, r.Who) {
			t.Errorf("%+v", r)
		}
		of[r.Defect] = r
	}
	for _, defect := range []string{
		"high fret", "low fret", "loose fret", "sharp ends", "back-bow", "over-bow", "S-curve", "hump at the joint", "tongue rise", "twist",
		"rod dead", "rod loose", "rod stuck", "nut slot low", "nut slot high", "nut binding", "action too high", "action too low",
		"saddle at end of travel", "intonation", "fret position", "crown too low", "cosmetic",
	} {
		if _, ok := of[defect]; !ok {
			t.Errorf("no remedy for %q", defect)
		}
	}
	for name, k := range kinds {
		for _, v := range []float64{-1, 1} {
			c := Characteristic{Name: name, Value: &v, Lower: number(-0.5), Upper: number(0.5), Zone: Nonconforming}
			r, ok := RemedyFor(c)
			if _, listed := of[r.Defect]; ok != k.Limited || ok && !listed {
				t.Errorf("%s at %v: %q", name, v, r.Defect)
			}
		}
	}
	fall := Characteristic{Name: FallAway, Value: number(-0.1), Lower: number(0), Zone: Nonconforming}
	if r, _ := RemedyFor(fall); r.Defect != "tongue rise" {
		t.Errorf("a rising end is a %q", r.Defect)
	}
}
