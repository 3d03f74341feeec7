package bench

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/inspect"
)

// OpenBatch takes a batch to the bench. Refused while a neck is being measured.
func (b *Bench) OpenBatch(ctx context.Context, number string) error {
	return b.do(func() error {
		if b.unsettled() {
			return fmt.Errorf("%s has no verdict yet: finish or park it before another batch is opened", b.job.inspection.Serial)
		}
		bt, err := b.rec.Batch(ctx, strings.TrimSpace(number))
		if err != nil {
			return err
		}
		if !bt.ClosedAt.IsZero() {
			return fmt.Errorf("batch %s was closed on %s: it takes no more readings", bt.Number, bt.ClosedAt.Local().Format("2006-01-02"))
		}
		b.remember()
		b.batch, b.job, b.held = &bt, nil, nil
		return errors.Join(b.listParked(ctx), b.recount(ctx))
	})
}

// SetInspector says who works at the bench; the name must be in the record's list of people.
func (b *Bench) SetInspector(ctx context.Context, name string) error {
	return b.do(func() error {
		p, err := b.person(ctx, name)
		if err != nil {
			return err
		}
		b.inspector = p.Name
		return nil
	})
}

func (b *Bench) person(ctx context.Context, name string) (batch.Person, error) {
	people, err := b.rec.People(ctx)
	if err != nil {
		return batch.Person{}, err
	}
	var known []string
	for _, p := range people {
		if strings.EqualFold(p.Name, strings.TrimSpace(name)) {
			return p, nil
		}
		known = append(known, p.Name)
	}
	if len(known) == 0 {
		return batch.Person{}, errors.New("nobody is entered yet: add the inspector on the People page")
	}
	return batch.Person{}, fmt.Errorf("%q is not entered on the People page; entered are %s", name, strings.Join(known, ", "))
}

// SetClimate notes the room's climate, for the neck on the bench and those that follow.
func (b *Bench) SetClimate(ctx context.Context, c inspect.Climate) error {
	return b.do(func() error {
		if c.TemperatureC != nil && !(*c.TemperatureC > -20 && *c.TemperatureC < 60) {
			return fmt.Errorf("temperature %g °C: a room's lies between -20 and 60 °C", *c.TemperatureC)
		}
		if c.HumidityPercent != nil && !(*c.HumidityPercent >= 0 && *c.HumidityPercent <= 100) {
			return fmt.Errorf("humidity %g %%: it lies between 0 and 100 %%", *c.HumidityPercent)
		}
		if b.job != nil && b.job.inspection.State != batch.Finished {
			if err := b.rec.SetClimate(ctx, b.inspector, b.job.inspection.ID, c); err != nil {
				return err
			}
			b.job.inspection.Climate = c
		}
		b.climate = c
		return nil
	})
}

// Entry takes what was typed or scanned: a serial number, or a value for the point asked for. A value without a unit
// of its own is in the given unit ("mm" or "in"; cents where pitch is asked for).
func (b *Bench) Entry(ctx context.Context, text, unit string) error {
	return b.do(func() error {
		text = strings.TrimSpace(text)
		if text == "" {
			return nil
		}
		if b.stage() == Measuring {
			if v, ok := parseValue(text, unit); ok && !b.looksLikeSerial(text) {
				return b.typed(ctx, text, v)
			}
			if _, err := b.rec.Neck(ctx, text); errors.Is(err, record.ErrUnknownSerial) && !b.looksLikeSerial(text) {
				return fmt.Errorf(`%q is neither a value nor a serial number; a value is typed like 0.25, .25, 0,25, 0.010" or 0.5 in`, text)
			}
		}
		return b.scan(ctx, text)
	})
}

// looksLikeSerial tells a serial number made of digits alone from a value.
func (b *Bench) looksLikeSerial(text string) bool {
	if b.batch == nil || b.batch.Pattern == "" {
		return false
	}
	re, err := b.batch.SerialPattern()
	return err == nil && re.MatchString(text)
}

// scan brings a neck to the bench: starts its next attempt, or resumes the one that is parked or was interrupted.
func (b *Bench) scan(ctx context.Context, serial string) error {
	if b.batch == nil {
		return errNoBatch
	}
	if err := b.noStudy(); err != nil {
		return err
	}
	if b.inspector == "" {
		return errors.New("nobody has signed on at the bench: choose the inspector first")
	}
	if b.unsettled() {
		if b.job.inspection.Serial == serial {
			b.say(false, serial+" is already on the bench.")
			return nil
		}
		if b.stage() == PersonDecides {
			return fmt.Errorf("%q was entered, but %s waits for a person's decision: decide, or park it (F4)", serial, b.job.inspection.Serial)
		}
		return fmt.Errorf("%q was entered while %s is being measured: park it (F4) or finish it first", serial, b.job.inspection.Serial)
	}
	neck, err := b.rec.Neck(ctx, serial)
	if errors.Is(err, record.ErrUnknownSerial) && b.looksLikeSerial(serial) {
		// The batch's pattern lets a neck register itself by coming to the bench.
		added, addErr := b.rec.AddNecks(ctx, b.inspector, b.batch.ID, []string{serial})
		if addErr != nil {
			return addErr
		}
		neck, err = added[0], nil
	}
	if err != nil {
		return err
	}
	if neck.BatchID != b.batch.ID {
		return fmt.Errorf("%s belongs to batch %s, but batch %s is on the bench: take %s there on its page to inspect it",
			neck.Serial, neck.BatchNumber, b.batch.Number, neck.BatchNumber)
	}
	before, err := b.rec.Inspections(ctx, neck.ID)
	if err != nil {
		return err
	}
	for _, in := range before {
		if in.State == batch.Open || in.State == batch.Parked {
			return b.unpark(ctx, in)
		}
	}
	return b.start(ctx, neck)
}

// start begins a neck's next attempt.
func (b *Bench) start(ctx context.Context, neck batch.Neck) error {
	spec := b.batch.Spec.Spec.WithDefaults()
	before, err := b.rec.Inspections(ctx, neck.ID)
	if err != nil {
		return err
	}
	handed := ""
	if n := len(before); n > 0 {
		handed = before[n-1].Handed
	}
	in, err := b.rec.StartInspection(ctx, batch.Inspection{
		NeckID: neck.ID, Inspector: b.inspector, Climate: b.climate, Posture: spec.Routine.Posture, Handed: handed,
	})
	if err != nil {
		return err
	}
	b.held = nil
	if _, err := b.load(ctx, in); err != nil {
		return err
	}
	b.live.Fresh = false
	b.say(false, fmt.Sprintf("%s, attempt %d.", in.Serial, in.Attempt))
	return errors.Join(b.listParked(ctx), b.recount(ctx))
}

// unpark takes an open or parked inspection to the bench, where it was.
func (b *Bench) unpark(ctx context.Context, in batch.Inspection) error {
	if in.State == batch.Parked {
		if err := b.rec.SetInspectionState(ctx, b.inspector, in.ID, batch.Open, "taken up again"); err != nil {
			return err
		}
		in.State = batch.Open
	}
	b.held = nil
	j, err := b.load(ctx, in)
	if err != nil {
		return err
	}
	b.say(false, fmt.Sprintf("%s, attempt %d, goes on where it was: %d of %d points are done.", in.Serial, in.Attempt, j.done(), len(j.points)))
	return errors.Join(b.listParked(ctx), b.recount(ctx))
}

// Park sets the neck aside while it settles.
func (b *Bench) Park(ctx context.Context, reason string) error {
	return b.do(func() error {
		if b.job == nil {
			return errNoNeck
		}
		if b.stage() == Decided {
			return fmt.Errorf("%s has its verdict: nothing is left to park", b.job.inspection.Serial)
		}
		if reason = strings.TrimSpace(reason); reason == "" {
			reason = "settling"
		}
		if err := b.rec.SetInspectionState(ctx, b.inspector, b.job.inspection.ID, batch.Parked, reason); err != nil {
			return err
		}
		b.say(false, b.job.inspection.Serial+" is parked. Its serial number brings it back.")
		b.remember()
		b.job, b.held = nil, nil
		return errors.Join(b.listParked(ctx), b.recount(ctx))
	})
}

// Abandon gives up the inspection on the bench, with a reason. Its readings stay
// in the record; the neck's next inspection is another attempt.
func (b *Bench) Abandon(ctx context.Context, reason string) error {
	return b.do(func() error {
		if b.job == nil {
			return errNoNeck
		}
		if b.stage() == Decided {
			return fmt.Errorf("%s has its verdict: nothing is left to give up", b.job.inspection.Serial)
		}
		if reason = strings.TrimSpace(reason); reason == "" {
			return errors.New("giving an inspection up needs its reason in words")
		}
		if err := b.rec.SetInspectionState(ctx, b.inspector, b.job.inspection.ID, batch.Abandoned, reason); err != nil {
			return err
		}
		b.say(false, fmt.Sprintf("%s, attempt %d, is given up. Its readings stay in the record.", b.job.inspection.Serial, b.job.inspection.Attempt))
		b.job, b.held = nil, nil
		return errors.Join(b.listParked(ctx), b.recount(ctx))
	})
}

// Clear ends with the neck on the bench; the next serial number may come. Refused while it is being measured.
func (b *Bench) Clear(ctx context.Context) error {
	return b.do(func() error { return b.clear(ctx) })
}

func (b *Bench) clear(ctx context.Context) error {
	if b.job == nil {
		return nil
	}
	if b.unsettled() {
		return fmt.Errorf("%s has no verdict yet: finish it, or park it (F4)", b.job.inspection.Serial)
	}
	b.remember()
	b.job, b.held, b.notice = nil, nil, nil
	return b.listParked(ctx)
}

// Again begins the next attempt at the neck whose verdict is on the bench.
func (b *Bench) Again(ctx context.Context) error {
	return b.do(func() error {
		if b.job == nil {
			return errNoNeck
		}
		if b.stage() != Decided {
			return fmt.Errorf("%s has no verdict yet: this attempt goes on", b.job.inspection.Serial)
		}
		if err := b.noStudy(); err != nil {
			return err
		}
		neck, err := b.rec.Neck(ctx, b.job.inspection.Serial)
		if err != nil {
			return err
		}
		return b.start(ctx, neck)
	})
}

// Choose asks for a point out of turn; its reading replaces the one it has. Chosen again it is no longer asked for.
func (b *Bench) Choose(_ context.Context, key string) error {
	return b.do(func() error {
		if b.job == nil {
			return errNoNeck
		}
		if b.stage() == Decided {
			return fmt.Errorf("the verdict on %s is recorded: undo (F2) opens it again", b.job.inspection.Serial)
		}
		for _, p := range b.job.points {
			if p.Key == key {
				b.held = nil
				if b.job.chosen == key {
					key = ""
				}
				b.job.chosen = key
				return nil
			}
		}
		return fmt.Errorf("the routine has no point %q", key)
	})
}

// Decide records a person's disposition with its reason; a concession, and any word against what was computed, needs one.
func (b *Bench) Decide(ctx context.Context, d inspect.Disposition, by, reason string) error {
	return b.do(func() error {
		j := b.job
		if j == nil {
			return errNoNeck
		}
		if j.verdict == nil {
			return fmt.Errorf("%s is still being measured: a person decides on a complete routine", j.inspection.Serial)
		}
		if b.held != nil {
			return errors.New("a reading is held with a question: answer it first")
		}
		if len(j.rework) > 0 {
			return fmt.Errorf("rework is recorded on %s since this verdict: inspect it again (F6) before anybody decides", j.inspection.Serial)
		}
		switch d {
		case inspect.Pass, inspect.Rework, inspect.Repair, inspect.Scrap, inspect.Concession:
		default:
			return fmt.Errorf("%q is no disposition; allowed are pass, rework, repair, scrap and concession", d)
		}
		p, err := b.person(ctx, by)
		if err != nil {
			return err
		}
		reason = strings.TrimSpace(reason)
		if reason == "" {
			return errors.New("a decision by a person needs its reason in words")
		}
		if _, err := b.rec.Neck(ctx, reason); err == nil {
			return fmt.Errorf("the reason %q is a serial number: a scan went into the wrong field", reason)
		}
		if d == inspect.Pass && !j.result.Conforms && j.result.Disposition != inspect.Remeasure {
			return fmt.Errorf("%s does not conform: releasing it is a concession, not a pass", j.inspection.Serial)
		}
		if d == inspect.Concession && p.Role != batch.QualityManager {
			return fmt.Errorf("a concession is granted by a quality manager; %s is entered as %s", p.Name, p.Role)
		}
		v, err := b.rec.AppendVerdict(ctx, batch.Verdict{
			InspectionID: j.inspection.ID, Result: j.result, Disposition: d, DecidedBy: p.Name, Reason: reason,
		})
		if err != nil {
			return err
		}
		j.verdict, j.chosen, j.inspection.State = &v, "", batch.Finished
		b.say(false, fmt.Sprintf("%s: %s, decided by %s.", j.inspection.Serial, d, p.Name))
		return b.recount(ctx)
	})
}

// Through says whether a neck needs no further inspection: it passed, was released or scrapped.
func (b *Bench) Through(ctx context.Context, serial string) (bool, error) {
	neck, err := b.rec.Neck(ctx, serial)
	if err != nil {
		return false, err
	}
	all, err := b.rec.Inspections(ctx, neck.ID)
	if err != nil || len(all) == 0 {
		return false, err
	}
	last := all[len(all)-1]
	v, err := b.rec.LatestVerdict(ctx, last.ID)
	if err != nil || v == nil || !last.Counts(v.Disposition) {
		return false, err
	}
	return batch.Through(v.Disposition), nil
}

// RecordRework notes what was done to the neck whose verdict is on the bench.
func (b *Bench) RecordRework(ctx context.Context, a batch.ReworkAction) error {
	return b.do(func() error {
		j := b.job
		if b.stage() != Decided {
			return errors.New("rework is recorded against a verdict: finish this inspection first")
		}
		if err := checkRework(a); err != nil {
			return err
		}
		a.NeckID, a.InspectionID = j.inspection.NeckID, j.inspection.ID
		if a.By == "" {
			a.By = b.inspector
		}
		if a.What == "truss rod" {
			a.ReliefBefore, a.ReliefBeforeU = inspect.MeanRelief(j.result)
			for _, step := range j.result.Advice {
				if step.What == a.What {
					a.PredictedMM = step.PredictedReliefMM
				}
			}
		}
		done, err := b.rec.AppendRework(ctx, a)
		if err != nil {
			return err
		}
		j.rework = append(j.rework, done)
		if b.reworked != nil {
			if err := b.reworked(j.inspection.Serial, done, j.result.Advice); err != nil {
				return fmt.Errorf("%s is recorded, but: %w", done.Words(inMM), err)
			}
		}
		b.say(false, "Recorded: "+done.Words(inMM)+". Inspect the neck again when it has settled (F6).")
		return nil
	})
}

// checkRework refuses what cannot have been done, or must not be.
func checkRework(a batch.ReworkAction) error {
	switch a.What {
	case "truss rod":
		if !(a.Turns > 0 && a.Turns <= 0.25) {
			return fmt.Errorf("truss rod, %g turn: a step is more than 0 and at most 1/4 turn; measure again between steps", a.Turns)
		}
		if a.Direction != "tighten" && a.Direction != "loosen" {
			return fmt.Errorf("truss rod, direction %q: allowed are tighten and loosen", a.Direction)
		}
	case "pitch", "fret level", "nut slots", "action", "repairer":
		if a.Turns != 0 {
			return fmt.Errorf("%s takes no turns", a.What)
		}
	default:
		return fmt.Errorf("%q is no kind of rework; allowed are pitch, truss rod, fret level, nut slots, action and repairer", a.What)
	}
	if a.AmountMM != a.AmountMM || a.AmountMM < -5 || a.AmountMM > 5 {
		return fmt.Errorf("%s by %g mm: allowed is -5 to 5 mm", a.What, a.AmountMM)
	}
	return nil
}

// inMM writes an amount of rework.
func inMM(mm float64) string { return fmt.Sprintf("%+.3f mm", mm) }
