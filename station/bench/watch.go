package bench

import (
	"context"
	"fmt"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/devices"
)

// shortStop is how long the station may have been stopped without its gauges having to be checked: a restart of the
// program, during which nobody carries a gauge away, as against a night. A gauge that is not found connected afterwards
// is locked out however short the stop was.
const shortStop = 3 * time.Minute

// unwatched notes, after a stop of the station, that nobody watched the gauges' lines meanwhile: a gauge may have been
// unplugged, switched off or dropped. The end of the watch is the record's newest entry, which is never later than the
// true end, so that a station that was killed while idle asks for a check rather than for none.
func (b *Bench) unwatched(ctx context.Context) error {
	last, err := b.rec.LastSeen(ctx)
	if err != nil {
		return err
	}
	if last.IsZero() || b.now().Sub(last) <= shortStop {
		return nil
	}
	for i := range b.gauges {
		if b.gauges[i].ByEye() { // it has no line to be watched
			continue
		}
		e := batch.GaugeEvent{What: batch.CheckNotWatched, Detail: fmt.Sprintf("was not watched from %s to %s, while the station was stopped", b.clock(last), b.clock(b.now()))}
		if err := b.happened(ctx, &b.gauges[i], e); err != nil {
			return err
		}
	}
	return nil
}

// happened records what happened to a gauge since its newest check, once: what is no graver than what is known already needs no
// row, unless a person says so. A check that is running has to begin again.
func (b *Bench) happened(ctx context.Context, g *batch.Gauge, e batch.GaugeEvent) error {
	if c, on := b.state.(checking); on && c.Gauge.ID == g.ID {
		b.say(true, fmt.Sprintf("The %s %s during its check: begin the check again.", g.Name, e.Detail))
		b.uncover()
	}
	l := b.line(g.ID)
	known := l.event != nil && g.Gravest([]batch.GaugeEvent{*l.event, e}).What == l.event.What
	if e.By == "" && (l.check == nil || known) {
		return nil
	}
	e.GaugeID, e.At = g.ID, b.now()
	if !known {
		l.event = &e // it is locked out whether the row can be kept or not
	}
	kept, err := b.rec.AppendGaugeEvent(ctx, e)
	if err != nil || e.What != batch.CheckDrop {
		return err
	}
	b.say(true, tell.Dropped(g.Name, kept, l.goodAt))
	if kept.Doubted == 0 {
		return nil
	}
	return b.reloadDoubt(ctx)
}

// Health takes what a gauge's line reports. A gauge that was lost, or is not there, must be checked before it is used
// again: it may have been dropped, and its zero with it.
func (b *Bench) Health(h devices.Health) {
	_ = b.do(context.Background(), func() error {
		l := b.line(h.Gauge)
		was := l.health
		l.health = h
		l.low = l.low || h.State == devices.StateLowBattery
		if h.State != devices.StateLive && b.live.GaugeID == h.Gauge {
			b.live.Fresh = false
		}
		g := b.gauge(h.Gauge)
		if g == nil {
			return nil
		}
		e, lost := lossOf(was, h)
		if lost || h.State == devices.StateSilent {
			b.sweepLost(g)
		}
		if !lost {
			return nil
		}
		return b.lost(g, was, e)
	})
}

// lost takes note that a gauge was not watched; was is its line's health before.
func (b *Bench) lost(g *batch.Gauge, was devices.Health, e batch.GaugeEvent) error {
	l := b.line(g.ID)
	l.stands = nil // nobody saw whether it was moved
	if g.Serves(batch.Crown) || g.Serves(batch.Position) {
		if err := b.layingEnds(context.Background(), b.neck(), batch.Interruption{Kind: batch.GaugeLost, Of: g.Name}); err != nil {
			return err
		}
	}
	if b.live.GaugeID == g.ID {
		b.live.Has = false
	}
	if l.health.State == devices.StateUnplugged && was.State != devices.StateUnplugged {
		l.unplugged = b.now()
		text := b.justUnplugged() + " unplugged."
		if said := b.lostWords(); said != "" {
			text += " " + said
		}
		text += " " + b.toDo(g)
		if n := b.neck(); n != nil {
			text = n.withSaid(text)
		}
		b.say(true, text)
	}
	e.Detail += " at " + b.clock(b.now())
	return b.happened(context.Background(), g, e)
}

// justUnplugged names the gauges that went together: those of one line are told of one after the other.
func (b *Bench) justUnplugged() string {
	var names []string
	for i := range b.gauges {
		l := b.line(b.gauges[i].ID)
		if l.health.State == devices.StateUnplugged && b.now().Sub(l.unplugged) < 2*time.Second {
			names = append(names, "the "+b.gauges[i].Name)
		}
	}
	verb := " is"
	if len(names) > 1 {
		verb = " are"
	}
	words := strings.Join(names, " and ") + verb
	return strings.ToUpper(words[:1]) + words[1:]
}

// lossOf says whether a change of a line's health means that the gauge was not watched, and what happened to it.
func lossOf(was, now devices.Health) (e batch.GaugeEvent, lost bool) {
	switch now.State {
	case devices.StateUnplugged:
		return batch.GaugeEvent{What: batch.CheckReconnect, Detail: "was unplugged"}, true
	case devices.StateMissing:
		return batch.GaugeEvent{What: batch.CheckReconnect, Detail: "was not connected"}, true
	case devices.StateBusy, devices.StateDenied, devices.StateFailed, devices.StateAlike:
		return batch.GaugeEvent{What: batch.CheckNotWatched, Detail: "could not be watched"}, true
	}
	if was.Gauge != "" && now.Reconnections > was.Reconnections {
		return batch.GaugeEvent{What: batch.CheckReconnect, Detail: "was connected again"}, true
	}
	return e, false
}

// afterLowBattery takes a reading without a warning after one with: the battery may have been changed, and the zero
// with it.
func (b *Bench) afterLowBattery(g *batch.Gauge, r devices.Reading) error {
	l := b.line(g.ID)
	if r.Value.Status == "low battery" {
		l.low = true
		return nil
	}
	if !l.low {
		return nil
	}
	l.low = false
	return b.happened(context.Background(), g, batch.GaugeEvent{What: batch.CheckBattery, Detail: "reported a low battery before " + b.clock(r.At)})
}

// afterSilence takes the first reading after a silence in which the gauge may have been switched off, and its zero lost.
func (b *Bench) afterSilence(g *batch.Gauge, r devices.Reading) error {
	l := b.line(g.ID)
	c, on := b.state.(checking)
	if r.SilentSince.IsZero() || l.check == nil && !(on && c.Gauge.ID == g.ID) || g.OnlyPlaces() {
		return nil // a gauge that was never checked needs a check anyway
	}
	from, to := b.clock(r.SilentSince), b.clock(r.At)
	if from == to {
		from, to = r.SilentSince.Local().Format("15:04:05"), r.At.Local().Format("15:04:05")
	}
	if !on {
		b.say(true, fmt.Sprintf("The %s was silent from %s to %s: it may have been switched off. Check it before it is used.", g.Name, from, to))
	}
	return b.happened(context.Background(), g, batch.GaugeEvent{What: batch.CheckSilence,
		Detail: fmt.Sprintf("was silent from %s to %s, so that it may have been switched off,", from, to)})
}

// alike warns, where the gauge under check and the one that answered have the same kind of adapter, that they may have
// changed places.
func (s checking) alike(g *batch.Gauge) string {
	c := &s.Gauge
	if g.USBVendor == "" || g.USBVendor != c.USBVendor || g.USBProduct != c.USBProduct || g.USBSerial != c.USBSerial {
		return ""
	}
	return fmt.Sprintf(". Their adapters are alike: if it was the %s that you pressed, the two have changed sockets", c.Name)
}
