package bench

import (
	"bytes"
	"context"
	"fmt"
	"time"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/station/bench/routine"
)

// bounce is how soon after a data-key press the same frame again may be the key's bounce rather than a second press.
const bounce = 400 * time.Millisecond

// bounced says that a press repeats the one before it so soon that it may be the key's bounce.
func bounced(before, press devices.Reading) bool {
	return before.Key && bytes.Equal(before.Raw, press.Raw) && press.At.Sub(before.At) < bounce
}

// bouncedKey notes a gauge's press and says whether it bounced.
func (b *Bench) bouncedKey(g *batch.Gauge, r devices.Reading) bool {
	l := b.line(g.ID)
	before := l.lastKey
	l.lastKey = r
	return bounced(before, r)
}

// press uses a data-key press for the point asked for, or says why not.
func (s measuring) press(b *Bench, g *batch.Gauge, r devices.Reading) error {
	twice := b.bouncedKey(g, r)
	if indicator, _ := routine.Carriage(b.gauges); s.sweepTrack(b.gauges) != "" && indicator.ID == g.ID {
		if twice {
			return nil
		}
		return b.beginSweep(s.neck)
	}
	p, err := b.askedNow(context.Background(), s.neck)
	if err != nil {
		return b.notUsed(g, r, err)
	}
	if p.GaugeID != g.ID {
		wanted := "typed in"
		if p.Point.Kind == batch.PitchDeclared {
			wanted = "confirmed with Space"
		} else if w := b.gauge(p.GaugeID); w != nil {
			wanted = "asked of the " + w.Name
		}
		return b.notUsed(g, r, batch.Conflict.Errorf("%s is %s", p.Words, wanted))
	}
	if why := b.locked(g); why != "" {
		return batch.Conflict.Errorf("the %s is locked out: %s. Check it, then measure %s", g.Name, why, p.Words)
	}
	reading := b.fromFrame(s.neck, p, g, r)
	if twice {
		return b.raise(s.neck, p, reading, Question{Bounce: true, Asks: fmt.Sprintf(
			"The same reading came twice within %d ms: a bounce of the data key, or a second press?", bounce.Milliseconds())})
	}
	words, still := b.standsStill(g, r)
	if !still {
		b.stood(g, r, p.Words)
	}
	q := b.doubtful(s.neck, p, g, r, reading)
	if q == "" && still {
		q = fmt.Sprintf("The %s has not left its place since it read %s. Does it stand on %s now?", g.Name, words, p.Words)
	}
	if q != "" {
		return b.raise(s.neck, p, reading, Question{Asks: q})
	}
	return b.commit(context.Background(), s.neck, reading)
}

// fromFrame makes the record's reading of a frame: corrected, with its own uncertainty and where it came from.
func (b *Bench) fromFrame(n *neck, p *routine.Point, g *batch.Gauge, r devices.Reading) batch.Reading {
	zero, check := b.zero(g.ID)
	reading := b.reading(n, p)
	reading.At, reading.Value = r.At, g.Correct(r.Value.MM, p.AlongMM, zero)
	reading.U, reading.URepeat = g.U(), g.URepeat()
	reading.GaugeID, reading.CheckID, reading.Decoder, reading.Raw, reading.Offset = g.ID, check, r.Decoder, r.Raw, r.Offset
	reading.Sent, reading.Unit, reading.Decoded = r.Value.Digits, r.Value.Unit, r.Value.MM
	reading.FeetMM, reading.PlungerMM = g.FeetMM, g.PlungerMM
	return reading
}
