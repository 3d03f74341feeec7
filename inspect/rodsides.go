package inspect

import (
	"fmt"
	"math"
)

// unevenMM is a difference of the sides that is said beside a step of the rod; common practice, no source.
const unevenMM = 0.15

// shifts is what the limited reliefs allow a common change of all of them to be, mm: not below least, where track low binds, nor
// above most, where high does. Infinite where no limit binds.
type shifts struct {
	least, most float64
	low, high   *Characteristic
}

// shifts returns what the rod, which moves all tracks alike, may change relief by to bring every limited track inside.
func (e *evaluation) shifts(res *Result) shifts {
	s := shifts{least: math.Inf(-1), most: math.Inf(1)}
	for i := range res.Characteristics {
		c := &res.Characteristics[i]
		if c.Name != Relief || c.Zone == NoLimit || c.Value == nil {
			continue
		}
		if c.Lower != nil && *c.Lower-*c.Value > s.least {
			s.least, s.low = *c.Lower-*c.Value, c
		}
		if c.Upper != nil && *c.Upper-*c.Value < s.most {
			s.most, s.high = *c.Upper-*c.Value, c
		}
	}
	return s
}

// oneRod says that one rod cannot even the sides: their difference is outside its own limits, or no common shift of the limited reliefs
// brings every one inside its limits, and what is missing exceeds two standard uncertainties of the difference of the two that bind; ""
// where it can, or that cannot be told.
func (e *evaluation) oneRod(res *Result) string {
	for i := range res.Characteristics {
		if c := &res.Characteristics[i]; c.Name == SideDifference && c.Zone == Nonconforming {
			return "One rod moves all sides alike and cannot even them: they differ by " + e.spec.length(math.Abs(*c.Value))
		}
	}
	s := e.shifts(res)
	missing := s.least - s.most
	if s.low == nil || s.high == nil || !(missing > 0) {
		return ""
	}
	var u float64
	for _, c := range []*Characteristic{s.low, s.high} {
		if c.U != nil {
			u = math.Hypot(u, *c.U)
		}
	}
	if missing <= 2*u {
		return ""
	}
	return fmt.Sprintf("One rod moves all sides alike and cannot even them: with %s at its lower limit, %s would still be %s above its upper one",
		Words(e.spec, *s.low), Words(e.spec, *s.high), e.spec.length(missing))
}

// unevenWords says that the sides differ by more than the rod can be blamed for, "" where they do not.
func (e *evaluation) unevenWords(res *Result) string {
	least, most := math.Inf(1), math.Inf(-1)
	for i := range res.Characteristics {
		if c := &res.Characteristics[i]; c.Name == Relief && c.Value != nil {
			least, most = min(least, *c.Value), max(most, *c.Value)
		}
	}
	if !(most-least > unevenMM) {
		return ""
	}
	return fmt.Sprintf("The sides differ by %s: the rod moves them alike and leaves that as it is", e.spec.length(most-least))
}

// leastTurn is a sixteenth, positive tightened, where the mean relief is nearer to its target than that and yet a sixteenth brings
// every limited track inside; 0 where none does.
func (e *evaluation) leastTurn(res *Result, k float64) float64 {
	s := e.shifts(res)
	for _, turns := range []float64{1.0 / 16, -1.0 / 16} {
		if shift := -turns * k; k > 0 && shift >= s.least && shift <= s.most && (s.least > 0 || s.most < 0) {
			return turns
		}
	}
	return 0
}
