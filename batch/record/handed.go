package record

import (
	"context"
	"fmt"
)

// SetHanded notes which hand an inspection's neck is for, "left" or "" for right; the newest note counts. ErrUnknown: no
// such inspection; ErrInput: another word.
func (db *DB) SetHanded(ctx context.Context, by, inspectionID, handed string) error {
	const what = "noting which hand the neck is for"
	if handed != "" && handed != "left" {
		return fmt.Errorf("%s: %w: found %q, allowed are \"left\" and nothing", what, ErrInput, handed)
	}
	return db.write(ctx, what, func(t *tx) error {
		if _, err := scanInspection(t.row(selectInspection+`WHERE i.id = ?`, inspectionID)); err != nil {
			return unknown(err, "inspection", inspectionID)
		}
		id, err := newID()
		if err != nil {
			return err
		}
		return t.exec(`INSERT INTO handings (id, station, at, by, inspection_id, handed) VALUES (?, ?, ?, ?, ?, ?)`,
			id, t.station, nanos(t.at), by, inspectionID, handed)
	})
}
