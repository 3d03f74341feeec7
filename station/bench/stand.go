package bench

import (
	"math"
	"time"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/station/bench/routine"
)

// stand is one placement of a gauge that sends all the time. It serves one purpose: what was read there must not be read once more
// for the point after it. A rest needs a lift to be another placement; for a press it is enough that the gauge has left the place: a
// dip between two frets, a move up as onto a master, the carriage's way, or another reading.
type stand struct {
	mm      float64 // what it read, growing as the surface rises
	purpose string
	words   string   // what was read there
	place   *float64 // where the carriage's encoder was, mm; nil where there is none
	below   int      // frames in a row that lie clear below
	above   int      // and clear above
	left    bool     // it was clear of its place since
	newest  time.Time
}

const (
	slowly = 200 * time.Millisecond // of a gauge that sends less often one frame shows that it has left its place
	wayMM  = 4.0                    // the carriage's way that is another fret; the nearest two on a neck are 7 mm apart
)

// clearOf is a fall that leaves no doubt that the gauge was lifted, mm; see the rest of a placement in the package devices.
func clearOf(g *batch.Gauge) float64 { return max(0.2, 20*g.ResolutionMM) }

// rising is a frame's height, growing as the surface rises.
func rising(g *batch.Gauge, r devices.Reading) float64 {
	return math.Copysign(1, float64(g.Sense)) * r.Value.MM
}

// rested says that a reading came by itself at the gauge's rest. A pressed key is a wish.
func rested(g *batch.Gauge, r devices.Reading) bool {
	return g.Capture == devices.CaptureSettled && r.Key && !(g.KeyChannel != "" && r.Value.Channel == g.KeyChannel)
}

// stood notes what a reading is used for.
func (b *Bench) stood(g *batch.Gauge, r devices.Reading, words string) {
	if g.Streams() {
		b.line(g.ID).stands = &stand{mm: rising(g, r), purpose: b.state.wants(b).purpose, words: words, place: b.placeOf(g), newest: r.At}
	}
}

// placeOf is where the carriage stands of which a gauge is the indicator, nil where nobody knows.
func (b *Bench) placeOf(g *batch.Gauge) *float64 {
	indicator, encoder := routine.Carriage(b.gauges)
	if indicator == nil || encoder == nil || indicator.ID != g.ID {
		return nil
	}
	last := b.line(encoder.ID).last
	if last.At.IsZero() {
		return nil
	}
	return &last.Value.MM
}

// servesAnother says that the gauge was read for another purpose and not lifted since.
func (b *Bench) servesAnother(g *batch.Gauge) bool {
	s := b.line(g.ID).stands
	return s != nil && s.purpose != b.state.wants(b).purpose
}

// standsStill says of a press that the gauge stands where it was read for another purpose, and what was read there.
func (b *Bench) standsStill(g *batch.Gauge, r devices.Reading) (words string, still bool) {
	if !b.servesAnother(g) {
		return "", false
	}
	s := b.line(g.ID).stands
	if now := b.placeOf(g); now != nil && s.place != nil && math.Abs(*now-*s.place) > wayMM {
		return "", false
	}
	return s.words, !s.left && math.Abs(rising(g, r)-s.mm) <= clearOf(g)
}

// usedAgain lets what stands where it was read serve the present purpose too: a person said so.
func (b *Bench) usedAgain(gaugeID string) {
	if s := b.line(gaugeID).stands; s != nil {
		s.purpose = b.state.wants(b).purpose
	}
}

// leaves sees in a frame whether the gauge has left its place: one frame alone may be a disturbance on a fast line.
func (l *line) leaves(g *batch.Gauge, r devices.Reading) {
	s := l.stands
	if s == nil {
		return
	}
	mm, enough := rising(g, r), 2
	if r.At.Sub(s.newest) > slowly {
		enough = 1
	}
	s.newest = r.At
	if s.below++; mm >= s.mm-clearOf(g) {
		s.below = 0
	}
	if s.above++; mm <= s.mm+clearOf(g) {
		s.above = 0
	}
	s.left = s.left || max(s.above, s.below) >= enough
	if s.below > 1 {
		l.stands = nil
	}
}
