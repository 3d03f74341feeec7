package record

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
)

// Salvaged is what was read of a damaged record into a new one.
type Salvaged struct {
	Tables   []SalvagedTable // of which something could not be read
	Rows     int             // that were read
	Necks    []string        // serial numbers of which something is missing or not as it was written
	Nameless int             // inspections of which it cannot be read of which neck they are
	Entries  int64           // of the trail that are missing before its newest
	Newest   int64           // the newest entry that is there
	At       time.Time       // its time
}

// SalvagedTable is a table that is hurt.
type SalvagedTable struct {
	Name string
	Lost int  // rows at most that could not be read
	Gone bool // nothing of it could be
}

// Whole says that nothing was found missing.
func (s Salvaged) Whole() bool { return len(s.Tables)+len(s.Necks)+s.Nameless == 0 && s.Entries == 0 }

// Salvage copies what can be read of a damaged record into a new one, which must not exist yet, and says what is missing. What is derived
// is worked out anew. The damaged record is only read; nobody may write to it meanwhile. Errors: ErrNotRecord, ErrNewer, those of writing.
func Salvage(ctx context.Context, from, to, station string, now func() time.Time) (s Salvaged, err error) {
	what := "salvaging the record " + from
	source := &DB{path: from}
	defer func() { err = errors.Join(err, source.Close()) }()
	if source.reader, err = source.connect(false, true, false); err != nil {
		return s, translate(err, what)
	}
	if err := recognise(ctx, source.reader); cannotOpen(err) {
		if err := source.readAside(ctx); err != nil {
			return s, translate(err, what)
		}
	} else if err != nil {
		return s, translate(err, what+": its first page, without which nothing can be read, is damaged")
	}
	has, known, err := source.schema(ctx, source.reader, what)
	switch {
	case errors.Is(err, ErrNewer):
		return s, err
	case err != nil || has == 0:
		has = known // the newest that it can be
	}
	made := &DB{path: to, station: station, now: now}
	tables, err := made.refill(ctx, source, has, what)
	if err != nil {
		return s, err
	}
	for _, t := range tables {
		if s.Rows += t.read; t.lost > 0 || t.gone {
			s.Tables = append(s.Tables, SalvagedTable{Name: t.name, Lost: t.lost, Gone: t.gone})
		}
	}
	return s, made.takeStock(ctx, &s, filepath.Base(from), what)
}

// refill makes the record and copies the rows of every table into it.
func (db *DB) refill(ctx context.Context, source *DB, schema int64, what string) (tables []salvaged, err error) {
	if db.writer, err = db.connect(true, false, true); err != nil {
		return nil, translate(err, what)
	}
	defer func() { err = errors.Join(err, translate(db.writer.Close(), what)) }()
	steps, err := provider(db.writer)
	if err != nil {
		return nil, translate(err, what)
	}
	if _, err := steps.UpTo(ctx, schema); err != nil {
		return nil, translate(err, what)
	}
	if tables, err = factTables(ctx, db.writer); err != nil {
		return nil, translate(err, what)
	}
	conn, err := db.writer.Conn(ctx)
	if err != nil {
		return nil, translate(err, what)
	}
	defer func() { _ = conn.Close() }()
	for i := range tables {
		if err := tables[i].salvage(ctx, source.reader, conn); err != nil {
			return nil, translate(err, what)
		}
	}
	const empty = `INSERT INTO neck_status (neck_id, batch_id, attempts, first_at, last_at, inspector, state, disposition, judged, first_pass, first_failing, first_failing_words)
		SELECT n.id, n.batch_id, 0, 0, 0, '', '', '', 0, 0, '', '' FROM necks n JOIN batches b ON b.id = n.batch_id`
	_, err = conn.ExecContext(ctx, empty)
	return tables, translate(err, what)
}

// takeStock brings what was copied up to date, works out what is derived, finds what is missing, and notes in the trail that it was
// salvaged.
func (db *DB) takeStock(ctx context.Context, s *Salvaged, from, what string) (err error) {
	made, err := Open(db.path, Options{Station: db.station, Now: db.now})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, made.Close()) }()
	if err := unsafeWrites(ctx, made.writer); err != nil { // until it is closed it is no record
		return translate(err, what)
	}
	hurt := map[string]bool{}
	if _, err := made.writer.ExecContext(ctx, searchAnew); err != nil {
		return translate(err, what)
	}
	if err := made.restatus(ctx, hurt); err != nil {
		return translate(err, what)
	}
	for _, ask := range hurtNecks {
		serials, err := list(ctx, made.reader, func(r scanner) (serial string, err error) { return serial, r.Scan(&serial) }, ask)
		if err != nil {
			return translate(err, what)
		}
		for _, serial := range serials {
			hurt[serial] = true
		}
	}
	if err := made.missedVerdicts(ctx, hurt); err != nil {
		return translate(err, what)
	}
	var newest, sealing int64 // the entry that the opening wrote is none of the damaged record's
	if err := made.reader.QueryRowContext(ctx, `SELECT coalesce(max(seq), 1) FROM audit WHERE what = ?`, auditSealed).Scan(&sealing); err != nil {
		return translate(err, what)
	}
	err = made.reader.QueryRowContext(ctx, `SELECT (SELECT count(*) FROM (SELECT inspection_id AS id FROM readings UNION SELECT inspection_id FROM verdicts UNION SELECT id FROM inspections)
		WHERE id NOT IN (SELECT i.id FROM inspections i JOIN necks n ON n.id = i.neck_id)),
		(SELECT coalesce(max(seq), 0) - count(*) FROM audit), (SELECT coalesce(max(seq), 0) FROM audit WHERE seq < ?1), (SELECT coalesce(max(at), 0) FROM audit WHERE seq < ?1)`, sealing).Scan(&s.Nameless, &s.Entries, &s.Newest, &newest)
	if err != nil {
		return translate(err, what)
	}
	s.At = instant(newest)
	for serial := range hurt {
		s.Necks = append(s.Necks, serial)
	}
	slices.Sort(s.Necks)
	return made.write(ctx, what, func(t *tx) error {
		return t.audit("station", "record salvaged", from, fmt.Sprintf("%d rows read; %d necks and %d entries of the trail are hurt", s.Rows, len(s.Necks), s.Entries))
	})
}

// restatus works out the status of every neck; one of which too much is missing is hurt.
func (db *DB) restatus(ctx context.Context, hurt map[string]bool) error {
	type neck struct{ id, serial string }
	all, err := list(ctx, db.reader, func(r scanner) (n neck, err error) { return n, r.Scan(&n.id, &n.serial) },
		`SELECT n.id, n.serial FROM necks n JOIN neck_status s ON s.neck_id = n.id ORDER BY n.ord`)
	if err != nil {
		return err
	}
	for _, n := range all {
		if err := db.commit(ctx, func(t *tx) error { return t.refreshNeck(n.id) }); err != nil {
			if batch.KindOf(err) == batch.Machine && (meant(err) != nil || ctx.Err() != nil) {
				return err
			}
			hurt[n.serial] = true
		}
	}
	return nil
}

// hurtNecks find necks with something missing by what is numbered from 1 without a gap, and by what refers to it.
var hurtNecks = []string{
	`SELECT DISTINCT n.serial FROM necks n JOIN inspections i ON i.neck_id = n.id JOIN readings r ON r.inspection_id = i.id GROUP BY i.id HAVING max(r.seq) > count(*)`,
	`SELECT DISTINCT n.serial FROM necks n JOIN inspections i ON i.neck_id = n.id JOIN verdicts v ON v.inspection_id = i.id
		WHERE v.last_seq > (SELECT coalesce(max(seq), 0) FROM readings WHERE inspection_id = i.id)`,
	`SELECT n.serial FROM necks n JOIN inspections i ON i.neck_id = n.id GROUP BY n.id HAVING max(i.attempt) > count(*)`,
	`SELECT serial FROM necks WHERE batch_id NOT IN (SELECT id FROM batches)`,
}

// missedVerdicts finds the necks of verdicts that the trail names and that are not there as they were written.
func (db *DB) missedVerdicts(ctx context.Context, hurt map[string]bool) error {
	entries, err := list(ctx, db.reader, scanAudit, selectAudit+`WHERE what = ? ORDER BY seq`, auditVerdict)
	if err != nil {
		return err
	}
	found := map[int]map[string]bool{}
	for _, e := range entries {
		version, sum, err := digestIn(e.Detail)
		serial, _, _ := strings.Cut(e.About, ", attempt ")
		if err != nil {
			hurt[serial] = true
			continue
		}
		if found[version] == nil {
			if found[version], err = db.digests(ctx, version); err != nil {
				return err
			}
		}
		if !found[version][sum] {
			hurt[serial] = true
		}
	}
	return nil
}

// digests are those of all verdicts that are there, with their inspection and neck.
func (db *DB) digests(ctx context.Context, version int) (map[string]bool, error) {
	rows, err := db.reader.QueryContext(ctx, selectDigested+`WHERE inspection_id IN (SELECT i.id FROM inspections i JOIN necks n ON n.id = i.neck_id) ORDER BY ord`)
	if err != nil {
		return nil, err
	}
	defer func() { _ = rows.Close() }()
	all := map[string]bool{}
	for rows.Next() {
		_, sum, err := digest(ctx, db.reader, version, rows)
		if err != nil {
			return nil, err
		}
		all[sum] = true
	}
	return all, rows.Err()
}
