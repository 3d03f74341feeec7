package record

import (
	"context"
	"fmt"
	"slices"

	"sagitta/batch"
)

// Behind counts, batch by batch, the first judged inspections of a scope that have one value of a dimension, the batch
// opened last first. ByAll has the value "".
func (db *DB) Behind(ctx context.Context, s batch.Scope, by batch.Dimension, value string) ([]batch.BatchShare, error) {
	where, args := scoped(s)
	all, err := list(ctx, db.reader, func(r scanner) (v batch.BatchShare, err error) {
		return v, r.Scan(&v.Number, &v.SpecName, &v.Revision, &v.Inspected, &v.FirstPass, &v.FinalPass)
	}, `SELECT b.number, sp.name, sp.revision, sum(f.inspected), sum(f.passed), sum(f.final)`+fmt.Sprintf(fromScope, "first_tally")+where+
		`AND f.dimension = ?6 AND f.value = ?7 GROUP BY b.ord HAVING sum(f.inspected) > 0 ORDER BY b.ord DESC`, append(args, by, value)...)
	if err != nil {
		return nil, translate(err, "reading the batches behind a number")
	}
	out, err := db.doubtfulOf(ctx, s)
	if err != nil {
		return nil, err
	}
	for k, n := range out.firsts {
		for i := range all {
			if k.dimension == by && k.value == value && out.specs[k.batch][0] == all[i].Number {
				leave(&all[i].Share, *n, s.WithoutDoubt)
			}
		}
	}
	return slices.DeleteFunc(all, func(v batch.BatchShare) bool { return v.Inspected == 0 }), nil
}
