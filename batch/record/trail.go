package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"iter"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
)

// auditThing is what an entry of the trail is about without the attempt: the index audit_thing has it.
const auditThing = `CASE WHEN instr(about, ', attempt ') > 0 THEN substr(about, 1, instr(about, ', attempt ') - 1) ELSE about END`

// Trail returns entries of the record's trail, newest first by their number. ErrUnknown: there is no such neck, batch or gauge; ErrInput: no such matter.
func (db *DB) Trail(ctx context.Context, f batch.TrailFilter) ([]batch.Entry, error) {
	const what = "reading the record's trail"
	wanted, err := db.wanted(ctx, f)
	if err != nil {
		return nil, translate(err, what)
	}
	all, err := db.trailPage(ctx, wanted, f.Before, f.Limit)
	return all, translate(err, what)
}

// EachEntry yields the entries of the record's trail that are wanted, newest first. Errors as of Trail.
func (db *DB) EachEntry(ctx context.Context, f batch.TrailFilter) iter.Seq2[batch.Entry, error] {
	const atOnce = 500
	return func(yield func(batch.Entry, error) bool) {
		left := limitOf(f.Limit)
		wanted, err := db.wanted(ctx, f)
		for err == nil {
			var page []batch.Entry
			if page, err = db.trailPage(ctx, wanted, f.Before, min(left, atOnce)); err != nil {
				break
			}
			for _, e := range page {
				if !yield(e, nil) {
					return
				}
			}
			if left -= len(page); left <= 0 || len(page) < atOnce {
				return
			}
			f.Before = page[len(page)-1].Seq
		}
		yield(batch.Entry{}, translate(err, "reading the record's trail"))
	}
}

// Entries is how many entries the record's trail has.
func (db *DB) Entries(ctx context.Context) (n int64, err error) {
	err = db.reader.QueryRowContext(ctx, `SELECT coalesce(max(seq), 0) FROM audit`).Scan(&n)
	return n, translate(err, "counting the record's trail")
}

// branch is a condition on entries that an index answers, unless scans.
type branch struct {
	where string
	args  []any
	scans bool // the entries are gone through from the newest on
	each  bool // many values are looked up, one by one: what is found has no order yet
}

// wanted is a filter as conditions: of each group one branch at least holds, and those of the first drive the query.
type wanted struct {
	groups   [][]branch
	rest     []branch       // hold for all
	doubting map[int64]bool // entries that put in doubt what was looked for
	doubted  string         // what that is
	lo, hi   sql.NullInt64  // numbers of the first and last entry of the time, both or none
}

func (db *DB) wanted(ctx context.Context, f batch.TrailFilter) (wanted, error) {
	w := wanted{doubting: map[int64]bool{}}
	for _, group := range []struct {
		value string
		of    func(ctx context.Context, w *wanted, value string) ([]branch, error)
	}{{f.Serial, db.aboutNeck}, {f.Gauge, db.aboutGauge}, {f.Batch, db.aboutBatch}} {
		if group.value == "" {
			continue
		}
		branches, err := group.of(ctx, &w, group.value)
		if err != nil {
			return w, err
		}
		w.groups = append(w.groups, branches)
	}
	if f.Person != "" {
		w.groups = append(w.groups, []branch{{where: `by = ?`, args: []any{f.Person}}, thing(f.Person)})
	}
	if f.Matter != "" {
		if !slices.Contains(batch.Matters, f.Matter) {
			return w, fmt.Errorf("%w: found the matter %q; allowed are %q", ErrInput, f.Matter, batch.Matters)
		}
		var branches []branch
		for _, what := range batch.WhatOf(f.Matter) {
			branches = append(branches, branch{where: `what = ?`, args: []any{what}})
		}
		w.groups = append(w.groups, branches)
	}
	if err := db.fewestFirst(ctx, &w); err != nil || f.From.IsZero() && f.To.IsZero() {
		return w, err
	}
	from, to := nanos(f.From), int64(1<<63-1)
	if !f.To.IsZero() {
		to = nanos(f.To)
	}
	w.rest = append(w.rest, branch{where: `+at >= ? AND +at < ?`, args: []any{from, to}})
	err := db.reader.QueryRowContext(ctx, `SELECT min(seq), max(seq) FROM audit WHERE at >= ? AND at < ?`, from, to).Scan(&w.lo, &w.hi)
	if err == nil && !w.lo.Valid { // nothing is of that time
		w.lo, w.hi = sql.NullInt64{Int64: 1, Valid: true}, sql.NullInt64{Valid: true}
	}
	return w, err
}

// fewestFirst has the group drive the query of which the fewest entries are.
func (db *DB) fewestFirst(ctx context.Context, w *wanted) error {
	const enough = 2000
	if len(w.groups) < 2 {
		return nil
	}
	first, fewest := 0, enough+1
	for i, group := range w.groups {
		if slices.ContainsFunc(group, func(b branch) bool { return b.scans }) {
			continue
		}
		text, args := union(group, ` LIMIT ?`, []any{enough})
		var n int
		if err := db.reader.QueryRowContext(ctx, `SELECT count(*) FROM (`+text+`)`, args...).Scan(&n); err != nil {
			return err
		}
		if n < fewest {
			first, fewest = i, n
		}
	}
	w.groups[0], w.groups[first] = w.groups[first], w.groups[0]
	return nil
}

func thing(about string) branch { return branch{where: auditThing + ` = ?`, args: []any{about}} }

// numbered are entries by their numbers; none without any.
func numbered(all []int64) []branch {
	if len(all) == 0 {
		return nil
	}
	args := make([]any, len(all))
	for i, n := range all {
		args[i] = n
	}
	return []branch{{where: `seq IN ` + places(len(all)), args: args}}
}

// query is the text of a page and its values.
func (w *wanted) query(before int64, limit int) (string, []any) {
	if len(w.groups) == 0 {
		w.groups = [][]branch{{{where: `1`}}}
	}
	common, commonArgs := ``, []any(nil)
	and := func(where string, args ...any) {
		common, commonArgs = common+` AND `+where, append(commonArgs, args...)
	}
	if before > 0 {
		and(`seq < ?`, before)
	}
	if w.lo.Valid {
		and(`seq BETWEEN ? AND ?`, w.lo.Int64, w.hi.Int64)
	}
	for _, b := range w.rest {
		and(b.where, b.args...)
	}
	for _, group := range w.groups[1:] {
		conditions := make([]string, len(group))
		for i, b := range group {
			conditions[i], commonArgs = b.where, append(commonArgs, b.args...)
		}
		common += ` AND (` + strings.Join(conditions, ` OR `) + `) IS TRUE` // no index: those of the first group are looked at
	}
	text, args := union(w.groups[0], common+` ORDER BY seq DESC LIMIT ?`, append(commonArgs, limitOf(limit)))
	return `SELECT seq, at, by, what, about, detail, hash, station FROM audit WHERE seq IN (` + text + `) ORDER BY seq DESC LIMIT ?`, append(args, limitOf(limit))
}

// union is the numbers of the entries of which one of the branches holds, each with what follows its condition.
func union(group []branch, tail string, tailArgs []any) (string, []any) {
	parts, args := make([]string, len(group)), []any(nil)
	for i, b := range group {
		after := tail
		if b.each { // neither a range of numbers nor their order makes a reason to go through all entries
			after = strings.ReplaceAll(tail, ` seq `, ` +seq `)
		}
		parts[i] = `SELECT seq FROM (SELECT seq FROM audit WHERE ` + b.where + after + `)`
		args = append(append(args, b.args...), tailArgs...)
	}
	return strings.Join(parts, ` UNION `), args
}

func (db *DB) trailPage(ctx context.Context, w wanted, before int64, limit int) ([]batch.Entry, error) {
	query, args := w.query(before, limit)
	rows, err := list(ctx, db.reader, scanAudit, query, args...)
	if err != nil {
		return nil, err
	}
	all := make([]batch.Entry, len(rows))
	for i, r := range rows {
		e := &all[i]
		e.Event, e.Station = r.Event, r.station
		e.Read()
		if w.doubting[e.Seq] {
			e.PutDoubt = w.doubted
		}
		if err := db.named(ctx, e); err != nil {
			return nil, err
		}
	}
	return all, nil
}

// named fills in what the record alone knows of what an entry names.
func (db *DB) named(ctx context.Context, e *batch.Entry) (err error) {
	one := func(query string, into []any, args ...any) error {
		if err := db.reader.QueryRowContext(ctx, query, args...).Scan(into...); !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		return nil
	}
	switch e.Happening().Names {
	case batch.NamesNeck:
		err = one(`SELECT b.number FROM necks n JOIN batches b ON b.id = n.batch_id WHERE n.serial = ? ORDER BY n.at <= ? DESC, n.ord DESC LIMIT 1`, []any{&e.Batch}, e.Serial, nanos(e.At))
	case batch.NamesStudy:
		e.Gauge = e.About // what is signed with a study's use names the gauge
		err = one(`SELECT g.name FROM studies s JOIN gauge_entries g ON g.gauge_id = s.gauge_id WHERE s.id = ? ORDER BY g.ord DESC LIMIT 1`, []any{&e.Gauge}, e.About)
	case batch.NamesAlarm:
		err = one(`SELECT a.serial, coalesce((SELECT number FROM batches b WHERE b.id = a.batch_id), ''),
			coalesce((SELECT name FROM gauge_entries g WHERE g.gauge_id = a.gauge_id ORDER BY g.ord DESC LIMIT 1), '')
			FROM alarms a WHERE a.subject = ? AND a.at <= ? ORDER BY a.ord DESC LIMIT 1`, []any{&e.Serial, &e.Batch, &e.Gauge}, e.About, nanos(e.At))
	}
	if err != nil || e.Signed == "" {
		return err
	}
	return one(`SELECT reason, second FROM signatures WHERE about = ? AND by = ? AND at = ? AND meaning = ? ORDER BY ord LIMIT 1`, []any{&e.Reason, &e.Second}, e.About, e.By, nanos(e.At), string(e.Signed))
}

// doubtWhat is what the trail calls what cast a doubt.
var doubtWhat = map[batch.CauseKind]string{batch.FailedCheck: "gauge check", batch.Dropped: "gauge " + batch.CheckDrop, batch.CertificateFound: "certificate kept", batch.ByHand: "doubt cast"}

// castBy are the entries that cast the doubts of which a condition on doubts holds: those of their kind that were written with them, or next after.
func (db *DB) castBy(ctx context.Context, condition string, args ...any) ([]int64, error) {
	type cause struct {
		kind  batch.CauseKind
		gauge string
		at    int64
	}
	causes, err := list(ctx, db.reader, func(s scanner) (c cause, err error) { return c, s.Scan(&c.kind, &c.gauge, &c.at) },
		`SELECT DISTINCT k.kind, k.gauge_id, k.at FROM doubts d JOIN doubt_causes k ON k.id = d.cause_id WHERE `+condition, args...)
	if err != nil {
		return nil, err
	}
	var all []int64
	for _, c := range causes {
		about, aboutArgs := ``, []any{doubtWhat[c.kind], c.at, c.at + int64(time.Hour)}
		if c.kind != batch.ByHand {
			about, aboutArgs = ` AND about IN (SELECT name FROM gauge_entries WHERE gauge_id = ?)`, append(aboutArgs, c.gauge)
		}
		found, err := list(ctx, db.reader, scanNumber, `SELECT seq FROM audit WHERE +what = ? AND at >= ? AND at <= ?`+about+` ORDER BY at LIMIT 1`, aboutArgs...)
		if err != nil {
			return nil, err
		}
		all = append(all, found...)
	}
	return all, nil
}

func scanNumber(s scanner) (n int64, err error) { return n, s.Scan(&n) }

func (w *wanted) doubt(of string, all []int64) {
	w.doubted = of
	for _, n := range all {
		w.doubting[n] = true
	}
}

func (db *DB) aboutNeck(ctx context.Context, w *wanted, serial string) ([]branch, error) {
	neck, err := findNeck(ctx, db.reader, serial)
	if errors.Is(err, sql.ErrNoRows) {
		if _, known := findInstrument(ctx, db.reader, serial); known == nil {
			neck.Serial, err = serial, nil // an instrument that was never measured here
		}
	}
	if err != nil {
		return nil, unknown(err, "neck", serial)
	}
	cast, err := db.castBy(ctx, `d.neck_id IN (SELECT id FROM necks WHERE serial = ?)`, neck.Serial)
	if err != nil {
		return nil, err
	}
	w.doubt(neck.Serial, cast)
	came, err := list(ctx, db.reader, scanNumber, `SELECT a.seq FROM necks n JOIN batches b ON b.id = n.batch_id JOIN audit a ON a.at = n.at AND +a.what = 'necks registered' AND a.about = b.number WHERE n.serial = ?1
		UNION SELECT a.seq FROM necks n JOIN imports i ON i.batch_id = n.batch_id AND n.ord BETWEEN i.first_neck AND i.last_neck JOIN audit a ON a.at = i.at AND +a.what IN ('necks imported', 'necks invented') WHERE n.serial = ?1
		UNION SELECT a.seq FROM necks n JOIN outgoing_necks d ON d.neck_id = n.id JOIN audit a ON a.at = d.at AND +a.what = 'outgoing audit drawn' WHERE n.serial = ?1`, neck.Serial)
	if err != nil {
		return nil, err
	}
	return append(numbered(append(came, cast...)), thing(neck.Serial)), nil
}

func (db *DB) aboutGauge(ctx context.Context, w *wanted, name string) ([]branch, error) {
	const ofIt = `(SELECT gauge_id FROM gauge_entries WHERE name = ?1)`
	about, err := list(ctx, db.reader, scanID, `SELECT DISTINCT name FROM gauge_entries WHERE gauge_id IN `+ofIt+` UNION SELECT id FROM studies WHERE gauge_id IN `+ofIt+`
		UNION SELECT subject FROM alarms WHERE gauge_id IN `+ofIt, name)
	if err != nil {
		return nil, err
	}
	if len(about) == 0 {
		return nil, unknown(sql.ErrNoRows, "gauge", name)
	}
	cast, err := db.castBy(ctx, `k.gauge_id IN (SELECT gauge_id FROM gauge_entries WHERE name = ?)`, name)
	if err != nil {
		return nil, err
	}
	branches := numbered(cast)
	for _, a := range about {
		branches = append(branches, thing(a))
	}
	return branches, nil
}

// fewNecks is up to how many necks of a batch are looked up one by one; of more, the entries are gone through from the newest on.
const fewNecks = 20_000

func (db *DB) aboutBatch(ctx context.Context, w *wanted, number string) ([]branch, error) {
	b, err := findBatch(ctx, db.reader, `WHERE b.number = ?`, number)
	if err != nil {
		return nil, err
	}
	subjects, err := list(ctx, db.reader, scanID, `SELECT DISTINCT subject FROM alarms WHERE batch_id = ?`, b.ID)
	if err != nil {
		return nil, err
	}
	cast, err := db.castBy(ctx, `d.batch_id = ?`, b.ID)
	if err != nil {
		return nil, err
	}
	w.doubt("necks of batch "+b.Number, cast)
	var necks int
	if err := db.reader.QueryRowContext(ctx, `SELECT coalesce(max(n), 0) FROM batch_tally WHERE batch_id = ? AND key = 'registered'`, b.ID).Scan(&necks); err != nil {
		return nil, err
	}
	of := branch{where: `seq IN (SELECT a.seq FROM necks n CROSS JOIN audit a ON ` + auditThing + ` = +n.serial WHERE n.batch_id = ?)`, args: []any{b.ID}, each: true}
	if necks > fewNecks {
		of.scans, of.each = true, false
		of.where = `EXISTS (SELECT 1 FROM necks n WHERE n.serial = ` + auditThing + ` AND +n.batch_id = ?)`
	}
	branches := append(numbered(cast), thing(b.Number), of)
	for _, s := range subjects {
		branches = append(branches, thing(s))
	}
	return branches, nil
}
