package bench

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/station/bench/gate"
)

// shelf is the station's gauges: their entries, and what is known of each beside.
type shelf struct {
	rec    Gauges
	gauges []batch.Gauge
	lines  map[string]*line
}

// line is what the bench knows of one gauge with its entry in the record.
type line struct {
	unplugged time.Time // when its line was last lost
	health    devices.Health
	check     *batch.GaugeCheck // newest, nil when it was never checked
	goodAt    time.Time         // of the newest check that passed, zero before one
	event     *batch.GaugeEvent // what happened to it since its newest check, nil when nothing did
	low       bool              // it has reported a low battery since its newest check
	last      devices.Reading   // newest frame with a number
	lastUnit  string            // unit of its newest accepted reading
	lastKey   devices.Reading   // newest data-key press, or frame taken by foot switch, to tell a bounce
	stands    *stand            // where a gauge that sends all the time was read last, nil once it was lifted since
	restless  string            // what the bench has said does not come to rest; a want's purpose
	askedFor  string            // what it was asked for and has not answered yet, "" when nothing; a want's purpose
}

// used says that a frame is the one that was taken last.
func (l *line) used(r devices.Reading) bool {
	return r.At.Equal(l.lastKey.At) && r.Offset == l.lastKey.Offset
}

// load reads the gauges and their newest checks.
func (s *shelf) load(ctx context.Context) error {
	all, err := s.rec.Gauges(ctx)
	if err != nil {
		return err
	}
	all = slices.DeleteFunc(all, func(g batch.Gauge) bool { return !g.RetiredAt.IsZero() })
	for _, g := range all {
		l := s.line(g.ID)
		checks, err := s.rec.GaugeChecks(ctx, g.ID)
		if err != nil {
			return err
		}
		l.check, l.goodAt = nil, time.Time{}
		for i := range checks {
			l.check = &checks[i]
			if checks[i].Good {
				l.goodAt = checks[i].At
			}
		}
		events, err := s.rec.EventsSinceCheck(ctx, g.ID)
		if err != nil {
			return err
		}
		l.event = g.Gravest(events)
	}
	s.gauges = all
	return nil
}

// line is what is known of a gauge.
func (s *shelf) line(id string) *line {
	if s.lines[id] == nil {
		s.lines[id] = &line{}
	}
	return s.lines[id]
}

// gauge is a gauge's entry, nil when it is not in use at the station.
func (s *shelf) gauge(id string) *batch.Gauge {
	for i := range s.gauges {
		if s.gauges[i].ID == id {
			return &s.gauges[i]
		}
	}
	return nil
}

// inUse is a gauge's entry, an error when it is not in use at the station.
func (s *shelf) inUse(id string) (*batch.Gauge, error) {
	if g := s.gauge(id); g != nil {
		return g, nil
	}
	return nil, batch.Absent.Errorf("this gauge is not in use at the station")
}

// zero is the gauge's zero in force, mm.
func (s *shelf) zero(id string) (mm float64, checkID string) {
	if c := s.line(id).check; c != nil {
		return c.ZeroMM, c.ID
	}
	return 0, ""
}

// standing is what decides whether a gauge may be in verdicts.
func (s *shelf) standing(g *batch.Gauge) gate.Standing {
	l := s.line(g.ID)
	return gate.Standing{Gauge: g, Check: l.check, Event: l.event}
}

// locked says why a gauge may not be used for a verdict now; empty when it may.
func (b *Bench) locked(g *batch.Gauge) string { return gate.Why(b.standing(g), b.moment()) }

// needsCheck says whether a check of the gauge is needed now.
func (b *Bench) needsCheck(g *batch.Gauge) bool { return gate.Due(b.standing(g), b.moment()) != "" }

// ReloadGauges takes up gauges that were added, changed or retired. A check or study of one that was changed goes on
// with its new entry, the check from its beginning; of one that was retired it ends.
func (b *Bench) ReloadGauges(ctx context.Context) error {
	return b.do(ctx, func() error {
		before := slices.Clone(b.gauges)
		if err := b.shelf.load(ctx); err != nil {
			return err
		}
		if err := b.changedEntries(ctx, before); err != nil {
			return err
		}
		b.renewCheck()
		b.renewStudy()
		return b.reload(ctx)
	})
}

// changedEntries notes that a gauge has to be checked under its new entry.
func (b *Bench) changedEntries(ctx context.Context, before []batch.Gauge) error {
	for i := range b.gauges {
		g := &b.gauges[i]
		if !slices.ContainsFunc(before, func(old batch.Gauge) bool { return old.ID == g.ID && !readsAlike(&old, g) }) {
			continue
		}
		e := batch.GaugeEvent{What: batch.CheckEntry, Detail: "was given another correction, reference, sense or decoder at " + b.clock(b.now())}
		if err := b.happened(ctx, g, e); err != nil {
			return err
		}
	}
	return nil
}

// readsAlike says whether two entries of a gauge make the same height of the same frame. Where they do not, the zero that
// was read by one is none for the other.
func readsAlike(a, b *batch.Gauge) bool {
	return a.Sense == b.Sense && a.Decoder == b.Decoder && slices.Equal(a.Calibration, b.Calibration) && slices.Equal(a.Reference, b.Reference)
}

// renewCheck begins a running check again with its gauge's entry as it is now; of one that is out of use it ends.
func (b *Bench) renewCheck() {
	c, on := b.state.(checking)
	if !on {
		return
	}
	b.uncover()
	if g := b.gauge(c.Gauge.ID); g != nil {
		b.cover(checking{Check: &gate.Check{Gauge: *g, After: c.After, Before: c.Before}, then: c.then})
	}
}

// renewStudy goes on with a study with its gauge's entry as it is now; of one that is out of use it leaves the bench.
func (b *Bench) renewStudy() {
	s, on := b.base().(studying)
	if !on {
		return
	}
	if g := b.gauge(s.gauge.ID); g != nil {
		s.gauge = *g
		return
	}
	b.become(b.rest())
	b.say(true, fmt.Sprintf("The %s is out of use: its study is off the bench. What was read is kept.", s.gauge.Name))
}

// gaugeLines describes every gauge for the page's strip.
func (b *Bench) gaugeLines() []GaugeLine {
	lines := make([]GaugeLine, 0, len(b.gauges))
	for i := range b.gauges {
		lines = append(lines, b.gaugeLine(&b.gauges[i]))
	}
	return lines
}

// gaugeLine describes one gauge.
func (b *Bench) gaugeLine(g *batch.Gauge) GaugeLine {
	known := b.line(g.ID)
	l := GaugeLine{ID: g.ID, Name: g.Name, State: string(known.health.State), Since: known.health.Since, ToDo: b.toDo(g), How: how(g), ByEye: g.ByEye()}
	switch {
	case g.ByEye():
		l.State = string(devices.StateLive)
	case l.State == "":
		l.State = string(devices.StateMissing) // its line has not been opened yet
	}
	l.Words = g.Name + " " + l.State
	if g.ByEye() {
		l.Words = g.Name + ", read by eye"
	}
	if known.check != nil && known.check.Good {
		l.Words += ", zeroed " + b.clock(known.check.At)
	}
	if known.health.FootSwitch != "" {
		l.ToDo = strings.TrimSpace(l.ToDo + " " + known.health.FootSwitch)
	}
	if why := b.locked(g); why != "" {
		b.lockOut(&l, g, why)
	}
	return l
}

// toDo is what a person can do about a gauge's line. Nobody saw whether one that was unplugged was moved.
func (b *Bench) toDo(g *batch.Gauge) string {
	h := b.line(g.ID).health
	if h.State == devices.StateUnplugged && h.ToDo != "" && !g.NoCheck() {
		return h.ToDo + " It needs a check then."
	}
	return h.ToDo
}

// lockOut says of a gauge's line that it is out of verdicts, why, since when and what to do.
func (b *Bench) lockOut(l *GaugeLine, g *batch.Gauge, why string) {
	health := b.line(g.ID).health.State
	l.Locked, l.Due = true, b.needsCheck(g)
	l.Words, l.LockedWhy = g.Name+" locked out: "+why, why
	l.LockedSince = gate.Since(b.standing(g), b.moment())
	if l.ToDo == "" || b.reachable(g) {
		l.ToDo = "Have it calibrated and enter the new certificate on its page."
		if !g.CertificateOverdue(b.now()) {
			l.ToDo = checkToDo(g)
		}
	}
	if b.reachable(g) && health != devices.StateLowBattery {
		l.State = "locked out"
	}
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
