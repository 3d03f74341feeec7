package bench

import (
	"math"

	"sagitta/batch"
	"sagitta/devices"
)

// stand is one placement of a gauge whose readings are taken at rest. It serves one purpose: what was read by hand before
// the gauge rested must not be read once more by the rest, for the point after it, nor the other way round.
type stand struct {
	mm      float64 // what it read, growing as the surface rises
	purpose string
	below   int  // frames in a row that lie clear below
	above   int  // and clear above
	moved   bool // it was clear above: enough for a wish by hand, as where it is slid onto a master; a rest needs a lift
}

// clearOf is a fall that leaves no doubt that the gauge was lifted, mm; see the rest of a placement in the package devices.
func clearOf(g *batch.Gauge) float64 { return max(0.2, 20*g.ResolutionMM) }

// stood notes what a reading is used for.
func (b *Bench) stood(g *batch.Gauge, r devices.Reading) {
	if g.Capture == devices.CaptureSettled {
		b.line(g.ID).stands = &stand{mm: math.Copysign(1, float64(g.Sense)) * r.Value.MM, purpose: b.state.wants(b).purpose}
	}
}

// standsStill says that the gauge stands where it was read for another purpose; by hand a move up is as good as a lift.
func (b *Bench) standsStill(g *batch.Gauge, byHand bool) bool {
	s := b.line(g.ID).stands
	return s != nil && s.purpose != b.state.wants(b).purpose && !(byHand && s.moved)
}

// lifts sees in a frame whether the gauge was lifted: one frame alone may be a disturbance on the line.
func (l *line) lifts(g *batch.Gauge, r devices.Reading) {
	s := l.stands
	if s == nil {
		return
	}
	mm := math.Copysign(1, float64(g.Sense)) * r.Value.MM
	if s.below++; mm >= s.mm-clearOf(g) {
		s.below = 0
	}
	if s.above++; mm <= s.mm+clearOf(g) {
		s.above = 0
	}
	if s.moved = s.moved || s.above > 1; s.below > 1 {
		l.stands = nil
	}
}
