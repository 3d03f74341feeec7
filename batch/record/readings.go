package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"sagitta/batch"
)

// insertReading gives the row the next place in its inspection and returns it.
const insertReading = `INSERT INTO readings (id, station, at, by, inspection_id, seq, kind, track, fret, string, held_fret, round, value, u, u_repeat,
	withdrawn, supersedes, reason, gauge_id, check_id, decoder, raw, "offset", sent, unit, decoded, foot1_mm, foot2_mm, plunger_mm, laying)
	SELECT ?1, ?2, ?3, ?4, ?5, coalesce(max(seq), 0) + 1, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18, ?19, ?20, ?21, ?22,
	?23, ?24, ?25, ?26, ?27, ?28, ?29 FROM readings WHERE inspection_id = ?5 RETURNING seq`

const readingColumns = `r.id, r.at, r.by, r.inspection_id, r.seq, r.kind, r.track, r.fret, r.string, r.held_fret, r.round, r.value, r.u, r.u_repeat,
	r.withdrawn, coalesce(r.supersedes, ''), r.reason, r.gauge_id, r.check_id, r.decoder, r.raw, r."offset", r.sent, r.unit, r.decoded,
	r.foot1_mm, r.foot2_mm, r.plunger_mm, r.laying`

func readingInto(r *batch.Reading, at *int64) []any {
	return []any{&r.ID, at, &r.By, &r.InspectionID, &r.Seq, &r.Point.Kind, &r.Point.Track, &r.Point.Fret, &r.Point.String, &r.Point.HeldFret,
		&r.Round, &r.Value, &r.U, &r.URepeat, &r.Withdrawn, &r.Supersedes, &r.Reason, &r.GaugeID, &r.CheckID, &r.Decoder, &r.Raw, &r.Offset,
		&r.Sent, &r.Unit, &r.Decoded, &r.FeetMM[0], &r.FeetMM[1], &r.PlungerMM, &r.Laying}
}

func scanReading(s scanner) (batch.Reading, error) {
	var r batch.Reading
	var at int64
	err := s.Scan(readingInto(&r, &at)...)
	r.At = instant(at)
	return r, err
}

// AppendReading keeps one reading and returns it with its ID, Seq, Round and At filled in, once it is on the disk.
// Errors: ErrInput (a number that is not finite, no such inspection or superseded reading), ErrDiskFull, ErrNotWritten, ErrDisk.
func (db *DB) AppendReading(ctx context.Context, r batch.Reading) (batch.Reading, error) {
	what := "keeping the reading of " + string(r.Point.Kind)
	var kept []batch.Reading
	err := db.write(ctx, what, func(t *tx) (err error) {
		db.evidence.firm = true
		kept, err = db.keep(t, []batch.Reading{r})
		return err
	})
	if err != nil {
		return batch.Reading{}, err
	}
	return kept[0], nil
}

// AppendReadings keeps readings in the order given, all or none, in one commit.
func (db *DB) AppendReadings(ctx context.Context, readings []batch.Reading) ([]batch.Reading, error) {
	var kept []batch.Reading
	err := db.write(ctx, fmt.Sprintf("keeping %d readings", len(readings)), func(t *tx) (err error) {
		db.evidence.firm = true
		kept, err = db.keep(t, readings)
		return err
	})
	return kept, err
}

// TakeBack keeps rows that take readings of one inspection back and opens the inspection again where it is finished, all or nothing,
// in one commit. Errors as those of AppendReadings and of SetInspectionState.
func (db *DB) TakeBack(ctx context.Context, by, inspectionID string, rows []batch.Reading) ([]batch.Reading, error) {
	var kept []batch.Reading
	err := db.write(ctx, "taking readings back", func(t *tx) error {
		in, err := scanInspection(t.row(selectInspection+`WHERE i.id = ?`, inspectionID))
		if err != nil {
			return unknown(err, "inspection", inspectionID)
		}
		if in.State == batch.Finished {
			if err := t.state(by, in, batch.Open, "last reading taken back"); err != nil {
				return err
			}
		}
		kept, err = db.keep(t, rows)
		return err
	})
	return kept, err
}

// keep adds readings in the order given and returns them complete, nil where one is refused.
func (db *DB) keep(t *tx, readings []batch.Reading) ([]batch.Reading, error) {
	kept := make([]batch.Reading, len(readings))
	insert := t.StmtContext(t.ctx, db.insert)
	for i, r := range readings {
		if err := db.complete(&r); err != nil {
			return nil, err
		}
		if r.Supersedes != "" {
			var other string
			err := t.row(`SELECT inspection_id FROM readings WHERE id = ?`, r.Supersedes).Scan(&other)
			if errors.Is(err, sql.ErrNoRows) || err == nil && other != r.InspectionID {
				return nil, fmt.Errorf("%w: the reading it replaces or takes back, %s, is not of this inspection", ErrInput, r.Supersedes)
			}
			if err != nil {
				return nil, err
			}
		}
		args := db.readingArgs(r)
		if slices.ContainsFunc(args, holdsNUL) {
			db.evidence.firm, db.evidence.sums = false, map[string]*rowsSum{}
		}
		if err := insert.QueryRowContext(t.ctx, args...).Scan(&r.Seq); err != nil {
			return nil, unfit(err)
		}
		kept[i] = r
	}
	return kept, nil
}

// complete fills in what the record gives a reading and refuses what is no number.
func (db *DB) complete(r *batch.Reading) error {
	for _, v := range []float64{r.Value, r.U, r.URepeat, r.Decoded, r.FeetMM[0], r.FeetMM[1], r.PlungerMM} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("%w: found %g, allowed are finite numbers", ErrInput, v)
		}
	}
	if r.Withdrawn && r.Supersedes == "" && r.Reason == "" {
		return fmt.Errorf("%w: a point that is left out needs a reason", ErrInput)
	}
	if r.ID == "" {
		var err error
		if r.ID, err = newID(); err != nil {
			return err
		}
	}
	if r.At.IsZero() {
		r.At = db.now()
	}
	r.At = instant(nanos(r.At))
	r.Round = max(r.Round, 1)
	return nil
}

// holdsNUL says whether a value is a text with a NUL, which is not seen whole as it is written.
func holdsNUL(v any) bool {
	switch v := v.(type) {
	case string:
		return strings.IndexByte(v, 0) >= 0
	case batch.Kind:
		return strings.IndexByte(string(v), 0) >= 0
	}
	return false
}

func (db *DB) readingArgs(r batch.Reading) []any {
	return []any{r.ID, db.station, nanos(r.At), r.By, r.InspectionID, r.Point.Kind, r.Point.Track, r.Point.Fret, r.Point.String, r.Point.HeldFret,
		r.Round, r.Value, r.U, r.URepeat, r.Withdrawn, optional(r.Supersedes), r.Reason, r.GaugeID, r.CheckID, r.Decoder, r.Raw, r.Offset,
		r.Sent, r.Unit, r.Decoded, r.FeetMM[0], r.FeetMM[1], r.PlungerMM, r.Laying}
}

// unfit gives a broken reference its sentence.
func unfit(err error) error {
	if orphaned(err) {
		return fmt.Errorf("%w: the record has no such inspection (%v)", ErrInput, err)
	}
	return err
}

// Readings returns an inspection's readings in the order in which they were taken, superseded ones included.
func (db *DB) Readings(ctx context.Context, inspectionID string) ([]batch.Reading, error) {
	all, err := readingsOf(ctx, db.reader, inspectionID)
	return all, translate(err, "reading an inspection's readings")
}

func readingsOf(ctx context.Context, q querier, inspectionID string) ([]batch.Reading, error) {
	return list(ctx, q, scanReading, `SELECT `+readingColumns+` FROM readings r WHERE r.inspection_id = ? ORDER BY r.seq`, inspectionID)
}
