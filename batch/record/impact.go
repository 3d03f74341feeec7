package record

import (
	"context"
	"fmt"
	"slices"
	"sync"

	"sagitta/batch"
	"sagitta/inspect"
)

// impacts keeps what doubts were found to mean. It follows from rows that are never changed, so that a key that says which rows
// these were is enough.
type impacts struct {
	sync.Mutex
	known map[string]batch.Impact
}

// mostImpacts is how many are kept.
const mostImpacts = 5000

// impactOf works out what a doubt means. Where another doubt stands over a limited value that rests on this one's readings too, each
// error may hide or double the other, and nothing is told.
func (db *DB) impactOf(ctx context.Context, q querier, r *doubtRow, d *batch.Doubt, doubted map[string]bool, readings []batch.Reading, v *batch.Verdict, spec *inspect.Spec) (batch.Impact, error) {
	if r.bare() {
		return batch.Impact{Outcome: batch.CannotBeTold, Unknown: batch.UnknownReadings}, nil
	}
	if d.CarriedInto != 0 {
		return batch.Impact{Outcome: batch.CannotBeTold, Unknown: batch.UnknownCarried}, nil
	}
	others, err := list(ctx, q, scanDoubt, selectDoubt+`WHERE d.inspection_id = ? AND d.ord <> ? AND d.ord IN (SELECT ord FROM standing_doubts)`, d.InspectionID, r.ord)
	if err != nil {
		return batch.Impact{}, err
	}
	for i := range others {
		theirs, err := doubtedBy(ctx, q, &others[i])
		if err != nil {
			return batch.Impact{}, err
		}
		if v == nil {
			continue
		}
		rest := batch.RestOn(spec, v.Result, pointsOf(readings, theirs))
		if slices.ContainsFunc(d.RestOn, func(c inspect.Characteristic) bool {
			return slices.ContainsFunc(rest, func(o inspect.Characteristic) bool { return batch.NameOf(c) == batch.NameOf(o) })
		}) {
			return batch.Impact{Outcome: batch.CannotBeTold, Unknown: batch.UnknownOther}, nil
		}
	}
	key := fmt.Sprint(d.ID, len(readings), d.Cause.From, d.Cause.To, d.Cause.Found)
	db.impacts.Lock()
	impact, known := db.impacts.known[key]
	db.impacts.Unlock()
	if known {
		return impact, nil
	}
	in, err := db.Inspection(ctx, d.InspectionID)
	if err != nil {
		return batch.Impact{}, err
	}
	impact = batch.ImpactOf(spec, in, readings, doubted, d.Cause)
	db.impacts.Lock()
	defer db.impacts.Unlock()
	if db.impacts.known == nil {
		db.impacts.known = map[string]batch.Impact{}
	}
	for old := range db.impacts.known { // one makes room: a list longer than what is kept finds most of it again
		if len(db.impacts.known) < mostImpacts {
			break
		}
		delete(db.impacts.known, old)
	}
	db.impacts.known[key] = impact
	return impact, nil
}
