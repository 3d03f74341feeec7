package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"sagitta/batch"
	"sagitta/batch/files"
)

// A revision's newest row counts; it is frozen by the first batch opened against it.
const selectSpec = `SELECT s.id, s.name, s.revision, s.text, s.at, s.by,
	coalesce((SELECT min(b.at) FROM batches b WHERE b.spec_id = s.id), 0), s.file, s.reason FROM specs s `

func scanSpec(s scanner) (batch.SpecRevision, error) {
	var r batch.SpecRevision
	var added, frozen int64
	var file string
	if err := s.Scan(&r.ID, &r.Name, &r.Revision, &r.Text, &added, &r.AddedBy, &frozen, &file, &r.Reason); err != nil {
		return r, err
	}
	r.AddedAt, r.FrozenAt = instant(added), instant(frozen)
	spec, err := files.ReadSpec(file, []byte(r.Text))
	if err == nil {
		r.Spec = spec.WithDefaults()
	}
	return r, err
}

// AddSpec reads and checks a specification and keeps it, with the reason for which it was made, "" for none. The same text again returns the revision that is there;
// another text of a revision that no batch uses yet takes its place (under a new ID, the old row stays); ErrFrozen where
// a batch uses it. What is wrong with the text is returned as ReadSpec finds it.
func (db *DB) AddSpec(ctx context.Context, by, reason, file string, text []byte) (batch.SpecRevision, error) {
	spec, err := files.ReadSpec(file, text)
	if err != nil {
		return batch.SpecRevision{}, err
	}
	r := batch.SpecRevision{Name: spec.Name, Revision: spec.Revision, Text: string(text), Spec: spec.WithDefaults(), AddedBy: by, Reason: reason}
	err = db.write(ctx, fmt.Sprintf("adding %s, revision %s", r.Name, r.Revision), func(t *tx) error {
		if err := t.may(by, batch.ReleaseSpec); err != nil {
			return err
		}
		return t.addSpec(by, file, &r)
	})
	if err != nil {
		return batch.SpecRevision{}, err
	}
	return r, nil
}

// addSpec adds a revision, or finds the one of the same text.
func (t *tx) addSpec(by, file string, r *batch.SpecRevision) error {
	old, err := scanSpec(t.row(selectSpec+`WHERE s.name = ? AND s.revision = ? ORDER BY s.ord DESC LIMIT 1`, r.Name, r.Revision))
	what := "specification added"
	switch {
	case errors.Is(err, sql.ErrNoRows):
	case err != nil:
		return err
	case old.Text == r.Text:
		*r = old
		return nil
	case !old.FrozenAt.IsZero():
		return fmt.Errorf("%w: %s, revision %s, is used by a batch since %s; give the text a new revision",
			ErrFrozen, r.Name, r.Revision, old.FrozenAt.Format("2006-01-02 15:04 MST"))
	default:
		what = "specification replaced"
	}
	if r.ID, err = newID(); err != nil {
		return err
	}
	r.AddedAt = t.at
	if err := t.exec(`INSERT INTO specs (id, station, at, by, name, revision, file, text, reason) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		r.ID, t.station, nanos(t.at), by, r.Name, r.Revision, file, r.Text, r.Reason); err != nil {
		return err
	}
	return t.audit(by, what, r.Name+", revision "+r.Revision, strings.TrimSuffix("sha256 "+sumOf([]byte(r.Text))+"; "+r.Reason, "; "))
}

// Specs returns the newest text of every revision, by name and then in the order in which revisions were first added; those of visits, which are an
// instrument's own, are none of them.
func (db *DB) Specs(ctx context.Context) ([]batch.SpecRevision, error) {
	all, err := list(ctx, db.reader, scanSpec, selectSpec+
		`JOIN (SELECT max(ord) AS newest, min(ord) AS first FROM specs GROUP BY name, revision) g ON s.ord = g.newest
		WHERE NOT EXISTS (SELECT 1 FROM batches b JOIN visits v ON v.batch_id = b.id WHERE b.spec_id = s.id) ORDER BY s.name, g.first`)
	return all, translate(err, "reading the specifications")
}

// Spec returns one revision by its ID; ErrUnknown where there is none.
func (db *DB) Spec(ctx context.Context, id string) (batch.SpecRevision, error) {
	r, err := scanSpec(db.reader.QueryRowContext(ctx, selectSpec+`WHERE s.id = ?`, id))
	return r, unknown(err, "specification", id)
}

// unknown gives a missing row its sentence.
func unknown(err error, kind, id string) error {
	if errors.Is(err, sql.ErrNoRows) {
		return fmt.Errorf("%s %q: %w", kind, id, ErrUnknown)
	}
	return translate(err, "reading "+kind+" "+id)
}
