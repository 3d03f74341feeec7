package bench

import (
	"context"
	"fmt"
	"time"

	"sagitta/batch"
	"sagitta/devices"
)

// gaugeState is what the bench knows of one gauge beside its entry in the record.
type gaugeState struct {
	health   devices.Health
	check    *batch.GaugeCheck // newest, nil when it was never checked
	dropped  time.Time         // when it was last lost, or came back, since the station started
	last     devices.Reading   // newest frame with a number
	lastUnit string            // unit of its newest accepted reading
	lastKey  devices.Reading   // newest data-key press, or frame taken by foot switch, to tell a bounce
}

// used says that a frame is the one that was taken last.
func (st *gaugeState) used(r devices.Reading) bool {
	return r.At.Equal(st.lastKey.At) && r.Offset == st.lastKey.Offset
}

// loadGauges reads the gauges and their newest checks.
func (b *Bench) loadGauges(ctx context.Context) error {
	all, err := b.rec.Gauges(ctx)
	if err != nil {
		return err
	}
	b.gauges = nil
	for _, g := range all {
		if !g.RetiredAt.IsZero() {
			continue
		}
		b.gauges = append(b.gauges, g)
		st := b.state(g.ID)
		if st.check, err = b.rec.LatestCheck(ctx, g.ID); err != nil {
			return err
		}
	}
	return nil
}

// ReloadGauges takes up gauges that were added, changed or retired.
func (b *Bench) ReloadGauges(ctx context.Context) error {
	return b.do(func() error {
		if err := b.loadGauges(ctx); err != nil {
			return err
		}
		if b.job != nil {
			return b.reload(ctx)
		}
		return nil
	})
}

// reload rebuilds the neck on the bench from the record.
func (b *Bench) reload(ctx context.Context) error {
	rework := b.job.rework
	j, err := b.load(ctx, b.job.inspection)
	if err == nil {
		j.rework = rework
	}
	return err
}

func (b *Bench) state(id string) *gaugeState {
	if b.line[id] == nil {
		b.line[id] = &gaugeState{}
	}
	return b.line[id]
}

func (b *Bench) gauge(id string) *batch.Gauge {
	for i := range b.gauges {
		if b.gauges[i].ID == id {
			return &b.gauges[i]
		}
	}
	return nil
}

// Health takes what a gauge's line reports. A gauge that was lost, or is not there, must be checked before it is used
// again: it may have been dropped, and its zero with it.
func (b *Bench) Health(h devices.Health) {
	_ = b.do(func() error {
		st := b.state(h.Gauge)
		was := st.health
		st.health = h
		if h.State != devices.StateLive && b.live.GaugeID == h.Gauge {
			b.live.Fresh = false
		}
		lost := h.State == devices.StateUnplugged || h.State == devices.StateMissing || (was.Gauge != "" && h.Reconnections > was.Reconnections)
		if lost {
			st.dropped = b.now()
			if b.live.GaugeID == h.Gauge {
				b.live.Has = false
			}
			if g := b.gauge(h.Gauge); g != nil && h.State == devices.StateUnplugged && was.State != devices.StateUnplugged {
				b.say(true, fmt.Sprintf("The %s is unplugged. Nothing taken so far is lost. %s", g.Name, h.ToDo))
			}
			if b.check != nil && b.check.gauge.ID == h.Gauge {
				b.say(true, fmt.Sprintf("The %s was lost during its check: begin the check again.", b.check.gauge.Name))
				b.check = nil
			}
		}
		return nil
	})
}

// locked says why a gauge may not be used for a verdict now; empty when it may.
func (b *Bench) locked(g *batch.Gauge) string {
	st := b.state(g.ID)
	now := b.now()
	switch {
	case !g.CertificateDue.IsZero() && now.After(g.CertificateDue):
		return "its calibration was due on " + g.CertificateDue.Local().Format("2006-01-02")
	case st.check == nil:
		return "it has never been checked"
	case !st.check.Good:
		return "its last check failed: " + st.check.Why
	case st.dropped.After(st.check.At):
		return "it was not connected at " + st.dropped.Local().Format("15:04") + ", after its last check"
	case g.CheckHours > 0 && now.Sub(st.check.At) > time.Duration(g.CheckHours*float64(time.Hour)):
		return fmt.Sprintf("its last check was at %s and holds %g hours", st.check.At.Local().Format("2006-01-02 15:04"), g.CheckHours)
	}
	return ""
}

// zero is the gauge's zero in force, mm.
func (b *Bench) zero(id string) (mm float64, checkID string) {
	if c := b.state(id).check; c != nil {
		return c.ZeroMM, c.ID
	}
	return 0, ""
}

// gaugeLines describes every gauge for the page's strip.
func (b *Bench) gaugeLines() []GaugeLine {
	lines := make([]GaugeLine, 0, len(b.gauges))
	for i := range b.gauges {
		g := &b.gauges[i]
		st := b.state(g.ID)
		l := GaugeLine{ID: g.ID, Name: g.Name, State: string(st.health.State), Since: st.health.Since, ToDo: st.health.ToDo}
		if l.State == "" {
			l.State = string(devices.StateMissing) // its line has not been opened yet
		}
		l.Words = g.Name + " " + l.State
		if st.check != nil && st.check.Good {
			l.Words += ", zeroed " + b.clock(st.check.At)
		}
		if why := b.locked(g); why != "" {
			l.Locked = true
			l.Words = g.Name + " locked out: " + why
			if l.ToDo == "" {
				l.ToDo = "Check it: zero on the flat reference"
				if g.MasterMM > 0 {
					l.ToDo += ", then one reading of the master"
				}
				l.ToDo += "."
			}
			if st.health.State == devices.StateLive || st.health.State == devices.StateWaiting {
				l.State = "locked out"
			}
		}
		lines = append(lines, l)
	}
	return lines
}

// clock is the local time, with the date when it is not today.
func (b *Bench) clock(t time.Time) string {
	local, now := t.Local(), b.now().Local()
	if local.YearDay() == now.YearDay() && local.Year() == now.Year() {
		return local.Format("15:04")
	}
	return local.Format("2006-01-02 15:04")
}
