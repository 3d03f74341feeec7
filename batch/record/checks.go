package record

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"sagitta/batch"
)

const selectCheck = `SELECT c.id, c.gauge_id, c.at, c.by, c.zero_mm, c.shift_mm, c.master_mm, c.error_mm, c.good, c.why, c.after, c.raw_zero, c.raw_master,
	c.masters, c.unit, c.zero_sent_mm, c.zero_judged, (SELECT count(*) FROM doubts d WHERE d.cause_id = c.id),
	(SELECT count(*) FROM doubt_answers a JOIN doubts d ON d.cause_id = a.cause_id WHERE a.check_id = c.id AND a.outcome = 'proved'),
	(SELECT count(*) FROM doubt_answers a JOIN doubts d ON d.cause_id = a.cause_id WHERE a.check_id = c.id AND a.outcome = 'not judged') FROM gauge_checks c `

// scanCheck reads a check. One from the time of a single master has it in columns of its own; one from before it was kept whether
// the zero was judged was so unless something had happened that may have moved it.
func scanCheck(s scanner) (batch.GaugeCheck, error) {
	var c batch.GaugeCheck
	var at int64
	var read, deviation *float64
	var raw []byte
	var masters string
	var judged *bool
	if err := s.Scan(&c.ID, &c.GaugeID, &at, &c.By, &c.ZeroMM, &c.ShiftMM, &read, &deviation, &c.Good, &c.Why, &c.After, &c.RawZero, &raw, &masters, &c.Unit, &c.ZeroSentMM, &judged, &c.Doubted, &c.Proved, &c.Untold); err != nil {
		return c, err
	}
	c.At = instant(at)
	c.ZeroJudged = judged != nil && *judged || judged == nil && !batch.ZeroSuspect(c.After)
	if masters != "" {
		if err := json.Unmarshal([]byte(masters), &c.Masters); err != nil {
			return c, fmt.Errorf("%w: the masters of gauge check %s: %w", ErrCorrupt, c.ID, err)
		}
	} else if read != nil && deviation != nil {
		c.Masters = []batch.MasterReading{{NominalMM: *read - *deviation, ReadMM: *read, Raw: raw}}
	}
	return c, nil
}

// AppendGaugeCheck keeps a check, good or not (its ID and At are filled in). A failed one puts every inspection in doubt
// that rests on the gauge's readings since the check before; Doubted counts them. A doubt of a drop ends with it where it proves the
// gauge (Proved), goes on as the failed check's, or stays where the zero was not judged (Untold). ErrUnknown where there is no gauge of
// that ID.
func (db *DB) AppendGaugeCheck(ctx context.Context, c batch.GaugeCheck) (batch.GaugeCheck, error) {
	err := db.write(ctx, "keeping a gauge check", func(t *tx) error {
		var name string
		if err := t.row(`SELECT name FROM gauge_entries WHERE gauge_id = ? ORDER BY ord DESC LIMIT 1`, c.GaugeID).Scan(&name); err != nil {
			return unknown(err, "gauge", c.GaugeID)
		}
		if c.ID == "" {
			var err error
			if c.ID, err = newID(); err != nil {
				return err
			}
		}
		if c.At.IsZero() {
			c.At = t.at
		}
		c.At = instant(nanos(c.At))
		since, err := t.sinceCheck(c.GaugeID, c.At)
		if err != nil {
			return err
		}
		if err := t.insertCheck(&c, since.upto); err != nil {
			return err
		}
		if err := t.answerDrops(&c); err != nil {
			return err
		}
		outcome := "passed"
		if !c.Good {
			if c.Doubted, err = t.castCheck(c, since); err != nil {
				return err
			}
			standing, err := t.standing(`?`, c.ID)
			if err != nil {
				return err
			}
			outcome = fmt.Sprintf("failed, inspections in doubt: %d", len(standing))
		}
		return t.audit(c.By, "gauge check", name, fmt.Sprintf("%s: zero %g mm, shift %g mm; %s", outcome, c.ZeroMM, c.ShiftMM, c.Why))
	})
	if err != nil {
		return batch.GaugeCheck{}, err
	}
	return c, nil
}

// insertCheck keeps a check's row; the gauge's newest reading before it is known by its order number.
func (t *tx) insertCheck(c *batch.GaugeCheck, lastReading int64) error {
	masters, err := mastersText(c.Masters)
	if err != nil {
		return err
	}
	return t.exec(`INSERT INTO gauge_checks (id, station, at, by, gauge_id, zero_mm, shift_mm, good, why, after, raw_zero, masters, unit, last_reading, zero_sent_mm, zero_judged)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`, c.ID, t.station, nanos(c.At), c.By, c.GaugeID, c.ZeroMM, c.ShiftMM,
		c.Good, c.Why, c.After, c.RawZero, masters, c.Unit, lastReading, c.ZeroSentMM, c.ZeroJudged)
}

// mastersText is a check's masters as kept, "" where none was read.
func mastersText(masters []batch.MasterReading) (string, error) {
	if len(masters) == 0 {
		return "", nil
	}
	text, err := json.Marshal(masters)
	if err != nil {
		return "", fmt.Errorf("%w: %v", ErrInput, err)
	}
	return string(text), nil
}

// GaugeChecks returns a gauge's checks, the oldest first.
func (db *DB) GaugeChecks(ctx context.Context, gaugeID string) ([]batch.GaugeCheck, error) {
	all, err := list(ctx, db.reader, scanCheck, selectCheck+`WHERE c.gauge_id = ? ORDER BY c.ord`, gaugeID)
	return all, translate(err, "reading a gauge's checks")
}

// LatestCheck returns a gauge's newest check, nil before one.
func (db *DB) LatestCheck(ctx context.Context, gaugeID string) (*batch.GaugeCheck, error) {
	c, err := scanCheck(db.reader.QueryRowContext(ctx, selectCheck+`WHERE c.ord = (SELECT ord FROM newest_checks WHERE gauge_id = ?)`, gaugeID))
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, translate(err, "reading a gauge's check")
	}
	return &c, nil
}

// AppendGaugeEvent keeps what happened to a gauge (its ID and At are filled in). A drop puts every inspection in doubt that rests on
// the gauge's readings since its newest check, which passed, until its next one; Doubted counts those that no drop since
// that check had, Standing all that stand so. ErrUnknown where there is no gauge of that ID; ErrInput where it is not one of the causes of a check that an event can be.
func (db *DB) AppendGaugeEvent(ctx context.Context, e batch.GaugeEvent) (batch.GaugeEvent, error) {
	const what = "keeping what happened to a gauge"
	if !batch.ZeroSuspect(e.What) && e.What != batch.CheckNotWatched {
		return batch.GaugeEvent{}, fmt.Errorf("%s: %w: found %q", what, ErrInput, e.What)
	}
	err := db.write(ctx, what, func(t *tx) (err error) {
		var name string
		if err := t.row(`SELECT name FROM gauge_entries WHERE gauge_id = ? ORDER BY ord DESC LIMIT 1`, e.GaugeID).Scan(&name); err != nil {
			return unknown(err, "gauge", e.GaugeID)
		}
		if e.ID, err = newID(); err != nil {
			return err
		}
		if e.At.IsZero() {
			e.At = t.at
		}
		e.At = instant(nanos(e.At))
		if err := t.exec(`INSERT INTO gauge_events (id, station, at, by, gauge_id, what, detail, check_id)
			VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, coalesce((SELECT id FROM newest_checks WHERE gauge_id = ?5), ''))`,
			e.ID, t.station, nanos(e.At), e.By, e.GaugeID, e.What, e.Detail); err != nil {
			return err
		}
		detail := e.Detail
		if e.What == batch.CheckDrop {
			if err = t.castDrop(&e); err != nil {
				return err
			}
			detail += fmt.Sprintf("; %d inspections in doubt until its next check", e.Standing)
		}
		return t.audit(e.By, "gauge "+e.What, name, detail)
	})
	if err != nil {
		return batch.GaugeEvent{}, err
	}
	return e, nil
}

const eventColumns = `e.id, e.gauge_id, e.at, e.by, e.what, e.detail, (SELECT count(*) FROM doubts d WHERE d.cause_id = e.id)`

func scanEvent(s scanner) (batch.GaugeEvent, error) {
	var e batch.GaugeEvent
	var at int64
	err := s.Scan(&e.ID, &e.GaugeID, &at, &e.By, &e.What, &e.Detail, &e.Doubted)
	e.At = instant(at)
	return e, err
}

// GaugeEvents returns what happened to a gauge, the oldest first.
func (db *DB) GaugeEvents(ctx context.Context, gaugeID string) ([]batch.GaugeEvent, error) {
	all, err := list(ctx, db.reader, scanEvent, `SELECT `+eventColumns+` FROM gauge_events e WHERE gauge_id = ? ORDER BY ord`, gaugeID)
	return all, translate(err, "reading what happened to a gauge")
}

// EventsSinceCheck returns what happened to a gauge since its newest check, the oldest first.
func (db *DB) EventsSinceCheck(ctx context.Context, gaugeID string) ([]batch.GaugeEvent, error) {
	all, err := list(ctx, db.reader, scanEvent, `SELECT `+eventColumns+` FROM unanswered_events e WHERE gauge_id = ? ORDER BY ord`, gaugeID)
	return all, translate(err, "reading what happened to a gauge")
}

// LastSeen is when the record was written last, zero for an empty one: the last sign of a station that has since stopped.
func (db *DB) LastSeen(ctx context.Context) (time.Time, error) {
	var at int64
	err := db.reader.QueryRowContext(ctx, `SELECT max(at) FROM (
		SELECT coalesce((SELECT at FROM audit ORDER BY seq DESC LIMIT 1), 0) AS at
		UNION ALL SELECT coalesce((SELECT at FROM readings ORDER BY ord DESC LIMIT 1), 0)
		UNION ALL SELECT coalesce((SELECT at FROM inspections ORDER BY ord DESC LIMIT 1), 0))`).Scan(&at)
	return instant(at), translate(err, "reading when the station was last at work")
}

// Stopped notes that the station ends its work, so that its next start knows since when no gauge was watched.
func (db *DB) Stopped(ctx context.Context) error {
	return db.write(ctx, "noting the station's end", func(t *tx) error { return t.audit("", "station stopped", t.station, "") })
}
