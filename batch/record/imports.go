package record

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"iter"

	"sagitta/batch"
	"sagitta/inspect"
)

// AppendStories keeps necks with their past in one batch: all or none, in one commit, with an entry in the record's trail for
// the set, one for each verdict and one for each rework action. imp gives BatchID, Origin, Source and SHA256; its ID, At,
// By, Necks and Checks are filled in. What a gauge measured that a check on record found wrong later is in doubt. stories end with the first error, which is returned. ErrUnknown: no such batch; ErrState: it
// is closed; ErrExists: a file of that SHA256 was imported before, or a serial number is taken or somebody's badge; ErrInput: a story that
// lacks a serial number, an attempt, an inspector or a verdict, or ends with remeasure.
func (db *DB) AppendStories(ctx context.Context, by string, imp batch.Import, stories iter.Seq2[batch.Story, error]) (batch.Import, error) {
	err := db.write(ctx, "taking in "+imp.Source, func(t *tx) error {
		b, err := t.takesIn(ctx, by, imp)
		if err != nil {
			return err
		}
		imp.At, imp.By = t.at, by
		if imp.ID, err = newID(); err != nil {
			return err
		}
		if err := t.parentsLater(); err != nil {
			return err
		}
		w, err := t.newStories(by, b)
		if err != nil {
			return err
		}
		chunks, fault, stop := w.prepare(ctx, stories)
		defer stop()
		for c := range chunks {
			if err := w.put(c); err != nil {
				return err
			}
		}
		if err := fault(); err != nil {
			return err
		}
		imp.Necks = int(w.neck - w.firstNeck)
		if err := w.finish(); err != nil {
			return err
		}
		if imp.Checks, err = t.checksOf(w.used, w.firstNeck, w.neck-1); err != nil {
			return err
		}
		checks, err := json.Marshal(imp.Checks)
		if err != nil {
			return err
		}
		if err := t.exec(`INSERT INTO imports (id, station, at, by, batch_id, origin, source, sha256, first_neck, last_neck, checks) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
			imp.ID, t.station, nanos(t.at), by, b.ID, imp.Origin, imp.Source, imp.SHA256, w.firstNeck, w.neck-1, string(checks)); err != nil {
			return err
		}
		return t.audit(by, "necks "+string(imp.Origin), b.Number, fmt.Sprintf("from %s, without readings, necks: %d, sha256 %s", imp.Source, imp.Necks, imp.SHA256))
	})
	if repeated(err) {
		err = fmt.Errorf("taking in %s: %w: a serial number in it (%v)", imp.Source, ErrExists, err)
	}
	if err != nil {
		return batch.Import{}, err
	}
	return imp, nil
}

// takesIn finds the batch of an import and sees that somebody may take it in, that the batch is open and that the file was not taken in before.
func (t *tx) takesIn(ctx context.Context, by string, imp batch.Import) (batch.Batch, error) {
	if err := t.may(by, batch.OpenBatch); err != nil {
		return batch.Batch{}, err
	}
	b, err := findBatch(ctx, t, `WHERE b.id = ?`, imp.BatchID)
	if err != nil {
		return b, err
	}
	if !b.ClosedAt.IsZero() {
		return b, fmt.Errorf("%w: batch %s is closed", ErrState, b.Number)
	}
	before, err := imported(ctx, t, imp.SHA256)
	if err == nil && before != nil {
		err = fmt.Errorf("%w: the same file was imported as %s on %s by %s", ErrExists, before.Source, before.At.Format("2006-01-02"), before.By)
	}
	return b, err
}

const selectImport = `SELECT id, batch_id, origin, source, sha256, at, by, last_neck - first_neck + 1, checks FROM imports `

func scanImport(s scanner) (batch.Import, error) {
	var m batch.Import
	var at int64
	var checks string
	err := s.Scan(&m.ID, &m.BatchID, &m.Origin, &m.Source, &m.SHA256, &at, &m.By, &m.Necks, &checks)
	m.At = instant(at)
	if err == nil && checks != "" {
		if err = json.Unmarshal([]byte(checks), &m.Checks); err != nil {
			err = fmt.Errorf("%w: what is known of the gauges of %s: %w", ErrCorrupt, m.Source, err)
		}
	}
	return m, err
}

func imported(ctx context.Context, q querier, sum string) (*batch.Import, error) {
	return oneImport(q.QueryRowContext(ctx, selectImport+`WHERE sha256 = ? AND sha256 <> '' ORDER BY ord LIMIT 1`, sum))
}

func oneImport(row *sql.Row) (*batch.Import, error) {
	m, err := scanImport(row)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	return &m, err
}

// Imports returns what a batch's necks were taken in from, the oldest first; all batches' where batchID is empty.
func (db *DB) Imports(ctx context.Context, batchID string) ([]batch.Import, error) {
	all, err := list(ctx, db.reader, scanImport, selectImport+`WHERE batch_id = ?1 OR ?1 = '' ORDER BY ord`, batchID)
	return all, translate(err, "reading the imports")
}

// ImportOf returns the import of a file by its SHA-256 in hex; nil where there is none.
func (db *DB) ImportOf(ctx context.Context, sum string) (*batch.Import, error) {
	m, err := imported(ctx, db.reader, sum)
	return m, translate(err, "reading the imports")
}

// checkStory says what a story lacks.
func checkStory(s *batch.Story) error {
	bad := func(format string, args ...any) error {
		return fmt.Errorf("%w: the story of %q: %s", ErrInput, s.Serial, fmt.Sprintf(format, args...))
	}
	switch {
	case s.Serial == "":
		return bad("it has no serial number")
	case len(s.Attempts) == 0:
		return bad("it has no inspection")
	}
	for i := range s.Attempts {
		a := &s.Attempts[i]
		if a.Inspector == "" || a.StartedAt.IsZero() || len(a.Verdicts) == 0 {
			return bad("attempt %d lacks its inspector, its time or its verdict", i+1)
		}
		if last := a.Verdicts[len(a.Verdicts)-1]; last.Disposition == inspect.Remeasure || last.Disposition == "" && last.Result != nil && last.Result.Disposition == inspect.Remeasure {
			return bad("attempt %d ends undecided", i+1)
		}
	}
	return nil
}
