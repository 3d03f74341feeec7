package bench

import (
	"context"
	"fmt"
	"math"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/bench/routine"
)

// farCents is how far off its target a string's pitch may be typed without a question: a semitone.
const farCents = 100

// typed uses a value typed for the point asked for.
func (b *Bench) typed(ctx context.Context, n *neck, text string, v value) error {
	p, err := b.askedNow(ctx, n)
	if err != nil {
		return err
	}
	r := b.reading(n, p)
	r.Sent, r.Unit = v.digits, v.unit
	question := Question{}
	switch p.Point.Kind {
	case batch.PitchDeclared:
		return batch.Mendable.Errorf("%s was typed, but %s is asked for: confirm it with Space", text, p.Words)
	case batch.Pitch:
		question, err = n.typedPitch(p, text, v, &r)
	default:
		question, err = b.typedLength(n, p, text, v, &r)
	}
	if err != nil {
		return err
	}
	if question.Asks != "" {
		return b.raise(n, p, r, question)
	}
	if err := b.commit(ctx, n, r); err != nil {
		return err
	}
	if n.verdict == nil {
		taken := lengthWords(r.Value)
		if p.Point.Kind == batch.Pitch {
			taken = inspect.Number(r.Value, 1, true) + " cents"
		} else if r.U > 0 {
			taken += " ± " + unit.Millimetre.Length(2*r.U, 2, false)
			if g := b.gauge(r.GaugeID); g != nil && g.Kind == batch.RulerGauge {
				taken += ", by ruler"
			}
		}
		b.say(false, n.withSaid(fmt.Sprintf("Taken: %s, %s.", p.Words, taken)))
	}
	return nil
}

// typedPitch fills in a string's pitch: cents from its target, or its frequency.
func (n *neck) typedPitch(p *routine.Point, text string, v value, r *batch.Reading) (question Question, err error) {
	switch {
	case v.expanded != nil:
		return question, batch.Mendable.Errorf("%s: a pitch is typed without its uncertainty, in cents or Hz", text)
	case v.unit == "hz" && v.number <= 0:
		return question, batch.Mendable.Errorf("%s: a pitch is more than 0 Hz", text)
	case v.unit == "hz":
		r.Value = n.centsOf(p.Point.String, v.number)
	case v.unit == "cents" || v.bare:
		r.Value, r.Unit = v.number, "cents"
	default:
		return question, batch.Mendable.Errorf("%s: %s is given in cents or Hz", text, p.Words)
	}
	if math.Abs(r.Value) > 1200 {
		return question, batch.Mendable.Errorf("%s: more than an octave away from the target: allowed is from −1200 to 1200 cents. A frequency is typed with its unit, e.g. 82.4 Hz", text)
	}
	if math.Abs(r.Value) > farCents {
		question.Cents = true
		question.Asks = fmt.Sprintf("%s cents is more than a semitone away: is it the right string, and is it cents? A frequency is typed with its unit, e.g. 82.4 Hz", inspect.Number(r.Value, 1, true))
	}
	return question, nil
}

// centsOf is how far a frequency lies from a string's target.
func (n *neck) centsOf(number int, hz float64) float64 {
	for _, s := range n.Spec.Strings {
		if s.Number == number {
			return 1200 * math.Log2(hz/s.PitchHz)
		}
	}
	return 0
}

// typedLength fills in a height or the thickness of a leaf.
func (b *Bench) typedLength(n *neck, p *routine.Point, text string, v value, r *batch.Reading) (question Question, err error) {
	mm, ok := v.mm()
	if !ok {
		return question, batch.Mendable.Errorf("%s: %s is a length, in mm or in", text, p.Words)
	}
	if math.Abs(mm) > 100 {
		return question, batch.Mendable.Errorf("%s: %s lies within 100 mm", text, p.Words)
	}
	r.Value, r.Decoded = mm, mm
	if r.U, err = v.u(p.Point.Kind); err != nil {
		return question, err
	}
	g := b.gauge(p.GaugeID)
	if g != nil {
		r.FeetMM, r.PlungerMM = g.FeetMM, g.PlungerMM
	}
	eye := b.byEye(p)
	if eye != nil {
		if err := b.readByEye(eye, p, mm, r); err != nil {
			return question, err
		}
	}
	if err := n.leafOrder(p, mm); err != nil {
		return question, err
	}
	if question.Asks = b.implausible(n, p, r.Value); question.Asks == "" {
		question.Asks = n.leafAsked(p, v.leaves(mm), eye)
	}
	if question.Asks == "" && g != nil && eye == nil {
		if why := b.locked(g); why != "" {
			question.Asks = fmt.Sprintf("The %s is locked out: %s. Was this measured with another gauge that is in order? It is recorded as typed", g.Name, why)
		}
	}
	return question, nil
}
