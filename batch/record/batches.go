package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"sort"
	"strings"

	"sagitta/batch"
	"sagitta/inspect"
)

const selectBatch = `SELECT b.id, b.number, b.spec_id, b.planned, b.pattern, b.check_system, b.note, b.at, b.by, coalesce(c.at, 0),
	coalesce((SELECT number FROM visits WHERE batch_id = b.id), 0) FROM batches b LEFT JOIN batch_closures c ON c.batch_id = b.id `

// shopBatches leaves out the batches that are visits of an instrument.
const shopBatches = `NOT EXISTS (SELECT 1 FROM visits WHERE batch_id = b.id) `

func scanBatch(s scanner) (batch.Batch, error) {
	var b batch.Batch
	var opened, closed int64
	err := s.Scan(&b.ID, &b.Number, &b.Spec.ID, &b.Planned, &b.Pattern, &b.Check, &b.Note, &opened, &b.OpenedBy, &closed, &b.Visit)
	b.OpenedAt, b.ClosedAt = instant(opened), instant(closed)
	return b, err
}

// findBatch reads one batch with its specification.
func findBatch(ctx context.Context, q querier, where string, key string) (batch.Batch, error) {
	b, err := scanBatch(q.QueryRowContext(ctx, selectBatch+where, key))
	if err != nil {
		return b, unknown(err, "batch", key)
	}
	b.Spec, err = scanSpec(q.QueryRowContext(ctx, selectSpec+`WHERE s.id = ?`, b.Spec.ID))
	return b, err
}

// OpenBatch opens b (its Number, Spec.ID, Planned, Pattern, Check and Note) and registers the serial numbers; its specification
// is frozen from then on. ErrInput: no number, a pattern or a serial number that does not fit; ErrExists: the number or
// a serial number is taken, or is somebody's badge; ErrUnknown: no such specification; ErrState: the specification has been replaced.
func (db *DB) OpenBatch(ctx context.Context, by string, b batch.Batch, serials []string) (batch.Batch, error) {
	number := strings.TrimSpace(b.Number)
	what := "opening batch " + number
	if number == "" {
		return batch.Batch{}, fmt.Errorf("opening a batch: %w: found no number", ErrInput)
	}
	if b.Planned < 0 {
		return batch.Batch{}, fmt.Errorf("%s: %w: found %d necks planned, allowed are 0 (open-ended) or more", what, ErrInput, b.Planned)
	}
	var opened batch.Batch
	err := db.write(ctx, what, func(t *tx) error {
		if err := t.may(by, batch.OpenBatch); err != nil {
			return err
		}
		spec, err := scanSpec(t.row(selectSpec+`WHERE s.id = ?`, b.Spec.ID))
		if err != nil {
			return unknown(err, "specification", b.Spec.ID)
		}
		b.Number, b.Spec = number, spec
		if opened, err = t.openBatch(by, b); err != nil {
			return err
		}
		_, err = t.addNecks(by, opened, serials)
		return err
	})
	if err != nil {
		return batch.Batch{}, err
	}
	return opened, nil
}

// openBatch opens a batch with a specification that is in the record.
func (t *tx) openBatch(by string, b batch.Batch) (batch.Batch, error) {
	spec := b.Spec
	var newest string
	if err := t.row(`SELECT id FROM specs WHERE name = ? AND revision = ? ORDER BY ord DESC LIMIT 1`, spec.Name, spec.Revision).Scan(&newest); err != nil {
		return b, err
	}
	if newest != spec.ID {
		return b, fmt.Errorf("%w: %s, revision %s, has been replaced since; choose it again", ErrState, spec.Name, spec.Revision)
	}
	if err := t.refuseBadges("batch number", b.Number); err != nil {
		return b, err
	}
	var taken string
	switch err := t.row(`SELECT number FROM batches WHERE number = ?`, b.Number).Scan(&taken); {
	case err == nil:
		return b, fmt.Errorf("%w: batch %s; give another number", ErrExists, b.Number)
	case !errors.Is(err, sql.ErrNoRows):
		return b, err
	}
	if !slices.Contains(batch.CheckSystems, b.Check) {
		return b, fmt.Errorf("%w: found check character %q; allowed: none, %s or %s", ErrInput, batch.Shown(string(b.Check)), batch.Mod37x36, batch.Mod11x10)
	}
	id, err := newID()
	if err != nil {
		return b, err
	}
	if err := t.exec(`INSERT INTO batches (id, station, at, by, number, spec_id, planned, pattern, check_system, note) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		id, t.station, nanos(t.at), by, b.Number, spec.ID, b.Planned, b.Pattern, string(b.Check), b.Note); err != nil {
		return b, err
	}
	if err := t.audit(by, "batch opened", b.Number, fmt.Sprintf("%s, revision %s; %d necks planned", spec.Name, spec.Revision, b.Planned)); err != nil {
		return b, err
	}
	return findBatch(t.ctx, t, `WHERE b.id = ?`, id)
}

// CloseBatch closes a batch by its number; a visit ends with its batch. ErrUnknown; ErrState: it is closed, or has inspections in progress.
func (db *DB) CloseBatch(ctx context.Context, by, number string) error {
	return db.write(ctx, "closing batch "+number, func(t *tx) error {
		if err := t.may(by, batch.CloseBatch); err != nil {
			return err
		}
		b, err := findBatch(ctx, t, `WHERE b.number = ?`, number)
		if err != nil {
			return err
		}
		if b.Visit > 0 {
			return t.endVisit(by, b, "")
		}
		return t.closeBatch(by, b)
	})
}

// closeBatch closes a batch that has no inspections in progress.
func (t *tx) closeBatch(by string, b batch.Batch) error {
	if !b.ClosedAt.IsZero() {
		return fmt.Errorf("%w: it is closed since %s", ErrState, b.ClosedAt.Format("2006-01-02 15:04 MST"))
	}
	open, err := list(t.ctx, t, func(s scanner) (serial string, err error) { return serial, s.Scan(&serial) },
		`SELECT n.serial FROM neck_status s JOIN necks n ON n.id = s.neck_id WHERE s.state IN ('open', 'parked') AND s.batch_id = ? ORDER BY n.ord`, b.ID)
	if err != nil {
		return err
	}
	if len(open) > 0 {
		return fmt.Errorf("%w: finish the inspections in progress first, or give them up: %s", ErrState, strings.Join(open, ", "))
	}
	id, err := newID()
	if err != nil {
		return err
	}
	if err := t.exec(`INSERT INTO batch_closures (id, station, at, by, batch_id) VALUES (?, ?, ?, ?, ?)`, id, t.station, nanos(t.at), by, b.ID); err != nil {
		return err
	}
	return t.audit(by, "batch closed", b.Number, "")
}

// Batch returns one batch by its number; ErrUnknown where there is none.
func (db *DB) Batch(ctx context.Context, number string) (batch.Batch, error) {
	b, err := findBatch(ctx, db.reader, `WHERE b.number = ?`, strings.TrimSpace(number))
	return b, translate(err, "reading batch "+number)
}

// Batches returns the shop's batches with their counts, the newest first; those that are visits of an instrument are none of them.
func (db *DB) Batches(ctx context.Context) ([]batch.BatchRow, error) {
	const what = "reading the batches"
	all, err := list(ctx, db.reader, scanBatch, selectBatch+`WHERE `+shopBatches+`ORDER BY b.ord DESC`)
	if err != nil {
		return nil, translate(err, what)
	}
	specs := map[string]batch.SpecRevision{}
	rows := make([]batch.BatchRow, len(all))
	place := map[string]*batch.Counts{}
	for i, b := range all {
		spec, ok := specs[b.Spec.ID]
		if !ok {
			if spec, err = db.Spec(ctx, b.Spec.ID); err != nil {
				return nil, translate(err, what)
			}
			specs[b.Spec.ID] = spec
		}
		b.Spec = spec
		rows[i] = batch.BatchRow{Batch: b, Counts: batch.Counts{Planned: b.Planned}}
		place[b.ID] = &rows[i].Counts
	}
	if err := count(ctx, db.reader, place, ""); err != nil {
		return nil, translate(err, what)
	}
	return rows, nil
}

// Counts returns a batch's numbers; ErrUnknown where there is no batch of that ID. Reasons come in falling order.
func (db *DB) Counts(ctx context.Context, batchID string) (batch.Counts, error) {
	var c batch.Counts
	what := "counting batch " + batchID
	if err := db.reader.QueryRowContext(ctx, `SELECT planned FROM batches WHERE id = ?`, batchID).Scan(&c.Planned); err != nil {
		return c, unknown(err, "batch", batchID)
	}
	err := count(ctx, db.reader, map[string]*batch.Counts{batchID: &c}, batchID)
	return c, translate(err, what)
}

// countKeptBack counts, for batch ?1 or each, the necks in doubt, those of them that are released, and the released ones that
// are held instead. It looks at the doubts and findings that stand, not at every neck.
const countKeptBack = `SELECT batch_id, count(*) FILTER (WHERE in_doubt), count(*) FILTER (WHERE released AND in_doubt),
	count(*) FILTER (WHERE released AND held AND NOT in_doubt) FROM neck_standing
	WHERE neck_id IN (SELECT neck_id FROM standing_doubts WHERE ?1 = '' OR batch_id = ?1 UNION SELECT neck_id FROM held_necks)
	AND (?1 = '' OR batch_id = ?1) GROUP BY batch_id`

// countUncovered counts the necks of batch ?1 or each that the audit which accepted their lot does not speak for.
const countUncovered = `SELECT batch_id, count(*), 0, 0 FROM uncovered_necks WHERE ?1 = '' OR batch_id = ?1 GROUP BY batch_id`

// countLeft counts the necks left of the rejected lot of batch ?1 or each, and those of them that were inspected again.
const countLeft = `SELECT batch_id, count(*), count(*) FILTER (WHERE again), 0 FROM rejected_necks WHERE ?1 = '' OR batch_id = ?1 GROUP BY batch_id`

// count fills in the counts of the batches given from what is kept beside the rows; one batch only where batchID is not
// empty.
func count(ctx context.Context, q querier, of map[string]*batch.Counts, batchID string) error {
	type cell struct {
		batch, key string
		n          int
	}
	where := map[bool]string{true: `WHERE n > 0`, false: `WHERE n > 0 AND batch_id = ?1`}[batchID == ""]
	tally, err := list(ctx, q, func(s scanner) (c cell, err error) { return c, s.Scan(&c.batch, &c.key, &c.n) }, `SELECT batch_id, key, n FROM batch_tally `+where, batchID)
	if err != nil {
		return err
	}
	now := func(d inspect.Disposition) string { return "now " + string(d) }
	for _, t := range tally {
		c := of[t.batch]
		if c == nil {
			continue // opened since the batches were read
		}
		if name, ok := strings.CutPrefix(t.key, "reason "); ok {
			c.Reasons = append(c.Reasons, batch.Reason{Name: name, Necks: t.n})
			continue
		}
		switch t.key {
		case "registered":
			c.Registered = t.n
		case "inspections":
			c.Inspections = t.n
		case "inspected":
			c.Inspected = t.n
		case "first pass":
			c.FirstPass = t.n
		case "in progress":
			c.InProgress = t.n
		case now(inspect.Pass):
			c.Passed = t.n
		case now(inspect.Concession):
			c.Concession = t.n
		case now(inspect.Rework):
			c.Rework = t.n
		case now(inspect.Repair):
			c.Repair = t.n
		case now(inspect.Scrap):
			c.Scrap = t.n
		case now(inspect.Remeasure):
			c.Undecided = t.n
		}
	}
	for _, c := range of {
		sort.Slice(c.Reasons, func(i, j int) bool {
			a, b := c.Reasons[i], c.Reasons[j]
			return a.Necks > b.Necks || a.Necks == b.Necks && a.Name < b.Name
		})
	}
	return countLots(ctx, q, of, batchID)
}

// countLots fills in what keeps necks back: doubts, findings, and the state of the lot.
func countLots(ctx context.Context, q querier, of map[string]*batch.Counts, batchID string) error {
	type row struct {
		batch   string
		a, b, c int
	}
	for _, part := range []struct {
		query string
		into  func(c *batch.Counts, r row)
	}{
		{countKeptBack, func(c *batch.Counts, r row) { c.InDoubt, c.Withheld, c.Held = r.a, r.b, r.c }},
		{countUncovered, func(c *batch.Counts, r row) { c.Uncovered = r.a }},
		{countLeft, func(c *batch.Counts, r row) { c.Left, c.LeftAgain = r.a, r.b }},
		{`SELECT batch_id, sum(last_neck - first_neck + 1), 0, 0 FROM imports WHERE ?1 = '' OR batch_id = ?1 GROUP BY batch_id`, func(c *batch.Counts, r row) { c.Imported = r.a }},
		{`SELECT batch_id, 0, 0, 0 FROM batch_closures WHERE ?1 = '' OR batch_id = ?1`, func(c *batch.Counts, _ row) { c.Closed = true }},
	} {
		rows, err := list(ctx, q, func(s scanner) (r row, err error) {
			return r, s.Scan(&r.batch, &r.a, &r.b, &r.c)
		}, part.query, batchID)
		if err != nil {
			return err
		}
		for _, r := range rows {
			if c := of[r.batch]; c != nil {
				part.into(c, r)
			}
		}
	}
	audits, err := list(ctx, q, scanOutgoing, selectOutgoing+`WHERE a.id IN (SELECT audit_id FROM lots WHERE ?1 = '' OR batch_id = ?1)`, batchID)
	for i := range audits {
		if c := of[audits[i].BatchID]; c != nil {
			c.Audit = &audits[i]
		}
	}
	return err
}
