package record

import (
	"context"

	"sagitta/batch"
)

// KeepShared keeps in the trail that a way in for one device was made for somebody by whoever is named, or batch.AtTheMachine, or that a device took it.
func (db *DB) KeepShared(ctx context.Context, by string, p batch.Person, taken bool) error {
	what := "made a way in for one device"
	if taken {
		what = "signed one device on by the way in that was made for it"
	}
	return db.write(ctx, "keeping that a device of "+p.Name+" may come in", func(t *tx) error { return t.audit(by, what, p.Name, string(batch.AtBench)) })
}
