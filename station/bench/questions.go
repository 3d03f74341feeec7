package bench

import (
	"fmt"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/station/bench/routine"
)

// questionedReading waits for a person's answer.
type questionedReading struct {
	Question
	reading batch.Reading
}

// profileOf is a neck's crowns, kept to notice when the next neck repeats them.
type profileOf struct {
	serial string
	crowns map[string]float64
}

// raise keeps a reading aside until a person answers; how says what is asked.
func (b *Bench) raise(n *neck, p *routine.Point, reading batch.Reading, how Question) error {
	b.notice = nil // the question is what is to be read now
	how.Point, how.Words, how.MM = p.Point, p.Words, reading.Value
	b.become(questioned{n, questionedReading{how, reading}})
	return nil
}

// shown is the question's part of the snapshot.
func (s questioned) shown(b *Bench, shot *Snapshot) {
	s.neck.shown(b, shot)
	asked := s.question.Question
	shot.Question = &asked
}

// doubtful asks a person before a gauge's reading is used that its line or its travel makes doubtful, or that is
// implausible; empty when nothing is odd about it.
func (b *Bench) doubtful(n *neck, p *routine.Point, g *batch.Gauge, r devices.Reading, reading batch.Reading) string {
	for _, q := range []string{b.unitChanged(n, g, r), b.beyondTravel(n, g, r), n.signChanged(p, g, r)} {
		if q != "" {
			return q
		}
	}
	return b.implausible(n, p, reading.Value)
}

// A string's height over a crown, mm, that is asked about because nobody sets a string so; common practice, no source.
const (
	leastAtNut  = 0.05 // lower, over frets 1 to 4
	leastAction = 0.3  // lower, over the others
	mostAction  = 12.0 // higher, over any
)

// implausible asks about a value that no neck should give. A crown that the others make implausible is asked about once it is taken
// (routine.ToAsk).
func (b *Bench) implausible(n *neck, p *routine.Point, mm float64) string {
	switch p.Point.Kind {
	case batch.Crown:
		return b.previous.same(n, p, mm)
	case batch.ActionHeight, batch.NutHeight:
		least := leastAtNut
		if p.Point.Kind == batch.ActionHeight && p.Point.Fret > 4 {
			least = leastAction
		}
		if mm < least || mm > mostAction {
			return fmt.Sprintf("%s is no string height (from %g to %g mm): is the unit right, the gauge zeroed, and is it the right string?", lengthWords(mm), least, mostAction)
		}
		return n.wrongOrder(p, mm)
	}
	return ""
}

// same asks when the profile just completed repeats the one of the neck before, reading by reading: a sign that
// the same neck was measured twice or that the gauge no longer moves.
func (before *profileOf) same(n *neck, p *routine.Point, mm float64) string {
	if before == nil || before.serial == n.Inspection.Serial {
		return ""
	}
	crowns := 0
	for _, other := range n.Points {
		if other.Point.Kind != batch.Crown {
			continue
		}
		v, taken := other.Value, other.Taken
		if other.Key == p.Key {
			v, taken = mm, true
		}
		old, ok := before.crowns[other.Key]
		if !taken || !ok || old != v {
			return ""
		}
		crowns++
	}
	if crowns < 3 {
		return ""
	}
	return fmt.Sprintf("All %d crown readings equal those of %s. Is this another neck, and does the indicator move?", crowns, before.serial)
}

// leafOrder refuses a leaf that passes though a thinner one does not, of the same track and round.
func (n *neck) leafOrder(p *routine.Point, mm float64) error {
	other := p.Point
	switch p.Point.Kind {
	case batch.LeafPasses:
		other.Kind = batch.LeafStops
	case batch.LeafStops:
		other.Kind = batch.LeafPasses
	default:
		return nil
	}
	r := n.Stands(routine.Key(other))
	if r == nil || r.Withdrawn {
		return nil
	}
	if p.Point.Kind == batch.LeafStops && mm <= r.Value {
		return batch.Mendable.Errorf("the leaf that does not pass is thicker than the one that passes, %s; found %s", lengthWords(r.Value), lengthWords(mm))
	}
	if p.Point.Kind == batch.LeafPasses && mm >= r.Value {
		return batch.Mendable.Errorf("the leaf that passes is thinner than the one that does not, %s; found %s", lengthWords(r.Value), lengthWords(mm))
	}
	return nil
}

func abs(n int) int { return max(n, -n) }

// remember keeps the crowns of the neck that leaves the bench.
func (b *Bench) remember(n *neck) {
	p := &profileOf{serial: n.Inspection.Serial, crowns: map[string]float64{}}
	for _, point := range n.Points {
		if point.Taken && point.Point.Kind == batch.Crown {
			p.crowns[point.Key] = point.Value
		}
	}
	b.previous = p
}
