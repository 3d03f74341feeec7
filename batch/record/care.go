package record

import (
	"context"
	"fmt"
	"strings"
	"time"

	"sagitta/batch"
)

// NoteFound notes in the trail what a verification found to be not as it was written.
func (db *DB) NoteFound(ctx context.Context, found string) error {
	return db.write(ctx, "noting what a verification found", func(t *tx) error { return t.audit("station", "record found not whole", "", found) })
}

// NoteLooked notes that somebody looked at what a verification found, and what came of it. ErrInput: no name or no note.
func (db *DB) NoteLooked(ctx context.Context, by, found, note string) error {
	const what = "noting that somebody looked at what a verification found"
	if by, note = strings.TrimSpace(by), strings.TrimSpace(note); by == "" || note == "" {
		return fmt.Errorf("%s: %w: it takes a name, and a note that says what was looked at and what is done about it", what, ErrInput)
	}
	return db.write(ctx, what, func(t *tx) error {
		if err := t.may(by, batch.ReadTrail); err != nil {
			return err
		}
		return t.audit(by, "finding looked at", found, note)
	})
}

// NoteRestored notes that this record is a copy that was brought back: from which file, made at which time, with what its station was.
func (db *DB) NoteRestored(ctx context.Context, file string, made time.Time, entries int64) error {
	return db.write(ctx, "noting that a copy was brought back", func(t *tx) error {
		return t.audit(batch.AtTheMachine, "record restored", file, fmt.Sprintf("made at %s, with %d entries; what was recorded after that is missing here", made.UTC().Format(time.RFC3339), entries))
	})
}
