package record

import (
	"context"
	"math"

	"sagitta/batch"
	"sagitta/inspect"
)

// What is read of necks whose rod was turned, before an attempt: the work, pitch apart; the verdicts that count; and the action of
// open strings that they found. A scope says which necks.
const (
	selectRodWork = `
SELECT a.neck_id, i.attempt, a.what, a.turns, a.direction FROM standing_rework a JOIN inspections i ON i.id = a.inspection_id
WHERE a.what <> 'pitch' AND i.attempt < ?1 AND a.neck_id `
	turnedNecks     = `IN (SELECT a.neck_id FROM standing_rework a WHERE a.what = 'truss rod' AND a.neck_id `
	selectRodJudged = `
SELECT i.neck_id, i.attempt, v.ord, v.relief_mm, v.relief_u FROM inspections i JOIN judgements v ON v.inspection_id = i.id
WHERE i.attempt < ?1 AND i.neck_id ` + turnedNecks
	selectRodAction = `
SELECT c.verdict_ord, c.string, c.fret, c.value, c.u FROM inspections i JOIN judgements v ON v.inspection_id = i.id
JOIN characteristics c ON c.verdict_ord = v.ord AND c.name = 'action' AND c.held_fret = 0
WHERE c.value IS NOT NULL AND i.attempt < ?1 AND i.neck_id ` + turnedNecks
)

// rodJudged is a verdict that a step of the rod may lie before or after.
type rodJudged struct {
	attempt int
	ord     int64
	relief  *float64 // mean, mm
	u       float64
	action  []openAction
}

// openAction is the height of an open string over a fret, mm.
type openAction struct {
	string, fret int
	mm           float64
	u            *float64
}

// rodNeck is what is read of one neck whose rod was turned.
type rodNeck struct {
	id     string
	judged []rodJudged // in order of the attempts
	work   []rodDone   // in order of the attempts
}

// rodDone is the work against the verdict of one attempt.
type rodDone struct {
	attempt int
	done    []batch.ReworkAction
}

// rodNecks reads the necks that a scope picks, in order of their IDs.
func (db *DB) rodNecks(ctx context.Context, attempt int, scope string, args ...any) ([]*rodNeck, error) {
	args = append([]any{attempt}, args...)
	var necks []*rodNeck
	byID, byOrd := map[string]*rodNeck{}, map[int64]*rodJudged{}
	_, err := list(ctx, db.reader, func(s scanner) (none struct{}, err error) {
		var neck string
		var j rodJudged
		var u *float64
		if err := s.Scan(&neck, &j.attempt, &j.ord, &j.relief, &u); err != nil {
			return none, err
		}
		if u != nil {
			j.u = *u
		}
		n := byID[neck]
		if n == nil {
			n = &rodNeck{id: neck}
			byID[neck] = n
			necks = append(necks, n)
		}
		n.judged = append(n.judged, j)
		return none, nil
	}, selectRodJudged+scope+`) ORDER BY i.neck_id, i.attempt`, args...)
	if err != nil || len(necks) == 0 {
		return nil, err
	}
	for _, n := range necks {
		for i := range n.judged {
			byOrd[n.judged[i].ord] = &n.judged[i]
		}
	}
	_, err = list(ctx, db.reader, func(s scanner) (none struct{}, err error) {
		var neck string
		var on int
		var a batch.ReworkAction
		if err := s.Scan(&neck, &on, &a.What, &a.Turns, &a.Direction); err != nil {
			return none, err
		}
		if n := byID[neck]; n != nil {
			if k := len(n.work); k == 0 || n.work[k-1].attempt != on {
				n.work = append(n.work, rodDone{attempt: on})
			}
			last := &n.work[len(n.work)-1]
			last.done = append(last.done, a)
		}
		return none, nil
	}, selectRodWork+scope+` ORDER BY a.neck_id, i.attempt, a.ord`, args...)
	if err != nil {
		return nil, err
	}
	_, err = list(ctx, db.reader, func(s scanner) (none struct{}, err error) {
		var ord int64
		var a openAction
		if err := s.Scan(&ord, &a.string, &a.fret, &a.mm, &a.u); err != nil {
			return none, err
		}
		j := byOrd[ord]
		j.action = append(j.action, a)
		return none, nil
	}, selectRodAction+scope+`) ORDER BY c.verdict_ord, c.string, c.fret`, args...)
	return necks, err
}

// steps pairs the rod's turns between two verdicts with what these found, and with what later attempts found with nothing done
// between. Turns are one step where nothing but the rod and the pitch was worked on between the two, and the rod one way only.
func (n *rodNeck) steps() []inspect.RodStep {
	var steps []inspect.RodStep
	foreign := false
	for i, w := range n.work {
		sum := batch.SumRodWork(w.done)
		if sum.Repairer && len(steps) > 0 {
			steps[len(steps)-1].Repaired = true
		}
		until := math.MaxInt
		if i+1 < len(n.work) {
			until = n.work[i+1].attempt
		}
		if step, ok := n.step(w.attempt, until); ok && sum.Alone {
			step.Turns, step.Direction, step.NewSetUp = sum.Turns, sum.Direction, foreign
			steps = append(steps, step)
		}
		foreign = !sum.Alone
	}
	return steps
}

// step is what the verdicts about work on the neck found: that of the attempt it was recorded against, the next, and those up to
// the next work, at the attempt until. Not ok: there is no relief before or after.
func (n *rodNeck) step(attempt, until int) (s inspect.RodStep, ok bool) {
	var before, after *rodJudged
	for i := range n.judged {
		switch j := &n.judged[i]; {
		case j.attempt == attempt:
			before = j
		case j.attempt > attempt && after == nil:
			after = j
		case j.attempt > attempt && j.attempt <= until && j.relief != nil:
			s.ReliefAgainMM = append(s.ReliefAgainMM, *j.relief)
		}
	}
	if before == nil || after == nil || before.relief == nil || after.relief == nil {
		return s, false
	}
	u := math.Hypot(before.u, after.u)
	s.Neck, s.ReliefBeforeMM, s.ReliefAfterMM, s.UMM = n.id, *before.relief, *after.relief, &u
	for _, b := range before.action {
		for _, a := range after.action {
			if a.string == b.string && a.fret == b.fret {
				s.Action = append(s.Action, actionChange(b, a))
			}
		}
	}
	return s, true
}

// actionChange is an action before and after.
func actionChange(b, a openAction) inspect.ActionChange {
	c := inspect.ActionChange{String: b.string, Fret: b.fret, BeforeMM: b.mm, AfterMM: a.mm}
	if b.u != nil && a.u != nil {
		if u := math.Hypot(*b.u, *a.u); u > 0 {
			c.UMM = &u
		}
	}
	return c
}

// RodSteps returns a neck's turns of the truss rod with the mean relief, mm, and the action before and after each, oldest first, of
// those whose outcome was judged at an attempt before the one given. Turns between the same two verdicts are one step. One without a verdict
// on both sides, with other work between the two, or both ways, is left out.
func (db *DB) RodSteps(ctx context.Context, neckID string, attempt int) ([]inspect.RodStep, error) {
	necks, err := db.rodNecks(ctx, attempt, `= ?2`, neckID)
	if err != nil || len(necks) == 0 {
		return nil, translate(err, "reading a neck's rod steps")
	}
	return necks[0].steps(), nil
}

// rodModelSteps is about how many of a model's steps are read: with as many pairs the model's own spread decides, and older
// ones tell of other rods.
const rodModelSteps = 500

// RodModel returns the same for the other necks of a model, all revisions of the specification of that name, batch after batch and
// neck after neck: of its newest batches, as many as hold some rodModelSteps. The neck itself is left out, because its own turns teach its
// own rod apart.
func (db *DB) RodModel(ctx context.Context, specName, exceptNeckID string) ([]inspect.RodStep, error) {
	const what = "reading a model's rod steps"
	batches, err := list(ctx, db.reader, func(s scanner) (id string, err error) { return id, s.Scan(&id) },
		`SELECT b.id FROM batches b JOIN specs s ON s.id = b.spec_id WHERE s.name = ? ORDER BY b.ord DESC`, specName)
	if err != nil {
		return nil, translate(err, what)
	}
	var all []inspect.RodStep
	for _, id := range batches {
		necks, err := db.rodNecks(ctx, math.MaxInt32, `IN (SELECT id FROM necks WHERE batch_id = ?3 AND id <> ?2)`, exceptNeckID, id)
		if err != nil {
			return nil, translate(err, what)
		}
		var older []inspect.RodStep
		for _, n := range necks {
			older = append(older, n.steps()...)
		}
		if all = append(older, all...); len(all) >= rodModelSteps {
			break
		}
	}
	return all, nil
}
