package demo

import (
	"context"
	"errors"
	"fmt"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/station/bench"
)

// mostAttempts is how often the simulated inspector reworks one neck before a person would be asked.
const mostAttempts = 10

// wasThere answers a question that came without a press of ours: a bounce is not used, work is not done twice, anything else was
// really there.
func wasThere(q *bench.Question) bool { return !q.Bounce && !q.Rework }

// aboutPress says that a question came from our own press, so that it is no bounce.
func aboutPress(before, now *bench.Snapshot) bool {
	return now.Question != nil && !now.Question.Sure && now.Taken == before.Taken
}

// measure takes reading after reading until the bench asks for nothing more.
func (h *hand) measure(ctx context.Context) error {
	h.hurry = hurried
	refused := 0
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		s := h.bench.Snapshot()
		switch {
		case s.Question != nil:
			if err := h.bench.Answer(ctx, wasThere(s.Question)); err != nil {
				return err
			}
			continue
		case s.Stage != bench.Measuring:
			return nil
		}
		if err := h.press(ctx); err != nil {
			return err
		}
		now := h.bench.Snapshot()
		if aboutPress(s, now) {
			if err := h.bench.Answer(ctx, true); err != nil {
				return err
			}
			continue
		}
		if now.Notice != nil && now.Notice.Refused && now.Taken == s.Taken {
			if refused++; refused > 3 {
				return errors.New(now.Notice.Text)
			}
			if err := h.checkLocked(ctx); err != nil {
				return err
			}
			continue
		}
		refused = 0
	}
}

// checkLocked checks every gauge that is locked out and has a line: what is read by eye is a person's.
func (h *hand) checkLocked(ctx context.Context) error {
	for _, g := range h.bench.Snapshot().Gauges {
		if !g.Locked || g.ByEye {
			continue
		}
		if err := h.check(ctx, g.ID); err != nil {
			return err
		}
	}
	return nil
}

// check runs one gauge's check from zero to the end. A gauge whose zero has moved fails once and is checked again.
func (h *hand) check(ctx context.Context, gaugeID string) error {
	for range 3 {
		if err := h.bench.CheckGauge(ctx, gaugeID); err != nil {
			return err
		}
		for range 8 { // a step is repeated where its frame could not be used
			if h.bench.Snapshot().Check == nil {
				break
			}
			if err := h.press(ctx); err != nil {
				return errors.Join(err, h.bench.CancelCheck(ctx))
			}
		}
		for _, g := range h.bench.Snapshot().Gauges {
			if g.ID == gaugeID && !g.Locked {
				return nil
			}
		}
	}
	return errors.New(h.bench.Snapshot().Notice.Text)
}

// inspectBatch brings every neck of a batch to its end: pass, or a person's word.
func (h *hand) inspectBatch(ctx context.Context, number string, progress func(done, total int)) error {
	serials := h.necks[number]
	for i, serial := range serials {
		progress(i, len(serials))
		if err := h.inspectNeck(ctx, serial); err != nil {
			return fmt.Errorf("%s: %w", serial, err)
		}
	}
	progress(len(serials), len(serials))
	return nil
}

// inspectNeck inspects, reworks as advised and inspects again until the neck is through.
func (h *hand) inspectNeck(ctx context.Context, serial string) error {
	s := h.bench.Snapshot()
	if s.Serial != serial {
		done, err := h.bench.Through(ctx, serial)
		if err != nil || done {
			return err
		}
		if s.Stage == bench.Measuring || s.Stage == bench.PersonDecides { // somebody's neck is on the bench: it waits
			if err := h.bench.Park(ctx, "set aside for unattended inspection"); err != nil {
				return err
			}
		}
		if err := h.bench.Entry(ctx, serial, "mm"); err != nil {
			return err
		}
	}
	for range mostAttempts {
		if err := h.measure(ctx); err != nil {
			return err
		}
		done, err := h.act(ctx, h.bench.Snapshot())
		if err != nil {
			return err
		}
		if done {
			return h.bench.Clear(ctx)
		}
		if err := h.bench.Again(ctx); err != nil {
			return err
		}
	}
	return fmt.Errorf("still not through after %d attempts", mostAttempts)
}

// act follows a verdict: done is true when the neck needs no further attempt.
func (h *hand) act(ctx context.Context, s *bench.Snapshot) (done bool, err error) {
	if s.Verdict == nil {
		return false, fmt.Errorf("no verdict was reached at stage %q", s.Stage)
	}
	switch d := s.Verdict.Disposition; {
	case batch.Through(d):
		return true, nil
	case d == inspect.Remeasure:
		return h.decide(ctx, s)
	}
	if len(s.Result.Advice) == 0 {
		return false, errors.New("the verdict names no rework to do")
	}
	step := s.Result.Advice[0]
	if step.What == inspect.StepMeasure && len(s.Result.Advice) > 1 {
		step = s.Result.Advice[1] // the next attempt measures again anyway
	}
	a := batch.ReworkAction{What: step.What, Direction: step.Direction}
	if step.Turns != nil {
		a.Turns = *step.Turns
	}
	for _, it := range step.Items { // the one string that was worked at
		if a.String != 0 && a.String != it.String {
			a.String = 0
			break
		}
		a.String = it.String
	}
	return false, h.bench.RecordRework(ctx, a)
}

// decide stands in for the person who is asked when three readings leave a value undecided: inside the limits it
// passes, outside it goes to rework.
func (h *hand) decide(ctx context.Context, s *bench.Snapshot) (done bool, err error) {
	for _, c := range s.Result.Characteristics {
		if c.Zone != inspect.Undecided && c.Zone != inspect.NotMeasured {
			continue
		}
		if c.Value == nil || (c.Lower != nil && *c.Value < *c.Lower) || (c.Upper != nil && *c.Value > *c.Upper) {
			return true, h.bench.Decide(ctx, inspect.Rework, manager, "undecided after three rounds, on the wrong side of a limit")
		}
	}
	return true, h.bench.Decide(ctx, inspect.Pass, manager, "undecided after three rounds; every averaged value lies inside its limits")
}
