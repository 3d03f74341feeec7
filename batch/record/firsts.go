package record

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// first is a row of neck_first: what a neck's first judged inspection says, by its newest verdict.
type first struct {
	neck, batch, verdict int64 // order numbers
	at                   int64
	month                batch.Month
	weekday, hour        int
	inspector, station   string
	gauges               string // []batch.GaugeUse as JSON, "" for none
	temperature          sql.NullFloat64
	humidity             sql.NullFloat64
	passed, final, near  bool
	reason               string
	failing              string // names with blanks between
}

const firstColumns = `neck_ord, batch_ord, verdict_ord, at, month, weekday, hour, inspector, station, gauges, temperature_c, humidity_percent,
	passed, final, near, reason, failing`

func (f *first) into() []any {
	return []any{&f.neck, &f.batch, &f.verdict, &f.at, &f.month, &f.weekday, &f.hour, &f.inspector, &f.station, &f.gauges, &f.temperature,
		&f.humidity, &f.passed, &f.final, &f.near, &f.reason, &f.failing}
}

func (f *first) args() []any {
	return []any{f.neck, f.batch, f.verdict, f.at, f.month, f.weekday, f.hour, f.inspector, f.station, f.gauges, f.temperature,
		f.humidity, f.passed, f.final, f.near, f.reason, f.failing}
}

// place puts the inspection in the station's local time.
func (f *first) place(started int64) { f.placeIn(started, time.Local) }

func (f *first) placeIn(started int64, zone *time.Location) {
	at := instant(started).In(zone)
	f.at, f.month, f.hour, f.weekday = started, batch.MonthOf(at), at.Hour(), (int(at.Weekday())+6)%7+1
}

// judge notes what the verdict's characteristics say.
func (f *first) judge(all []inspect.Characteristic) {
	f.near, f.failing = batch.IsNear(all), strings.Join(batch.Failing(all), " ")
}

// selectFirsts reads the first judged attempt of the shop's batches' necks from the base rows, several attempts to a neck in their order.
const selectFirsts = `SELECT n.ord, b.ord, v.ord, i.at, i.inspector, i.station, i.id, v.last_seq, v.gauges, c.temperature_c, c.humidity_percent,
	v.disposition = 'pass', s.disposition = 'pass', CASE WHEN v.disposition = 'pass' THEN '' ELSE v.failing END, v.result
	FROM necks n CROSS JOIN batches b ON b.id = n.batch_id AND ` + shopBatches + `CROSS JOIN neck_status s ON s.neck_id = n.id CROSS JOIN inspections i ON i.neck_id = n.id
	CROSS JOIN judgements v ON v.inspection_id = i.id
	LEFT JOIN climates c ON c.ord = (SELECT max(ord) FROM climates WHERE inspection_id = i.id) `

// judged is a first with what its row is worked out from.
type judged struct {
	first
	inspection string
	lastSeq    int64
	result     string
	all        []inspect.Characteristic
}

func scanJudged(s scanner) (*judged, error) {
	j := new(judged)
	return j, s.Scan(&j.neck, &j.batch, &j.verdict, &j.at, &j.inspector, &j.station, &j.inspection, &j.lastSeq, &j.gauges, &j.temperature,
		&j.humidity, &j.passed, &j.final, &j.reason, &j.result)
}

// complete works out what is not read.
func (j *judged) complete(ctx context.Context, q querier) (err error) {
	var res struct {
		Characteristics []inspect.Characteristic `json:"characteristics"`
	}
	if err := json.Unmarshal([]byte(j.result), &res); err != nil {
		return fmt.Errorf("%w: a verdict's result: %w", ErrCorrupt, err)
	}
	j.place(j.at)
	j.all = res.Characteristics
	j.judge(j.all)
	if j.gauges == "" {
		j.gauges, err = gaugesOf(ctx, q, j.inspection, j.lastSeq)
	}
	return err
}

// gaugesOf names the gauges of the readings that a verdict rests on, by kind.
func gaugesOf(ctx context.Context, q querier, inspection string, lastSeq int64) (string, error) {
	uses, err := list(ctx, q, func(s scanner) (u batch.GaugeUse, err error) { return u, s.Scan(&u.Kind, &u.GaugeID) },
		`SELECT kind, gauge_id FROM readings r WHERE inspection_id = ? AND seq <= ? AND gauge_id <> '' AND withdrawn = 0
		AND NOT EXISTS (SELECT 1 FROM readings s WHERE s.inspection_id = r.inspection_id AND s.supersedes = r.id AND s.seq <= ?2)
		GROUP BY kind, gauge_id ORDER BY min(seq)`, inspection, lastSeq)
	if err != nil {
		return "", err
	}
	return usesText(uses)
}

func usesText(uses []batch.GaugeUse) (string, error) {
	if len(uses) == 0 {
		return "", nil
	}
	text, err := json.Marshal(uses)
	return string(text), err
}

func parseUses(text string) (uses []batch.GaugeUse, err error) {
	if text == "" {
		return nil, nil
	}
	if err := json.Unmarshal([]byte(text), &uses); err != nil {
		return nil, fmt.Errorf("%w: a verdict's gauges: %w", ErrCorrupt, err)
	}
	return uses, nil
}

// firstOf works out a neck's first judged inspection from the base rows; nil before one.
func firstOf(ctx context.Context, q querier, neckID string) (*judged, error) {
	j, err := scanJudged(q.QueryRowContext(ctx, selectFirsts+`WHERE n.id = ? ORDER BY i.attempt LIMIT 1`, neckID))
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err == nil {
		err = j.complete(ctx, q)
	}
	return j, err
}

// refreshFirst brings a neck's row of neck_first up to date, and the sums over it.
func (t *tx) refreshFirst(neckID string) error {
	now, err := firstOf(t.ctx, t, neckID)
	if err != nil {
		return err
	}
	var old first
	err = t.row(`SELECT `+firstColumns+` FROM neck_first WHERE neck_ord = (SELECT ord FROM necks WHERE id = ?)`, neckID).Scan(old.into()...)
	had := err == nil
	switch {
	case err != nil && !errors.Is(err, sql.ErrNoRows):
		return err
	case !had && now == nil, had && now != nil && old == now.first:
		return nil
	}
	sums := newTallies()
	if had {
		was, err := t.characteristicsOf(old.verdict)
		if err != nil {
			return err
		}
		if err := sums.add(&old, was, -1); err != nil {
			return err
		}
	}
	if had {
		if err := t.exec(`DELETE FROM neck_first WHERE neck_ord = ?`, old.neck); err != nil {
			return err
		}
	}
	if now != nil {
		if err := sums.add(&now.first, now.all, 1); err != nil {
			return err
		}
		if err := t.exec(`INSERT INTO neck_first (`+firstColumns+`) VALUES `+places(17), now.args()...); err != nil {
			return err
		}
	}
	return sums.write(t)
}

func (t *tx) characteristicsOf(verdict int64) ([]inspect.Characteristic, error) {
	var result string
	if err := t.row(`SELECT result FROM verdicts WHERE ord = ?`, verdict).Scan(&result); err != nil {
		return nil, err
	}
	var v batch.Verdict
	if err := parseResult(result, &v); err != nil {
		return nil, err
	}
	return v.Result.Characteristics, nil
}

// countedAtOnce is how many necks of an older record one transaction counts.
const countedAtOnce = 5000

// catchUp brings a record from before neck_first up to date: a part at a time, so that being ended in between loses nothing.
func (db *DB) catchUp(ctx context.Context) error {
	for {
		var counted int
		err := db.write(ctx, "counting the necks of an older record", func(t *tx) (err error) {
			counted, err = t.countSome(ctx)
			return err
		})
		if err != nil || counted < countedAtOnce {
			return err
		}
	}
}

// countSome counts the next necks of an older record and says how many these were.
func (t *tx) countSome(ctx context.Context) (int, error) {
	some, err := list(ctx, t, func(s scanner) (id string, err error) { return id, s.Scan(&id) },
		`SELECT neck_id FROM uncounted ORDER BY neck_id LIMIT ?`, countedAtOnce)
	if err != nil || len(some) == 0 {
		return 0, err
	}
	sums := newTallies()
	for _, id := range some {
		j, err := firstOf(ctx, t, id)
		if err != nil {
			return 0, err
		}
		if j == nil {
			continue
		}
		if err := sums.add(&j.first, j.all, 1); err != nil {
			return 0, err
		}
		if err := t.exec(`INSERT INTO neck_first (`+firstColumns+`) VALUES `+places(17), j.args()...); err != nil {
			return 0, err
		}
	}
	if err := t.exec(`DELETE FROM uncounted WHERE neck_id <= ?`, some[len(some)-1]); err != nil {
		return 0, err
	}
	return len(some), sums.write(t)
}
