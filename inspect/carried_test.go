package inspect

import (
	"math"
	"testing"
)

// TestCarriedReadings: a reading that several crowns rest on is moved with all of them. One that lifts a whole track evenly moves no
// relief; one that lifts the crown at the relief's fret alone counts as that crown's own reading does; and the budget, which
// shares no shortcut, gives the same uncertainties.
func TestCarriedReadings(t *testing.T) {
	s, plain := fullNeck(4)
	before := mustEvaluate(t, s, plain, Options{})
	r := plain.clone()
	own := make([]float64, s.Neck.Frets)
	for i := range own {
		own[i] = s.ReadingU()
	}
	own[6] = 0
	r.Profile[0].OwnUMM = own
	lift := CarriedReading{Point: PointRef{Kind: PointCrown, Track: bass, Fret: 1}, UMM: 0.5}
	for fret := 1; fret <= s.Neck.Frets; fret++ {
		lift.Parts = append(lift.Parts, CarriedPart{Track: 0, Fret: fret, Weight: 1})
	}
	alone := CarriedReading{Point: PointRef{Kind: PointCrown, Track: bass, Fret: 7}, UMM: s.ReadingU(), Parts: []CarriedPart{{Track: 0, Fret: 7, Weight: 1}}}
	r.Carried = []CarriedReading{lift, alone}
	after := mustEvaluate(t, s, r, Options{})
	seen := map[string]int{}
	for i, c := range after.Characteristics {
		was := before.Characteristics[i]
		if c.Value == nil || *c.Value != *was.Value {
			t.Fatalf("%s has another value", Words(s, c))
		}
		if c.Track != "" || c.Name == Relief { // the lift is of the bass track alone, and so moves what is between the tracks
			if math.Abs(*c.U-*was.U) > 2e-6 { // a zone's kinks see the reading in another order
				t.Errorf("%s: U %v, was %v", Words(s, c), *c.U, *was.U)
			}
		}
		if c.Name == Pitch || seen[c.Name] > 1 {
			continue
		}
		seen[c.Name]++
		if _, u, err := Budget(s, r, c); err != nil || math.Abs(u-*c.U) > 1e-9 {
			t.Errorf("%s: budget %v, propagated %v, %v", Words(s, c), u, *c.U, err)
		}
	}
}
