package bench

import (
	"context"
	"fmt"

	"sagitta/batch"
	"sagitta/inspect"
)

// readDoubt reads which of the job's readings are in doubt. A verdict that only asks for another measurement gives way:
// the points in doubt are measured again first.
func (b *Bench) readDoubt(ctx context.Context, j *job) error {
	ids, err := b.rec.DoubtedReadings(ctx, j.inspection.ID)
	if err != nil {
		return err
	}
	j.doubted = map[string]bool{}
	for _, id := range ids {
		j.doubted[id] = true
	}
	if len(ids) > 0 && j.verdict != nil && j.verdict.Disposition == inspect.Remeasure {
		j.verdict = nil
	}
	return nil
}

// ReloadDoubt takes up what a person has cleared of doubt, or found in an outgoing audit.
func (b *Bench) ReloadDoubt(ctx context.Context) error {
	return b.do(func() error { return b.reloadDoubt(ctx) })
}

// reloadDoubt takes up what a failed check has put in doubt: in the batch's counts and on the bench.
func (b *Bench) reloadDoubt(ctx context.Context) error {
	if err := b.recount(ctx); err != nil || b.job == nil {
		return err
	}
	if err := b.readDoubt(ctx, b.job); err != nil {
		return err
	}
	b.held = nil
	return b.job.replay()
}

// have returns the readings that the routine need not ask for: those that stand and, before a verdict, are not in doubt.
func (j *job) have() map[string]map[int]*batch.Reading {
	all := standing(j.readings)
	if len(j.doubted) == 0 || j.verdict != nil {
		return all
	}
	for _, rounds := range all {
		for n, r := range rounds {
			if j.doubted[r.ID] {
				delete(rounds, n)
			}
		}
	}
	return all
}

// waiting is the index of the first point that this round asks for and has not got beyond doubt, -1 when it is complete.
func (j *job) waiting() int { return j.pending(j.have()) }

// doubtWords says what is in doubt of the neck on the bench, "" when nothing is.
func (j *job) doubtWords() string {
	n := 0
	for i := range j.points {
		if j.points[i].InDoubt {
			n++
		}
	}
	switch {
	case n == 0:
		return ""
	case j.verdict != nil:
		return fmt.Sprintf("In doubt: %s came from a gauge that failed its next check. This neck may not ship until it is inspected again (F6), or a person clears it on its page.", readings(n))
	}
	return fmt.Sprintf("In doubt: %s came from a gauge that failed its next check. Check the gauge; those points are asked for again.", readings(n))
}

// holdWords says what holds the neck on the bench, "" when nothing does.
func (j *job) holdWords() string {
	switch {
	case j.holds == nil:
		return ""
	case j.verdict != nil && j.verdict.Disposition != inspect.Remeasure:
		return "Held: " + j.holds.HoldWords() + " (F6)."
	}
	return "Held: " + j.holds.HoldWords() + ". The verdict of this attempt ends that."
}

func readings(n int) string {
	if n == 1 {
		return "1 reading"
	}
	return fmt.Sprintf("%d readings", n)
}
