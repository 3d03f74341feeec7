package record

import (
	"context"
	"fmt"
	"strings"

	"sagitta/batch"
)

// AddNote keeps what somebody leaves for the next shift. ErrInput: there is no text, or nobody is named.
func (db *DB) AddNote(ctx context.Context, by, text string) (batch.ShiftNote, error) {
	n := batch.ShiftNote{By: by, Text: strings.TrimSpace(text)}
	if n.By == "" || n.Text == "" {
		return n, fmt.Errorf("leaving a note for the next shift: %w: it takes a name and a text", ErrInput)
	}
	err := db.write(ctx, "leaving a note for the next shift", func(t *tx) (err error) {
		n.At = t.at
		if n.ID, err = newID(); err != nil {
			return err
		}
		if err := t.exec(`INSERT INTO shift_notes (id, station, at, by, text) VALUES (?, ?, ?, ?, ?)`, n.ID, t.station, nanos(n.At), n.By, n.Text); err != nil {
			return err
		}
		return t.audit(by, "note for the next shift", n.ID, n.Text)
	})
	return n, err
}

// Notes returns the newest notes, newest first.
func (db *DB) Notes(ctx context.Context, most int) ([]batch.ShiftNote, error) {
	all, err := list(ctx, db.reader, func(s scanner) (n batch.ShiftNote, err error) {
		var at int64
		err = s.Scan(&n.ID, &at, &n.By, &n.Text)
		n.At = instant(at)
		return n, err
	}, `SELECT id, at, by, text FROM shift_notes ORDER BY ord DESC LIMIT ?`, most)
	return all, translate(err, "reading the notes")
}
