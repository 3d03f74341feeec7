package record

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"

	"sagitta/batch"
)

const insertAudit = `INSERT INTO audit (seq, station, at, by, what, about, detail, hash)`

// audit appends an entry to the chain.
func (t *tx) audit(by, what, about, detail string) error {
	var seq int64
	var before string
	err := t.row(`SELECT seq, hash FROM audit ORDER BY seq DESC LIMIT 1`).Scan(&seq, &before)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	e := batch.Event{Seq: seq + 1, At: t.at, By: by, What: what, About: about, Detail: detail}
	t.entries = append(t.entries, e)
	return t.exec(insertAudit+` VALUES (?, ?, ?, ?, ?, ?, ?, ?)`,
		e.Seq, t.station, nanos(e.At), by, what, about, detail, chain(before, t.station, e))
}

// chain is an entry's hash: SHA-256 over the hash before it and every field, each with its length before it.
func chain(before, station string, e batch.Event) string {
	h := sha256.New()
	number(h, e.Seq)
	number(h, nanos(e.At))
	for _, s := range []string{before, station, e.By, e.What, e.About, e.Detail} {
		number(h, int64(len(s)))
		h.Write([]byte(s)) // a hash takes every write
	}
	return hex.EncodeToString(h.Sum(nil))
}

func number(h hash.Hash, n int64) {
	h.Write(binary.BigEndian.AppendUint64(nil, uint64(n)))
}

const selectAudit = `SELECT seq, at, by, what, about, detail, hash, station FROM audit `

type auditRow struct {
	batch.Event
	station string
}

func scanAudit(s scanner) (auditRow, error) {
	var e auditRow
	var at int64
	err := s.Scan(&e.Seq, &at, &e.By, &e.What, &e.About, &e.Detail, &e.Hash, &e.station)
	e.At = instant(at)
	return e, err
}

// Audit returns the newest limit entries of the chain, newest first; a limit below 1 returns all.
func (db *DB) Audit(ctx context.Context, limit int) ([]batch.Event, error) {
	rows, err := list(ctx, db.reader, scanAudit, selectAudit+`ORDER BY seq DESC LIMIT ?`, limitOf(limit))
	if err != nil {
		return nil, translate(err, "reading the record's trail")
	}
	events := make([]batch.Event, len(rows))
	for i, r := range rows {
		events[i] = r.Event
	}
	return events, nil
}

// VerifyAudit recomputes the chain from its first entry, checks every verdict and the readings under it against the digest that the
// chain holds, recomputes the evidence over every row, compares the schema with the program's own, works out anew what is derived, such as
// the counts of a batch, and has SQLite check the file. An older record, opened as it is, has no evidence yet. Errors: ErrAudit with what is
// not as it was written, ErrDerived with what is not worked out from it, ErrCorrupt. Whoever has the file can
// make all of it anew, and rows cut off the end together with what covers them leave no trace in the file itself: compare it with
// the newest hash that was noted elsewhere.
func (db *DB) VerifyAudit(ctx context.Context) error {
	const what = "verifying the record"
	var entry, verdict int64 // the newest of one moment: the station may go on writing meanwhile
	err := db.reader.QueryRowContext(ctx, `SELECT (SELECT coalesce(max(seq), 0) FROM audit), (SELECT coalesce(max(ord), 0) FROM verdicts)`).Scan(&entry, &verdict)
	if err != nil {
		return translate(err, what)
	}
	if err := verifyChain(ctx, db.reader, entry, verdict); err != nil {
		return translate(err, what)
	}
	if err := db.verifyRows(ctx, what); err != nil {
		return translate(err, what)
	}
	return translate(db.whole(ctx), what)
}

// verifyRows checks the evidence, the schema and what is derived, all as they are at one moment, by a connection that may read alone.
func (db *DB) verifyRows(ctx context.Context, what string) (err error) {
	has, known, err := db.schema(ctx, db.reader, what)
	if err != nil || has != known { // an older one is not covered yet
		return err
	}
	source, err := db.connect(false, true, false)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, source.Close()) }()
	moment, err := source.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer func() { _ = moment.Rollback() }()
	if err := verifyEvidence(ctx, moment); err != nil {
		return err
	}
	if err := verifySchema(ctx, moment); err != nil {
		return err
	}
	return verifyDerived(ctx, moment)
}

// verifyChain recomputes the entries up to one and, beside them, the digests of the verdicts up to one, by their order
// number: a verdict and its entry are written together, so they come in the same order and none needs to be kept.
func verifyChain(ctx context.Context, q querier, lastEntry, lastVerdict int64) error {
	rows, err := q.QueryContext(ctx, selectAudit+`WHERE seq <= ? ORDER BY seq`, lastEntry)
	if err != nil {
		return err
	}
	defer func() { _ = rows.Close() }()
	verdicts, err := q.QueryContext(ctx, selectDigested+`WHERE ord <= ? ORDER BY ord`, lastVerdict)
	if err != nil {
		return err
	}
	defer func() { _ = verdicts.Close() }()
	before, next := "", int64(1)
	pace := paceOf(ctx)
	for rows.Next() {
		pace.step()
		e, err := scanAudit(rows)
		if err != nil {
			return err
		}
		if e.Seq != next {
			return fmt.Errorf("%w: entry %d is missing", ErrAudit, next)
		}
		if chain(before, e.station, e.Event) != e.Hash {
			return fmt.Errorf("%w: entry %d (%s, %s) is not as it was written", ErrAudit, e.Seq, e.What, e.About)
		}
		if e.What == auditVerdict {
			if err := verifyVerdict(ctx, q, verdicts, &e); err != nil {
				return err
			}
		}
		before, next = e.Hash, next+1
	}
	if err := rows.Err(); err != nil {
		return err
	}
	return verifyVerdict(ctx, q, verdicts, nil)
}

// verifyVerdict compares the next verdict with its entry in the chain; nil is the chain's end.
func verifyVerdict(ctx context.Context, q querier, verdicts *sql.Rows, e *auditRow) error {
	if !verdicts.Next() {
		if err := verdicts.Err(); err != nil || e == nil {
			return err
		}
		return fmt.Errorf("%w: the verdict of entry %d is missing", ErrAudit, e.Seq)
	}
	version, kept := digestVersion, ""
	if e != nil {
		var err error
		if version, kept, err = digestIn(e.Detail); err != nil {
			return err
		}
	}
	inspection, sum, err := digest(ctx, q, version, verdicts)
	if err != nil {
		return err
	}
	if e != nil && sum == kept {
		return nil
	}
	if e != nil { // where a later entry has this one, it is the verdict before it that is missing
		var later bool
		if err := q.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM audit WHERE seq > ? AND what = ? AND detail LIKE '%' || ?)`, e.Seq, auditVerdict, sum).Scan(&later); err != nil {
			return err
		}
		if later {
			return fmt.Errorf("%w: the verdict of entry %d is missing", ErrAudit, e.Seq)
		}
	}
	var serial string
	if err := q.QueryRowContext(ctx, `SELECT n.serial FROM inspections i JOIN necks n ON n.id = i.neck_id WHERE i.id = ?`, inspection).Scan(&serial); err != nil {
		serial = "inspection " + inspection
	}
	return fmt.Errorf("%w: a verdict on %s or a reading under it is not as it was written", ErrAudit, serial)
}

// HashOf is the hash of an entry of the trail, "" where there is no such entry.
func (db *DB) HashOf(ctx context.Context, seq int64) (hash string, err error) {
	err = db.reader.QueryRowContext(ctx, `SELECT hash FROM audit WHERE seq = ?`, seq).Scan(&hash)
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return hash, translate(err, "reading the record's trail")
}
