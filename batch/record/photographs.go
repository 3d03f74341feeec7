package record

import (
	"context"
	"fmt"
	"strings"

	"sagitta/batch"
)

// AddPhotographs keeps what is known of photographs of one instrument, whose files are there: of all or of none. ErrUnknown: no such instrument or visit;
// ErrInput: a pin that cannot be, or a digest that is none.
func (db *DB) AddPhotographs(ctx context.Context, by, serial string, all []batch.Photograph) error {
	return db.about(ctx, "keeping "+photographsOf(len(all)), by, serial, batch.Measure, func(t *tx) error {
		for _, p := range all {
			p.Serial = serial
			if err := t.addPhotograph(by, p); err != nil {
				return err
			}
		}
		return nil
	})
}

func photographsOf(n int) string {
	if n == 1 {
		return "a photograph"
	}
	return fmt.Sprintf("%d photographs", n)
}

func (t *tx) addPhotograph(by string, p batch.Photograph) (err error) {
	if !batch.IsPin(p.Pin) {
		return fmt.Errorf("%w: found %q as what a photograph shows; allowed: visit, fret 1 to 99, string 1 to 99", ErrInput, batch.Shown(p.Pin))
	}
	if len(p.Digest) != 64 || strings.Trim(p.Digest, "0123456789abcdef") != "" {
		return fmt.Errorf("%w: found %q as a photograph's SHA-256", ErrInput, batch.Shown(p.Digest))
	}
	if p.Caption, err = words("caption", p.Caption, true); err != nil {
		return err
	}
	if err := t.isVisit(p.Serial, p.VisitID); err != nil {
		return err
	}
	if err := t.fact(`INSERT INTO photographs (id, station, at, by, serial, visit_id, pin, digest, width, height, bytes, caption) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		by, p.Serial, p.VisitID, p.Pin, p.Digest, p.Width, p.Height, p.Bytes, p.Caption); err != nil {
		return err
	}
	return t.audit(by, "photograph kept", p.Serial, strings.TrimSuffix(p.Pin+"; "+p.Caption, "; "))
}

// HidePhotograph takes a photograph out of sight; its file and rows stay. ErrUnknown; ErrState: it was before; ErrInput: no reason.
func (db *DB) HidePhotograph(ctx context.Context, by, id, reason string) error {
	return db.write(ctx, "taking a photograph out of sight", func(t *tx) error {
		if err := t.may(by, batch.Measure); err != nil {
			return err
		}
		var serial, pin string
		var hidden bool
		if err := t.row(`SELECT serial, pin, EXISTS (SELECT 1 FROM photograph_ends e WHERE e.photograph_id = p.id) FROM photographs p WHERE id = ?`, id).Scan(&serial, &pin, &hidden); err != nil {
			return unknown(err, "photograph", id)
		}
		if hidden {
			return fmt.Errorf("%w: the photograph is out of sight", ErrState)
		}
		reason, err := words("reason", reason, false)
		if err != nil {
			return err
		}
		if err := t.fact(`INSERT INTO photograph_ends (id, station, at, by, photograph_id, words) VALUES (?, ?, ?, ?, ?, ?)`, by, id, reason); err != nil {
			return err
		}
		return t.audit(by, "photograph taken out of sight", serial, pin+": "+reason)
	})
}

// Photographs returns an instrument's photographs that are in sight, the oldest first.
func (db *DB) Photographs(ctx context.Context, serial string) ([]batch.Photograph, error) {
	all, err := list(ctx, db.reader, scanPhotograph, selectPhotograph+`WHERE serial = ? AND NOT EXISTS (SELECT 1 FROM photograph_ends e WHERE e.photograph_id = p.id) ORDER BY ord`, serial)
	return all, translate(err, "reading the photographs of "+serial)
}

// Photograph returns one photograph by its digest, in sight or not; ErrUnknown where the record knows none.
func (db *DB) Photograph(ctx context.Context, digest string) (batch.Photograph, error) {
	p, err := scanPhotograph(db.reader.QueryRowContext(ctx, selectPhotograph+`WHERE digest = ? ORDER BY ord LIMIT 1`, digest))
	return p, unknown(err, "photograph", digest)
}

// AllPhotographs returns every photograph that the record knows, in sight or not: their files belong to it.
func (db *DB) AllPhotographs(ctx context.Context) ([]batch.Photograph, error) {
	const what = "reading the photographs"
	if has, err := hasTable(ctx, db.reader, "photographs"); err != nil || !has { // an older record, as it lies
		return nil, translate(err, what)
	}
	all, err := list(ctx, db.reader, scanPhotograph, selectPhotograph+`ORDER BY ord`)
	return all, translate(err, what)
}

const selectPhotograph = `SELECT id, serial, visit_id, pin, digest, width, height, bytes, caption, at, by FROM photographs p `

func scanPhotograph(s scanner) (p batch.Photograph, err error) {
	var at int64
	err = s.Scan(&p.ID, &p.Serial, &p.VisitID, &p.Pin, &p.Digest, &p.Width, &p.Height, &p.Bytes, &p.Caption, &at, &p.By)
	p.At = instant(at)
	return p, err
}
