package record

import (
	"context"
	"fmt"

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
	return all, translate(err, "reading the batches behind a number")
}
