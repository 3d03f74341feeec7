package record

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"

	"sagitta/batch"
)

// A gauge's newest entry counts.
const selectGauge = `SELECT g.entry, f.at, g.retired FROM gauge_entries g
	JOIN (SELECT min(ord) AS first, max(ord) AS newest FROM gauge_entries GROUP BY gauge_id) o ON g.ord = o.newest
	JOIN gauge_entries f ON f.ord = o.first `

func scanGauge(s scanner) (batch.Gauge, error) {
	var g batch.Gauge
	var entry string
	var added, retired int64
	if err := s.Scan(&entry, &added, &retired); err != nil {
		return g, err
	}
	if err := json.Unmarshal([]byte(entry), &g); err != nil {
		return g, fmt.Errorf("%w: a gauge's entry: %w", ErrCorrupt, err)
	}
	g.AddedAt, g.RetiredAt = instant(added), instant(retired)
	return g, nil
}

// SaveGauge enters a gauge, or a new revision of the one with the same ID; an empty ID is a new gauge. The same entry
// again changes nothing. ErrInput with every fault of the entry.
func (db *DB) SaveGauge(ctx context.Context, by string, g batch.Gauge) (batch.Gauge, error) {
	what := "saving the gauge " + g.Name
	g.NameKind()
	if faults := g.Check(); len(faults) > 0 {
		err := error(ErrInput)
		for _, f := range faults {
			err = fmt.Errorf("%w; %w", err, f)
		}
		return batch.Gauge{}, fmt.Errorf("%s: %w", what, err)
	}
	var saved batch.Gauge
	err := db.write(ctx, what, func(t *tx) (err error) {
		if err := t.maySave(by, g); err != nil {
			return err
		}
		if g.ID == "" {
			if g.ID, err = newID(); err != nil {
				return err
			}
		}
		saved, err = t.saveGauge(by, "gauge saved", g.UReason, g)
		return err
	})
	if err != nil {
		return batch.Gauge{}, err
	}
	return saved, nil
}

// maySave is as may: whether somebody may save an entry. One whose figures were typed anew takes more than one that sets up a line.
func (t *tx) maySave(by string, g batch.Gauge) error {
	old, err := scanGauge(t.row(selectGauge+`WHERE g.gauge_id = ?`, g.ID))
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	if g.Retyped(old) {
		return t.may(by, batch.TypeU)
	}
	return t.may(by, batch.SetUp)
}

func (t *tx) saveGauge(by, what, reason string, g batch.Gauge) (batch.Gauge, error) {
	retired := nanos(g.RetiredAt)
	find := selectGauge + `WHERE g.gauge_id = ?`
	old, err := scanGauge(t.row(find, g.ID))
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return g, err
	}
	known := err == nil
	g.AddedAt, g.RetiredAt = old.AddedAt, old.RetiredAt
	entry, err := json.Marshal(g)
	if err != nil {
		return g, err
	}
	before, err := json.Marshal(old)
	if err != nil {
		return g, err
	}
	if known && string(before) == string(entry) && retired == nanos(old.RetiredAt) {
		return old, nil
	}
	if err := t.exec(`INSERT INTO gauge_entries (gauge_id, station, at, by, name, entry, retired) VALUES (?, ?, ?, ?, ?, ?, ?)`,
		g.ID, t.station, nanos(t.at), by, g.Name, string(entry), retired); err != nil {
		return g, err
	}
	detail := "sha256 " + sumOf(entry)
	if reason != "" && !g.JudgesAs(old) {
		detail += "; its figures are from: " + reason
	}
	if err := t.audit(by, what, g.Name, detail); err != nil {
		return g, err
	}
	return scanGauge(t.row(find, g.ID))
}

// RetireGauge takes a gauge out of use; its readings and checks stay. ErrUnknown where there is none of that ID.
func (db *DB) RetireGauge(ctx context.Context, by, gaugeID string) error {
	return db.write(ctx, "retiring a gauge", func(t *tx) error {
		if err := t.may(by, batch.RetireGauge); err != nil {
			return err
		}
		g, err := scanGauge(t.row(selectGauge+`WHERE g.gauge_id = ?`, gaugeID))
		if err != nil {
			return unknown(err, "gauge", gaugeID)
		}
		if !g.RetiredAt.IsZero() {
			return fmt.Errorf("%w: %s is retired since %s", ErrState, g.Name, g.RetiredAt.Format("2006-01-02"))
		}
		g.RetiredAt = t.at
		_, err = t.saveGauge(by, "gauge retired", "", g)
		return err
	})
}

// Gauges returns all gauges, retired ones included, in the order in which they were entered.
func (db *DB) Gauges(ctx context.Context) ([]batch.Gauge, error) {
	all, err := list(ctx, db.reader, scanGauge, selectGauge+`ORDER BY o.first`)
	return all, translate(err, "reading the gauges")
}
