package bench

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/devices"
)

// gaugeState is what the bench knows of one gauge beside its entry in the record.
type gaugeState struct {
	unplugged time.Time // when its line was last lost
	health    devices.Health
	check     *batch.GaugeCheck // newest, nil when it was never checked
	goodAt    time.Time         // of the newest good check, zero before one
	event     *batch.GaugeEvent // what befell it since its newest check, nil when nothing did
	low       bool              // it has reported a low battery since its newest check
	last      devices.Reading   // newest frame with a number
	lastUnit  string            // unit of its newest accepted reading
	lastKey   devices.Reading   // newest data-key press, or frame taken by foot switch, to tell a bounce
	stands    *stand            // where a gauge taken at rest was read last, nil once it was lifted since
	restless  string            // what the bench has said does not come to rest; see purpose
	askedFor  string            // what it was asked for and has not answered yet, "" when nothing; see purpose
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
	all = slices.DeleteFunc(all, func(g batch.Gauge) bool { return !g.RetiredAt.IsZero() })
	for _, g := range all {
		st := b.state(g.ID)
		checks, err := b.rec.GaugeChecks(ctx, g.ID)
		if err != nil {
			return err
		}
		st.check, st.goodAt = nil, time.Time{}
		for i := range checks {
			st.check = &checks[i]
			if checks[i].Good {
				st.goodAt = checks[i].At
			}
		}
		if st.event, err = b.rec.EventSinceCheck(ctx, g.ID); err != nil {
			return err
		}
	}
	b.gauges = all
	return nil
}

// ReloadGauges takes up gauges that were added, changed or retired. A check or study of one that was changed goes on
// with its new entry, the check from its beginning; of one that was retired it ends.
func (b *Bench) ReloadGauges(ctx context.Context) error {
	return b.do(func() error {
		before := b.gauges
		if err := b.loadGauges(ctx); err != nil {
			return err
		}
		for i := range b.gauges {
			g := &b.gauges[i]
			if !slices.ContainsFunc(before, func(old batch.Gauge) bool { return old.ID == g.ID && !readsAlike(&old, g) }) {
				continue
			}
			e := batch.GaugeEvent{What: batch.CheckEntry, Detail: "was given another correction, reference, sense or decoder at " + b.clock(b.now())}
			if err := b.befell(ctx, g, e); err != nil {
				return err
			}
		}
		if c := b.check; c != nil {
			b.check = nil
			if g := b.gauge(c.gauge.ID); g != nil {
				b.check = &checkRun{gauge: *g, after: c.after, then: c.then}
			}
		}
		if s := b.study; s != nil {
			if g := b.gauge(s.gauge.ID); g != nil {
				s.gauge = *g
			} else {
				b.study = nil
				b.say(true, fmt.Sprintf("The %s is out of use: its study is off the bench. What was read is kept.", s.gauge.Name))
			}
		}
		if b.job != nil {
			return b.reload(ctx)
		}
		return nil
	})
}

// readsAlike says whether two entries of a gauge make the same height of the same frame. Where they do not, the zero that
// was read by one is none for the other.
func readsAlike(a, b *batch.Gauge) bool {
	return a.Sense == b.Sense && a.Decoder == b.Decoder && slices.Equal(a.Calibration, b.Calibration) && slices.Equal(a.Reference, b.Reference)
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
		l := GaugeLine{ID: g.ID, Name: g.Name, State: string(st.health.State), Since: st.health.Since, ToDo: st.health.ToDo, How: how(g)}
		if l.State == "" {
			l.State = string(devices.StateMissing) // its line has not been opened yet
		}
		l.Words = g.Name + " " + l.State
		if st.check != nil && st.check.Good {
			l.Words += ", zeroed " + b.clock(st.check.At)
		}
		if st.health.FootSwitch != "" {
			l.ToDo = strings.TrimSpace(l.ToDo + " " + st.health.FootSwitch)
		}
		if why := b.locked(g); why != "" {
			l.Locked = true
			cause, _ := b.needs(g)
			l.Due = cause != ""
			l.Words = g.Name + " locked out: " + why
			l.LockedSince = b.lockedSince(g)
			if l.ToDo == "" || connected(st.health.State) {
				l.ToDo = "Have it calibrated and enter the new certificate on its page."
				if !g.CertificateOverdue(b.now()) {
					l.ToDo = checkToDo(g)
				}
			}
			if connected(st.health.State) && st.health.State != devices.StateLowBattery {
				l.State = "locked out"
			}
		}
		lines = append(lines, l)
	}
	return lines
}

// checkToDo says what a check of the gauge takes.
func checkToDo(g *batch.Gauge) string {
	switch len(g.Masters) {
	case 0:
		return "Check it: zero on the flat reference."
	case 1:
		return "Check it: zero on the flat reference, then one reading of the master."
	}
	return fmt.Sprintf("Check it: zero on the flat reference, then one reading of each of its %d masters.", len(g.Masters))
}

// clock is the local time, with the date when it is not today.
func (b *Bench) clock(t time.Time) string {
	local, now := t.Local(), b.now().Local()
	if local.YearDay() == now.YearDay() && local.Year() == now.Year() {
		return local.Format("15:04")
	}
	return local.Format("2006-01-02 15:04")
}
