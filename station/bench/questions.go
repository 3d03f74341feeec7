package bench

import (
	"bytes"
	"fmt"
	"math"
	"time"

	"sagitta/batch"
	"sagitta/devices"
)

// bounce is how soon after a data-key press the same frame again may be the key's bounce rather than a second press.
const bounce = 400 * time.Millisecond

// jumpMM is a step between neighbouring crowns beyond anything a neck's shape allows.
const jumpMM = 2.0

// farCents is how far off its target a string's pitch may be typed without a question: a semitone.
const farCents = 100

// heldReading waits for a person's answer.
type heldReading struct {
	Held
	reading batch.Reading
}

// profileOf is a neck's crowns, kept to notice when the next neck repeats them.
type profileOf struct {
	serial string
	crowns map[string]float64
}

// bounced says that a press repeats the one before it so soon that it may be the key's bounce.
func bounced(before, press devices.Reading) bool {
	return before.Key && bytes.Equal(before.Raw, press.Raw) && press.At.Sub(before.At) < bounce
}

// hold keeps a reading aside until a person answers.
func (b *Bench) hold(p PointLine, reading batch.Reading, question string) {
	b.notice = nil // the question is what is to be read now
	b.held = &heldReading{
		Held:    Held{Point: p.Point, Words: p.Words, MM: reading.Value, Question: question},
		reading: reading,
	}
}

// question asks a person before a gauge's reading is used that its line or its travel makes doubtful, or that is
// implausible; empty when nothing is odd about it.
func (b *Bench) question(g *batch.Gauge, r devices.Reading, p PointLine, reading batch.Reading) string {
	for _, q := range []string{b.unitChanged(g, r), b.beyondTravel(g, r), b.signChanged(g, r, p)} {
		if q != "" {
			return q
		}
	}
	return b.implausible(p, reading)
}

// implausible asks about a value that no neck should give.
func (b *Bench) implausible(p PointLine, reading batch.Reading) string {
	mm := reading.Value
	switch p.Point.Kind {
	case batch.Crown:
		for _, other := range b.job.points {
			near := other.Point
			if near.Kind == batch.Crown && near.Track == p.Point.Track && other.Taken && abs(near.Fret-p.Point.Fret) == 1 &&
				math.Abs(other.Value-mm) > jumpMM {
				return fmt.Sprintf("%s is %s away from fret %d beside it: is the indicator on the crown?", lengthWords(mm), lengthWords(math.Abs(other.Value-mm)), near.Fret)
			}
		}
		return b.sameAsLast(p, mm)
	case batch.ActionHeight, batch.NutHeight:
		least := 0.05 // over fret 1; common practice, no source
		if p.Point.Kind == batch.ActionHeight && p.Point.Fret > 4 {
			least = 0.3 // far lower than anybody sets a string there
		}
		if mm < least || mm > 12 {
			return fmt.Sprintf("%s is no string height (%g to 12 mm): is the unit right, the gauge zeroed, and is it the right string?", lengthWords(mm), least)
		}
		return b.wrongOrder(p, mm)
	}
	return ""
}

// sameAsLast asks when the profile just completed repeats the one of the neck before, reading by reading: a sign that
// the same neck was measured twice or that the gauge no longer moves.
func (b *Bench) sameAsLast(p PointLine, mm float64) string {
	if b.previous == nil || b.previous.serial == b.job.inspection.Serial {
		return ""
	}
	n := 0
	for _, other := range b.job.points {
		if other.Point.Kind != batch.Crown {
			continue
		}
		v, taken := other.Value, other.Taken
		if other.Key == p.Key {
			v, taken = mm, true
		}
		old, ok := b.previous.crowns[other.Key]
		if !taken || !ok || old != v {
			return ""
		}
		n++
	}
	if n < 3 {
		return ""
	}
	return fmt.Sprintf("All %d crown readings equal those of %s. Is this another neck, and does the indicator move?", n, b.previous.serial)
}

// leafOrder refuses a leaf that passes though a thinner one does not, of the same track and round.
func (b *Bench) leafOrder(p PointLine, mm float64) error {
	other := p.Point
	switch p.Point.Kind {
	case batch.LeafPasses:
		other.Kind = batch.LeafStops
	case batch.LeafStops:
		other.Kind = batch.LeafPasses
	default:
		return nil
	}
	r := standing(b.job.readings)[Key(other)][b.job.roundOf(p.Key)]
	if r == nil || r.Withdrawn {
		return nil
	}
	if p.Point.Kind == batch.LeafStops && mm <= r.Value {
		return fmt.Errorf("the leaf that does not pass is thicker than the one that passes, %s; found %s", lengthWords(r.Value), lengthWords(mm))
	}
	if p.Point.Kind == batch.LeafPasses && mm >= r.Value {
		return fmt.Errorf("the leaf that passes is thinner than the one that does not, %s; found %s", lengthWords(r.Value), lengthWords(mm))
	}
	return nil
}

func abs(n int) int { return max(n, -n) }

// remember keeps the crowns of the neck that leaves the bench.
func (b *Bench) remember() {
	if b.job == nil {
		return
	}
	p := &profileOf{serial: b.job.inspection.Serial, crowns: map[string]float64{}}
	for _, pt := range b.job.points {
		if pt.Taken && pt.Point.Kind == batch.Crown {
			p.crowns[pt.Key] = pt.Value
		}
	}
	b.previous = p
}
