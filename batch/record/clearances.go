package record

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"sagitta/batch"
)

// ClearDoubts notes that a named person clears necks of doubt under one reason, all or none. Each is named with the doubts that the
// person was shown. ErrUnknown: no such neck; ErrState: one is in no doubt, or in others by now; ErrInput: no name, no reason, no neck.
func (db *DB) ClearDoubts(ctx context.Context, by, reason string, group []batch.NeckDoubts) error {
	const what = "clearing of doubt"
	by, reason = strings.TrimSpace(by), strings.TrimSpace(reason)
	switch {
	case len(group) == 0:
		return fmt.Errorf("%s: %w: no neck is among them", what, ErrInput)
	case by == "" || reason == "":
		return fmt.Errorf("%s: %w: it needs a person's name and a reason in words", what, ErrInput)
	}
	return db.write(ctx, what, func(t *tx) error {
		if err := t.may(by, batch.ClearDoubt); err != nil {
			return err
		}
		for _, g := range group {
			doubts, serial, err := t.standingDoubts(g.NeckID)
			if err != nil {
				return err
			}
			if len(doubts) == 0 {
				return fmt.Errorf("%w: %s is in no doubt; nothing was cleared", ErrState, serial)
			}
			if shown := slices.Sorted(slices.Values(g.Doubts)); !slices.Equal(doubts, shown) {
				return fmt.Errorf("%w: what %s is in doubt for has changed meanwhile; nothing was cleared", ErrState, serial)
			}
			if err := t.clearDoubt(by, g.NeckID, serial, reason); err != nil {
				return err
			}
		}
		return nil
	})
}

// standingDoubts are the IDs of the doubts that a neck is in, sorted, and its serial number.
func (t *tx) standingDoubts(neckID string) (ids []string, serial string, err error) {
	if err := t.row(`SELECT serial FROM necks WHERE id = ?`, neckID).Scan(&serial); err != nil {
		return nil, "", unknown(err, "neck", neckID)
	}
	ids, err = list(t.ctx, t, func(s scanner) (id string, err error) { return id, s.Scan(&id) },
		`SELECT id FROM standing_doubts WHERE neck_id = ? ORDER BY id`, neckID)
	return ids, serial, err
}

// clearDoubt clears a neck of the doubts that it is in.
func (t *tx) clearDoubt(by, neckID, serial, reason string) error {
	id, err := newID()
	if err != nil {
		return err
	}
	if err := t.exec(`INSERT INTO doubt_clearances (id, station, at, by, neck_id, last_doubt, reason)
		VALUES (?1, ?2, ?3, ?4, ?5, (SELECT max(ord) FROM standing_doubts WHERE neck_id = ?5), ?6)`, id, t.station, nanos(t.at), by, neckID, reason); err != nil {
		return err
	}
	return t.audit(by, "doubt cleared", serial, reason)
}
