package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"sagitta/batch"
)

// addNecks registers serial numbers, trimmed, in one batch. A visit alone may have one that is registered before.
func (t *tx) addNecks(by string, b batch.Batch, serials []string) ([]batch.Neck, error) {
	pattern, err := b.SerialPattern()
	if err != nil {
		return nil, fmt.Errorf("%w: %v", ErrInput, err)
	}
	if err := t.refuseBadges("serial number", serials...); err != nil {
		return nil, err
	}
	added := make([]batch.Neck, 0, len(serials))
	marks := grams{}
	for i, serial := range serials {
		serial = strings.TrimSpace(serial)
		if !batch.IsSerial(serial) {
			return nil, fmt.Errorf("%w: serial number %d of %d, %q, with %d characters; allowed: %s", ErrInput, i+1, len(serials), batch.Shown(serial), utf8.RuneCountInString(serial), batch.AllowedSerial)
		}
		if b.Pattern != "" && !pattern.MatchString(serial) {
			return nil, fmt.Errorf("%w: serial number %s does not fit the pattern of batch %s, %s", ErrInput, serial, b.Number, b.Pattern)
		}
		if b.Visit == 0 {
			if err := t.unregistered(b, serial); err != nil {
				return nil, err
			}
		}
		n := batch.Neck{Serial: serial, BatchID: b.ID, BatchNumber: b.Number, RegisteredAt: t.at}
		if n.ID, err = newID(); err != nil {
			return nil, err
		}
		var ord int64
		if err := t.row(`INSERT INTO necks (id, station, at, by, batch_id, serial) VALUES (?, ?, ?, ?, ?, ?) RETURNING ord`,
			n.ID, t.station, nanos(t.at), by, b.ID, serial).Scan(&ord); err != nil {
			return nil, err
		}
		if err := t.besideNeck(ord, n); err != nil {
			return nil, err
		}
		marks.add(ord, serial)
		added = append(added, n)
	}
	if len(added) == 0 {
		return nil, nil
	}
	if err := marks.write(t); err != nil {
		return nil, err
	}
	return added, t.audit(by, "necks registered", b.Number, fmt.Sprintf("%d, %s to %s", len(added), added[0].Serial, added[len(added)-1].Serial))
}

// unregistered refuses a serial number that is registered, or whose check character is another.
func (t *tx) unregistered(b batch.Batch, serial string) error {
	if err := b.Check.Check(serial); err != nil {
		return fmt.Errorf("%w: %v", ErrInput, err)
	}
	old, err := findNeck(t.ctx, t, serial)
	switch {
	case err == nil:
		return fmt.Errorf("%w: serial number %s, in batch %s", ErrExists, serial, old.BatchNumber)
	case errors.Is(err, sql.ErrNoRows):
		return nil
	}
	return err
}

// besideNeck writes what is kept beside a neck that nobody has inspected yet, but for what its serial number is searched by in short parts.
func (t *tx) besideNeck(ord int64, n batch.Neck) error {
	if err := t.exec(searchOne, ord, n.Serial); err != nil {
		return err
	}
	return t.exec(`INSERT INTO neck_status (neck_id, batch_id, attempts, first_at, last_at, inspector, state, disposition, judged, first_pass, first_failing, first_failing_words)
		VALUES (?, ?, 0, 0, 0, '', '', '', 0, 0, '', '')`, n.ID, n.BatchID)
}

// AddNecks registers serial numbers in an open batch: all or none. ErrUnknown: no such batch; ErrState: it is closed;
// ErrExists: a serial number is taken, with the batch that has it, or is somebody's badge; ErrInput: empty or off the batch's pattern.
func (db *DB) AddNecks(ctx context.Context, by, batchID string, serials []string) ([]batch.Neck, error) {
	var added []batch.Neck
	err := db.write(ctx, "registering necks", func(t *tx) error {
		// The bench registers a neck that is scanned and fits the batch's pattern.
		if err := t.may(by, batch.Measure); err != nil {
			return err
		}
		b, err := findBatch(ctx, t, `WHERE b.id = ?`, batchID)
		if err != nil {
			return err
		}
		if !b.ClosedAt.IsZero() {
			return fmt.Errorf("%w: batch %s is closed", ErrState, b.Number)
		}
		if b.Visit > 0 {
			return fmt.Errorf("%w: batch %s is of its visit %d, and has %s alone", ErrState, b.Number, b.Visit, b.Spec.Name)
		}
		added, err = t.addNecks(by, b, serials)
		return err
	})
	if err != nil {
		return nil, err
	}
	return added, nil
}

const neckColumns = `n.id, n.serial, n.batch_id, b.number, coalesce((SELECT number FROM visits WHERE batch_id = n.batch_id), 0), n.at`

func neckInto(n *batch.Neck, at *int64) []any {
	return []any{&n.ID, &n.Serial, &n.BatchID, &n.BatchNumber, &n.Visit, at}
}

// findNeck finds the newest neck of a serial number: of an instrument's visits the last.
func findNeck(ctx context.Context, q querier, serial string) (batch.Neck, error) {
	var n batch.Neck
	var at int64
	err := q.QueryRowContext(ctx, `SELECT `+neckColumns+` FROM necks n JOIN batches b ON b.id = n.batch_id WHERE n.serial = ? ORDER BY n.ord DESC LIMIT 1`, serial).Scan(neckInto(&n, &at)...)
	n.RegisteredAt = instant(at)
	return n, err
}

// Neck finds a neck by its serial number, blanks around it ignored; ErrUnknownSerial where it is not registered.
func (db *DB) Neck(ctx context.Context, serial string) (batch.Neck, error) {
	serial = strings.TrimSpace(serial)
	n, err := findNeck(ctx, db.reader, serial)
	if errors.Is(err, sql.ErrNoRows) {
		for _, other := range []string{strings.ToUpper(serial), strings.ToLower(serial)} {
			if near, err := findNeck(ctx, db.reader, other); err == nil {
				return batch.Neck{}, fmt.Errorf("serial number %q: %w; %s is, which differs in capital and small letters", serial, ErrUnknownSerial, near.Serial)
			}
		}
		return n, fmt.Errorf("serial number %q: %w; register it first", serial, ErrUnknownSerial)
	}
	return n, translate(err, "finding "+serial)
}

const selectNeckRow = `SELECT ` + neckColumns + `, s.attempts, s.first_at, s.last_at, s.inspector, s.disposition, s.state, s.first_failing_words, s.first_pass,
	(SELECT v.relief_mm FROM inspections i JOIN counting_verdicts v ON v.inspection_id = i.id WHERE i.neck_id = n.id AND v.relief_mm IS NOT NULL ORDER BY i.attempt DESC LIMIT 1),
	EXISTS (SELECT 1 FROM standing_doubts d WHERE d.neck_id = n.id), EXISTS (SELECT 1 FROM held_necks h WHERE h.neck_id = n.id)
	FROM necks n JOIN batches b ON b.id = n.batch_id JOIN neck_status s ON s.neck_id = n.id `

func scanNeckRow(s scanner) (batch.NeckRow, error) {
	var r batch.NeckRow
	var at, first, last int64
	err := s.Scan(append(neckInto(&r.Neck, &at), &r.Attempts, &first, &last, &r.Inspector, &r.Disposition, &r.State, &r.FirstFailing, &r.FirstPass, &r.ReliefMM, &r.InDoubt, &r.Held)...)
	r.RegisteredAt, r.First, r.Last = instant(at), instant(first), instant(last)
	return r, err
}

// Necks returns a batch's necks in the order in which they were registered.
func (db *DB) Necks(ctx context.Context, batchID string) ([]batch.NeckRow, error) {
	all, err := list(ctx, db.reader, scanNeckRow, selectBatchNecks, batchID)
	return all, translate(err, "reading a batch's necks")
}

// restate works out the status of the necks of an older record that may rest on a verdict that does not count.
func (db *DB) restate(ctx context.Context) error {
	return db.write(ctx, "bringing the status of necks up to date", func(t *tx) error {
		all, err := list(ctx, t, func(s scanner) (id string, err error) { return id, s.Scan(&id) }, `SELECT neck_id FROM restated`)
		if err != nil || len(all) == 0 {
			return err
		}
		for _, id := range all {
			if err := t.refreshNeck(id); err != nil {
				return err
			}
		}
		return t.exec(`DELETE FROM restated`)
	})
}
