package instrument

import (
	"math"

	"sagitta/inspect"
)

// Wish is how a player wants an instrument in one respect, from a few plain choices.
type Wish string

// The wishes for action, and for how hard the strings are played, which says how much relief they need.
const (
	AsItIs Wish = ""      // no wish: the limits stay
	Usual  Wish = "usual" // a template's limits
	Low    Wish = "low"   // action
	High   Wish = "high"  // action
	Light  Wish = "light"
	Hard   Wish = "hard"
)

// span is a range, mm.
type span struct{ low, high float64 }

// ranges are what the trade aims at for a kind of instrument, mm; common practice, no source. Relief is that between fret 1 and the joint, at
// pitch; action is half the width of what is usual at fret 12, of the outermost bass and treble string.
type ranges struct {
	tight, usual span
	most         float64 // relief beyond which it is refused
	bass, treble float64
}

func rangesOf(kind string) ranges {
	switch kind {
	case inspect.SteelAcoustic:
		return ranges{span{0.05, 0.10}, span{0.10, 0.25}, 0.38, 0.2, 0.2}
	case inspect.Classical:
		return ranges{span{0.05, 0.10}, span{0.08, 0.25}, 0.6, 0.3, 0.2}
	case inspect.BassGuitar:
		return ranges{span{0.10, 0.20}, span{0.25, 0.40}, 0.60, 0.4, 0.3}
	}
	return ranges{span{0.05, 0.15}, span{0.15, 0.30}, 0.45, 0.2, 0.2}
}

// Wished moves the limits of a template's specification by the player's wishes, inside what the trade has for the kind of instrument: low action
// is from the template's lower limit to where usual begins, high from where usual ends to its upper limit; a light hand bears the tight
// relief, a hard one wants that at the upper end of usual. Every other wish leaves them.
func Wished(spec *inspect.Spec, action, hand Wish) {
	of, last := rangesOf(spec.Neck.Kind), len(spec.Strings)
	for i := range spec.Limits {
		switch l := &spec.Limits[i]; {
		case l.Characteristic == inspect.Action && l.LowerMM != nil && l.TargetMM != nil && l.UpperMM != nil && last > 1:
			part := float64(l.String.Number-1) / float64(last-1) // 0 the outermost on the treble side
			half := of.treble + part*(of.bass-of.treble)
			switch action {
			case Low:
				within(l, span{*l.LowerMM, to(100, *l.TargetMM-half)}, 0.5)
			case High:
				within(l, span{to(100, *l.TargetMM+half), *l.UpperMM}, 0.5)
			}
		case l.Characteristic == inspect.Relief:
			switch hand {
			case Light:
				within(l, of.tight, 0.5)
			case Hard:
				within(l, span{of.usual.low, of.most}, (of.usual.high-of.usual.low)/(of.most-of.usual.low))
			}
		}
	}
}

// within gives a limit its bounds, with the target at a part of the way between.
func within(l *inspect.Limit, s span, part float64) {
	target := to(100, s.low+part*(s.high-s.low))
	if math.Abs(s.high-s.low) < 0.06 { // of so narrow a one the middle has three decimals
		target = to(1000, s.low+part*(s.high-s.low))
	}
	l.LowerMM, l.TargetMM, l.UpperMM = &s.low, &target, &s.high
}
