package bench

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/inspect"
)

// fresh is how old a streaming gauge's frame may be to be taken.
const fresh = time.Second

// Reading takes one decoded frame from a gauge's line. It returns once a data-key press is committed or refused.
func (b *Bench) Reading(r devices.Reading) {
	if b.collect(r) {
		return
	}
	b.frame(r.Key, func() error {
		g := b.gauge(r.Gauge)
		if g == nil {
			return nil
		}
		st := b.state(g.ID)
		if err := b.afterSilence(g, r); err != nil {
			return err
		}
		if !r.Value.IsNumber() {
			if err := b.statusFrame(g, r); err != nil {
				return err
			}
			if r.Key || b.live.GaugeID == g.ID {
				b.live = Live{GaugeID: g.ID, Name: g.Name, Status: r.Value.Status, Seq: b.live.Seq + 1}
			}
			if r.Key {
				return fmt.Errorf("the %s reports %s instead of a number: nothing was taken", g.Name, r.Value.Status)
			}
			return nil
		}
		st.last = r
		st.lifts(g, r)
		if err := b.answered(g, r); err != nil {
			return err
		}
		r.Key = r.Key && !b.unwanted(g, r) && !b.standsStill(g, false)
		if r.Key {
			b.stood(g, r)
		}
		if err := b.afterLowBattery(g, r); err != nil {
			return err
		}
		if r.Unrest != nil {
			b.sayUnrest(g, r.Unrest)
		}
		if b.check != nil && b.check.gauge.ID != g.ID && r.Key {
			return fmt.Errorf("the %s sent %s %s while the %s is being checked: it was not used. Finish or stop the check first%s",
				g.Name, r.Value.Digits, r.Value.Unit, b.check.gauge.Name, b.alike(g))
		}
		if b.check != nil && b.check.gauge.ID == g.ID {
			b.show(g, r)
			if !r.Key {
				return nil
			}
			previous := st.lastKey
			st.lastKey = r
			if bounced(previous, r) {
				return fmt.Errorf("the data key of the %s bounced: its second frame was not used for the check", g.Name)
			}
			st.lastUnit = r.Value.Unit
			return b.checkReading(context.Background(), r)
		}
		if b.study != nil && b.study.gauge.ID == g.ID {
			b.show(g, r)
			if !r.Key {
				return nil
			}
			return b.studyPress(context.Background(), r)
		}
		asked := b.askedPoint().GaugeID
		if asked == g.ID || (asked == "" && b.stage() == Idle) || b.live.GaugeID == "" {
			b.show(g, r)
		}
		if r.Key {
			return b.press(g, r)
		}
		return nil
	})
}

// Fault takes a stretch of bytes that gave no reading, and says so where somebody waits for that gauge.
func (b *Bench) Fault(f devices.Fault) {
	b.mu.Lock()
	g := b.gauge(f.Gauge)
	waiting := g != nil && b.sweep == nil &&
		(b.askedGauge() == g.ID || b.check != nil && b.check.gauge.ID == g.ID || b.study != nil && b.study.gauge.ID == g.ID)
	b.mu.Unlock()
	if !waiting {
		return
	}
	_ = b.do(func() error {
		switch {
		case f.Lost && f.Offset > 0:
			return fmt.Errorf("the %s sent %q after a piece that was no whole reading: it may lack its beginning and was not used: %s again if it was meant to be taken", g.Name, f.Raw, how(g))
		case f.Lost:
			return fmt.Errorf("the first line of the %s after it was connected may lack its beginning and was not used: %s again if it was meant to be taken", g.Name, how(g))
		}
		return fmt.Errorf("the %s sent %q, which is no whole reading (%s): nothing was taken. Once more: %s", g.Name, f.Raw, f.Why, how(g))
	})
}

// show puts a frame in the live reading.
func (b *Bench) show(g *batch.Gauge, r devices.Reading) {
	zero, _ := b.zero(g.ID)
	b.live = Live{GaugeID: g.ID, Name: g.Name, Fresh: true, Has: true, MM: g.Correct(r.Value.MM, b.askedPoint().XMM, zero), Seq: b.live.Seq + 1}
}

// askedGauge is the gauge of the point asked for, "" when none is or it is typed.
func (b *Bench) askedGauge() string {
	if b.job == nil {
		return ""
	}
	if i := b.job.next(); i >= 0 {
		return b.job.points[i].GaugeID
	}
	return ""
}

// press uses a data-key press for the point asked for, or says why not.
func (b *Bench) press(g *batch.Gauge, r devices.Reading) error {
	st := b.state(g.ID)
	previous := st.lastKey
	st.lastKey = r
	if b.held != nil {
		return fmt.Errorf("a reading is held with a question: answer it first. The %s's %s %s was not used", g.Name, r.Value.Digits, r.Value.Unit)
	}
	if b.job == nil {
		return fmt.Errorf("the %s sent %s %s, but no neck is on the bench: it was not used", g.Name, r.Value.Digits, r.Value.Unit)
	}
	if pair, _ := sweepPair(b.gauges); b.sweepTrack() != "" && pair.ID == g.ID {
		if bounced(previous, r) {
			return nil
		}
		return b.sweepKey(context.Background())
	}
	i := b.job.next()
	if i < 0 {
		return fmt.Errorf("the %s sent %s %s, but the routine is complete: it was not used", g.Name, r.Value.Digits, r.Value.Unit)
	}
	p := b.job.points[i]
	if p.GaugeID != g.ID {
		want := "typed in"
		if w := b.gauge(p.GaugeID); w != nil {
			want = "asked of the " + w.Name
		}
		return fmt.Errorf("the %s sent %s %s, but %s is %s: it was not used", g.Name, r.Value.Digits, r.Value.Unit, p.Words, want)
	}
	if why := b.locked(g); why != "" {
		return fmt.Errorf("the %s is locked out: %s. Check it, then measure %s", g.Name, why, p.Words)
	}
	reading := b.fromFrame(g, r, p)
	if bounced(previous, r) {
		b.hold(p, reading, fmt.Sprintf(
			"The same reading came twice within %d ms: a bounce of the data key, or a second press?", bounce.Milliseconds()))
		b.held.Bounce = true
		return nil
	}
	if q := b.question(g, r, p, reading); q != "" {
		b.hold(p, reading, q)
		return nil
	}
	return b.commit(context.Background(), reading)
}

// fromFrame makes the record's reading of a frame: corrected, with its own uncertainty and where it came from.
func (b *Bench) fromFrame(g *batch.Gauge, r devices.Reading, p PointLine) batch.Reading {
	zero, check := b.zero(g.ID)
	return batch.Reading{
		InspectionID: b.job.inspection.ID, Point: p.Point, Round: b.job.roundOf(p.Key), By: b.inspector, At: r.At,
		Value: g.Correct(r.Value.MM, p.XMM, zero), Supersedes: b.job.replaces(p.Key),
		U: g.U(), URepeat: g.URepeat(),
		GaugeID: g.ID, CheckID: check, Decoder: r.Decoder, Raw: r.Raw, Offset: r.Offset,
		Sent: r.Value.Digits, Unit: r.Value.Unit, Decoded: r.Value.MM,
		FeetMM: g.FeetMM, PlungerMM: g.PlungerMM,
	}
}

// roundOf is the round that a reading of this point belongs to: the present one, or the newest it was asked for in.
func (j *job) roundOf(key string) int {
	if j.asked[key] {
		return j.round
	}
	newest := 1
	for round := range standing(j.readings)[key] {
		newest = max(newest, round)
	}
	return newest
}

// replaces is the ID of the reading that a new one of this point supersedes, "" when it is the first of its round.
func (j *job) replaces(key string) string {
	if old := standing(j.readings)[key][j.roundOf(key)]; old != nil {
		return old.ID
	}
	return ""
}

// commit makes a reading durable and only then lets it count. A page that leaves meanwhile does not keep it, or the
// verdict that it completes, from the record.
func (b *Bench) commit(ctx context.Context, r batch.Reading) error {
	ctx = context.WithoutCancel(ctx)
	j := b.job
	if err := j.judgeable(r); err != nil {
		return err
	}
	done, err := b.rec.AppendReading(ctx, r)
	if err != nil {
		return fmt.Errorf("the reading of %s was NOT recorded: %w", r.Point.Words(), err)
	}
	if done.GaugeID != "" {
		b.state(done.GaugeID).lastUnit = done.Unit
	}
	j.readings = append(j.readings, done)
	j.chosen, j.verdict = "", nil
	b.notice = nil
	b.live.Fresh = false
	return b.progress(ctx)
}

// progress replays the readings and, once the routine is complete, records the verdict.
func (b *Bench) progress(ctx context.Context) error {
	j := b.job
	if err := j.replay(); err != nil {
		return err
	}
	if j.verdict == nil && j.waiting() < 0 {
		return b.conclude(ctx)
	}
	if len(j.doubted) > 0 { // this reading may have ended the neck's doubt
		return b.recount(ctx)
	}
	return nil
}

// Declare confirms that the instrument is at pitch, where the routine asks for it.
func (b *Bench) Declare(ctx context.Context) error {
	return b.do(func() error {
		if b.job == nil {
			return errNoNeck
		}
		if i := b.job.next(); i >= 0 && b.job.points[i].Point.Kind == batch.PitchDeclared {
			return b.declare(ctx, b.job.points[i])
		}
		return errors.New("pitch is not what is asked for now")
	})
}

func (b *Bench) declare(ctx context.Context, p PointLine) error {
	return b.commit(ctx, batch.Reading{
		InspectionID: b.job.inspection.ID, Point: p.Point, Round: b.job.roundOf(p.Key), By: b.inspector,
		Value: 1, Supersedes: b.job.replaces(p.Key),
	})
}

// typed uses a value typed for the point asked for.
func (b *Bench) typed(ctx context.Context, text string, v value) error {
	if b.held != nil {
		return errors.New("a reading is held with a question: answer it first")
	}
	i := b.job.next()
	if i < 0 {
		return fmt.Errorf("%s was typed, but the routine is complete: it was not used", text)
	}
	p := b.job.points[i]
	r := batch.Reading{
		InspectionID: b.job.inspection.ID, Point: p.Point, Round: b.job.roundOf(p.Key), By: b.inspector,
		Supersedes: b.job.replaces(p.Key), Sent: v.digits, Unit: v.unit,
	}
	switch p.Point.Kind {
	case batch.PitchDeclared:
		return fmt.Errorf("%s was typed, but %s is asked for: confirm it with Space", text, p.Words)
	case batch.Pitch:
		switch {
		case v.unit == "hz":
			for _, s := range b.job.spec.Strings {
				if s.Number == p.Point.String {
					if v.number <= 0 {
						return fmt.Errorf("%s: a pitch is more than 0 Hz", text)
					}
					r.Value = 1200 * math.Log2(v.number/s.PitchHz)
				}
			}
		case v.unit == "cents" || v.bare:
			r.Value, r.Unit = v.number, "cents"
		default:
			return fmt.Errorf("%s: %s is given in cents or Hz", text, p.Words)
		}
		if math.Abs(r.Value) > 1200 {
			return fmt.Errorf("%s: more than an octave away from the target: allowed is -1200 to 1200 cents. A frequency is typed with its unit, e.g. 82.4 Hz", text)
		}
		if math.Abs(r.Value) > farCents {
			b.hold(p, r, fmt.Sprintf("%+.1f cents is more than a semitone away: is it the right string, and is it cents? A frequency is typed with its unit, e.g. 82.4 Hz", r.Value))
			b.held.Cents = true
			return nil
		}
	default:
		mm, ok := v.mm()
		if !ok {
			return fmt.Errorf("%s: %s is a length, in mm or in", text, p.Words)
		}
		if math.Abs(mm) > 100 {
			return fmt.Errorf("%s: %s lies within 100 mm", text, p.Words)
		}
		r.Value, r.Decoded = mm, mm
		if g := b.gauge(p.GaugeID); g != nil {
			r.FeetMM, r.PlungerMM = g.FeetMM, g.PlungerMM
		}
		if err := b.leafOrder(p, mm); err != nil {
			return err
		}
		q := b.implausible(p, r)
		if g := b.gauge(p.GaugeID); q == "" && g != nil && b.locked(g) != "" {
			q = fmt.Sprintf("The %s is locked out: %s. Was this measured with another gauge that is in order? It is recorded as typed", g.Name, b.locked(g))
		}
		if q != "" {
			b.hold(p, r, q)
			return nil
		}
	}
	if err := b.commit(ctx, r); err != nil {
		return err
	}
	if b.job != nil && b.job.verdict == nil {
		taken := lengthWords(r.Value)
		if p.Point.Kind == batch.Pitch {
			taken = fmt.Sprintf("%+.1f cents", r.Value)
		}
		b.say(false, fmt.Sprintf("Taken: %s, %s.", p.Words, taken))
	}
	return nil
}

// Answer uses or discards the held reading.
func (b *Bench) Answer(ctx context.Context, use bool) error {
	return b.do(func() error { return b.answer(ctx, use) })
}

func (b *Bench) answer(ctx context.Context, use bool) error {
	h := b.held
	if h == nil {
		return errors.New("no reading is held")
	}
	b.held = nil
	if !use {
		b.say(false, h.Words+": not used. Measure it again.")
		return nil
	}
	if g := b.gauge(h.reading.GaugeID); g != nil && b.locked(g) != "" {
		b.held = h
		return fmt.Errorf("the %s is locked out: %s. %s is not used: discard it, check the gauge, then measure it again", g.Name, b.locked(g), h.Words)
	}
	h.reading.Reason = "used after the question: " + h.Question
	taken := len(b.job.readings)
	err := b.commit(ctx, h.reading)
	if err != nil && len(b.job.readings) == taken {
		b.held = h // it was not recorded: the question stands, and may be answered again
	}
	return err
}

// Skip notes that the point asked for cannot be measured.
func (b *Bench) Skip(ctx context.Context) error {
	ctx = context.WithoutCancel(ctx)
	return b.do(func() error {
		if b.job == nil {
			return errNoNeck
		}
		i := b.job.next()
		if i < 0 {
			return errors.New("the routine is complete: nothing is asked for")
		}
		if b.sweep != nil {
			return errSweeping
		}
		if b.held != nil {
			return errors.New("a reading is held with a question: answer it first")
		}
		p := b.job.points[i]
		const reason = "cannot be measured"
		round := b.job.roundOf(p.Key)
		var rows []batch.Reading // a reading that stands is taken back in the same commit
		if old := standing(b.job.readings)[p.Key][round]; old != nil {
			rows = append(rows, b.takenBack(*old, reason))
		}
		return b.keep(ctx, p.Point.Words()+" was NOT marked as not to be measured", append(rows, batch.Reading{
			InspectionID: b.job.inspection.ID, Point: p.Point, Round: round, By: b.inspector, Withdrawn: true, Reason: reason,
		}))
	})
}

// withdraw takes a reading back: the record keeps it with the row that says so.
func (b *Bench) withdraw(ctx context.Context, r batch.Reading, reason string) error {
	return b.withdrawAll(ctx, []batch.Reading{r}, reason)
}

// withdrawAll takes readings back together, all or none.
func (b *Bench) withdrawAll(ctx context.Context, readings []batch.Reading, reason string) error {
	j := b.job
	rows := make([]batch.Reading, len(readings))
	for i, r := range readings {
		rows[i] = b.takenBack(r, reason)
	}
	back, err := b.rec.AppendReadings(ctx, rows)
	if err == nil {
		j.readings = append(j.readings, back...)
	}
	return err
}

// takenBack is the row that says that a reading no longer counts.
func (b *Bench) takenBack(r batch.Reading, reason string) batch.Reading {
	return batch.Reading{
		InspectionID: b.job.inspection.ID, Point: r.Point, Round: r.Round, By: b.inspector,
		Withdrawn: true, Supersedes: r.ID, Reason: reason,
	}
}

// Undo takes the newest standing reading back; the record keeps it as superseded. It opens a verdict again unless
// rework has been recorded since.
func (b *Bench) Undo(ctx context.Context) error {
	return b.do(func() error { return b.undo(context.WithoutCancel(ctx)) }) // it is done whole, whether the page stays or not
}

func (b *Bench) undo(ctx context.Context) error {
	if b.study != nil {
		return b.undoStudy(ctx)
	}
	if b.held != nil {
		return b.answer(ctx, false)
	}
	if b.sweep != nil {
		b.sweep = nil
		b.say(false, "The pass was thrown away; nothing of it was recorded.")
		return nil
	}
	j := b.job
	if j == nil {
		return errNoNeck
	}
	if len(j.rework) > 0 {
		return errors.New("rework is recorded against this verdict: it can no longer be taken back")
	}
	var last *batch.Reading
	for _, rounds := range standing(j.readings) {
		for _, r := range rounds {
			if last == nil || r.Seq > last.Seq {
				last = r
			}
		}
	}
	if last == nil {
		return errors.New("nothing has been taken yet")
	}
	if j.verdict != nil && j.inspection.State == batch.Finished {
		if err := b.rec.SetInspectionState(ctx, b.inspector, j.inspection.ID, batch.Open, "last reading taken back"); err != nil {
			return err
		}
		j.inspection.State = batch.Open
	}
	what := last.Point.Words() + " taken back. Measure it again."
	if pass := j.passOf(last); len(pass) > 1 {
		what = fmt.Sprintf("The pass along the %s is taken back, %d crowns. Sweep it again.", inspect.Side(last.Point.Track), len(pass)-1)
		if err := b.withdrawAll(ctx, pass, "pass taken back"); err != nil {
			return err
		}
		j.swept = nil
	} else if err := b.withdraw(ctx, *last, "taken back"); err != nil {
		return err
	}
	j.verdict = nil
	j.chosen = ""
	if err := b.progress(ctx); err != nil {
		return err
	}
	b.say(false, what)
	return b.recount(ctx)
}
