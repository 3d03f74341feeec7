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
)

// reach is which readings a cause casts doubt on, and which inspections that were taken in without readings.
type reach struct {
	batch.DoubtRange       // a reading's time lies after From, unless it is zero, and not after To; an inspection's without readings its start
	after, upto      int64 // by order number, where upto is not 0: the times are those of inspections without readings then
	first, last      int64 // order numbers of necks that were just taken in; last 0: all necks
}

// place is an inspection that a cause casts doubt on, with the range of its readings; none where it has none.
type place struct {
	inspection, neck, batch string
	after, upto             int64
	followed                bool // a later attempt has a verdict that counts and carries nothing over that rests on those readings
}

// followed is whether a later attempt has a verdict that counts and carries nothing over that a gauge of this one measured, any where it is "".
func followed(gauge string) string {
	return `EXISTS (SELECT 1 FROM inspections l JOIN counting_verdicts v ON v.inspection_id = l.id WHERE l.neck_id = i.neck_id AND l.attempt > i.attempt
		AND NOT EXISTS (SELECT 1 FROM carried k WHERE k.verdict_id = v.id AND k.inspection_id = i.id AND (` + quoted(gauge) + ` = '' OR k.gauge_id = ` + quoted(gauge) + `)))`
}

// reached are the inspections within reach, those with readings first.
func reached(ctx context.Context, q querier, r reach) ([]place, error) {
	scan := func(s scanner) (p place, err error) {
		return p, s.Scan(&p.inspection, &p.neck, &p.batch, &p.after, &p.upto, &p.followed)
	}
	var where []string
	var args []any
	if r.upto != 0 {
		where, args = append(where, `r.ord > ? AND r.ord <= ?`), append(args, r.after, r.upto)
	} else {
		where, args = append(where, `r.at > ? AND r.at <= ?`), append(args, nanos(r.From), nanos(r.To))
	}
	pick := func(condition string, value string) {
		if value != "" {
			where, args = append(where, condition), append(args, value)
		}
	}
	pick(`r.gauge_id = ?`, r.GaugeID)
	pick(`CASE WHEN r.by = '' THEN i.inspector ELSE r.by END = ?`, r.Inspector)
	pick(`n.batch_id = ?`, r.BatchID)
	var all []place
	var err error
	if r.last == 0 { // what was just taken in has no readings
		all, err = list(ctx, q, scan, `SELECT i.id, i.neck_id, n.batch_id, min(r.ord) - 1, max(r.ord), `+followed(r.GaugeID)+`
		FROM standing_readings r JOIN inspections i ON i.id = r.inspection_id JOIN necks n ON n.id = i.neck_id
		WHERE r.kind <> 'sweep' AND `+strings.Join(where, " AND ")+` GROUP BY i.id ORDER BY i.ord`, args...)
	}
	if err != nil {
		return nil, err
	}
	where, args = []string{`i.at > ? AND i.at <= ?`}, []any{nanos(r.From), nanos(r.To)}
	pick(`EXISTS (SELECT 1 FROM verdicts v WHERE v.inspection_id = i.id AND instr(v.gauges, '"gauge":"' || ? || '"') > 0)`, r.GaugeID)
	pick(`i.inspector = ?`, r.Inspector)
	pick(`n.batch_id = ?`, r.BatchID)
	if r.last != 0 {
		where, args = append(where, `n.ord BETWEEN ? AND ?`), append(args, r.first, r.last)
	}
	bare, err := list(ctx, q, scan, `SELECT i.id, i.neck_id, n.batch_id, 0, 0, `+followed(r.GaugeID)+` FROM inspections i JOIN necks n ON n.id = i.neck_id
		WHERE `+strings.Join(where, " AND ")+` AND EXISTS (SELECT 1 FROM verdicts v WHERE v.inspection_id = i.id)
		AND NOT EXISTS (SELECT 1 FROM readings r WHERE r.inspection_id = i.id) ORDER BY i.ord`, args...)
	return append(all, bare...), err
}

// marked counts places.
func marked(all []place) batch.Marked {
	necks := map[string]bool{}
	for _, p := range all {
		if !p.followed {
			necks[p.neck] = true
		}
	}
	return batch.Marked{Necks: len(necks), Inspections: len(all)}
}

// cast keeps a cause, unless it is kept already or there is nothing to cast it on, with a doubt for every place.
func (t *tx) cast(c batch.Cause, all []place) error {
	if len(all) == 0 {
		return nil
	}
	masters, err := mastersText(c.Found.Masters)
	if err != nil {
		return err
	}
	var shift any
	if c.Found.ShiftKnown {
		shift = c.Found.ShiftMM
	}
	if err := t.exec(`INSERT INTO doubt_causes (id, station, at, by, kind, gauge_id, inspector, batch_id, from_at, proof, to_at, why, after, shift_mm, masters)
		SELECT ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15 WHERE NOT EXISTS (SELECT 1 FROM doubt_causes WHERE id = ?1)`,
		c.ID, t.station, nanos(c.At), c.By, string(c.Kind), c.Over.GaugeID, c.Over.Inspector, c.Over.BatchID, nanos(c.From), c.Proof, nanos(c.To), c.Why, c.After,
		shift, masters); err != nil {
		return err
	}
	for _, p := range all {
		id, err := newID()
		if err != nil {
			return err
		}
		if err := t.exec(`INSERT INTO doubts (id, station, at, by, cause_id, gauge_id, inspection_id, neck_id, batch_id, after_reading, upto_reading)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`, id, t.station, nanos(c.At), c.By, c.ID, c.Over.GaugeID, p.inspection, p.neck, p.batch, p.after, p.upto); err != nil {
			return err
		}
	}
	return nil
}

// sinceCheck is what a gauge measured after its newest check and up to now, and when it was proved last: From is the time of its newest
// check that passed. What was taken in without readings goes by that.
type sinceCheck struct {
	reach
	proof string // as in batch.Cause
	stale bool   // the newest check failed: its doubt holds what came before it, and nothing was measured since
}

func (t *tx) sinceCheck(gaugeID string, now time.Time) (sinceCheck, error) {
	s := sinceCheck{reach: reach{DoubtRange: batch.DoubtRange{GaugeID: gaugeID, To: now}}}
	var at, passed int64
	var last sql.NullInt64
	var good bool
	err := t.row(`SELECT at, good, last_reading FROM newest_checks WHERE gauge_id = ?`, gaugeID).Scan(&at, &good, &last)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return s, err
	}
	if checked := err == nil; checked {
		s.stale = !good
		if !last.Valid { // from before that number was kept: by its time
			if err := t.row(`SELECT coalesce(max(ord), 0) FROM readings WHERE at <= ?`, at).Scan(&last); err != nil {
				return s, err
			}
		}
		if err := t.row(`SELECT coalesce(max(at), 0) FROM gauge_checks WHERE ord = (SELECT max(ord) FROM gauge_checks WHERE gauge_id = ? AND good = 1)`, gaugeID).Scan(&passed); err != nil {
			return s, err
		}
	}
	s.after, s.From = last.Int64, instant(passed)
	if passed != 0 {
		s.proof = batch.ProofCheck
	}
	return s, t.row(`SELECT coalesce(max(ord), 0) FROM readings`).Scan(&s.upto)
}

// standing are the inspections in doubts that stand, of the causes that a query picks.
func (t *tx) standing(causes string, args ...any) ([]string, error) {
	return list(t.ctx, t, scanID, `SELECT DISTINCT inspection_id FROM standing_doubts WHERE cause_id IN (`+causes+`)`, args...)
}

// castCheck casts the doubt of a failed check on what its gauge measured since the one before, and counts the inspections, those inspected
// again since with them.
func (t *tx) castCheck(c batch.GaugeCheck, s sinceCheck) (int, error) {
	if s.stale {
		s.From = c.At // what was taken in without readings is in the doubt of the check before
	}
	all, err := reached(t.ctx, t, s.reach)
	if err != nil {
		return 0, err
	}
	return len(all), t.cast(causeOf(c, s), all)
}

// causeOf is a failed check as a cause.
func causeOf(c batch.GaugeCheck, s sinceCheck) batch.Cause {
	return batch.Cause{ID: c.ID, Kind: batch.FailedCheck, At: c.At, By: c.By, From: s.From, Proof: s.proof, To: c.At, Why: c.Why, After: c.After,
		Found: batch.Found{ShiftKnown: c.ZeroJudged, ShiftMM: c.ShiftMM, Masters: c.Masters}, Over: batch.DoubtRange{GaugeID: c.GaugeID}}
}

// drops are a gauge's falls that no check has answered yet.
const drops = `SELECT k.id FROM doubt_causes k WHERE k.gauge_id = ? AND k.kind = 'drop' AND NOT EXISTS (SELECT 1 FROM doubt_answers a WHERE a.cause_id = k.id)`

// castDrop casts the doubt of a drop on what its gauge measured since its newest check, once however often it fell, and counts the
// inspections that it adds, and those that stand in doubt for all its falls since.
func (t *tx) castDrop(e *batch.GaugeEvent) error {
	s, err := t.sinceCheck(e.GaugeID, e.At)
	if err != nil || s.stale {
		return err
	}
	all, err := reached(t.ctx, t, s.reach)
	if err != nil {
		return err
	}
	known, err := list(t.ctx, t, scanID, `SELECT inspection_id FROM doubts WHERE cause_id IN (`+drops+`)`, e.GaugeID)
	if err != nil {
		return err
	}
	doubted := map[string]bool{}
	for _, id := range known {
		doubted[id] = true
	}
	var fresh []place
	for _, p := range all {
		if !doubted[p.inspection] {
			fresh = append(fresh, p)
		}
	}
	e.Doubted = len(fresh)
	if err := t.cast(batch.Cause{ID: e.ID, Kind: batch.Dropped, At: e.At, By: e.By, From: s.From, Proof: s.proof, To: e.At, Why: e.Detail,
		Over: batch.DoubtRange{GaugeID: e.GaugeID}}, fresh); err != nil {
		return err
	}
	standing, err := t.standing(drops, e.GaugeID)
	e.Standing = len(standing)
	return err
}

func scanID(s scanner) (id string, err error) { return id, s.Scan(&id) }

// answerDrops keeps what a check tells of its gauge's falls, and counts the inspections in their doubts that it clears, leaves in doubt, or
// proves while another doubt holds them. The zero before the fall is only the first check's to compare with, so that no later one answers again.
func (t *tx) answerDrops(c *batch.GaugeCheck) error {
	outcome := "not judged"
	switch {
	case !c.Good:
		outcome = "failed"
	case c.ZeroJudged:
		outcome = "proved"
	}
	before, err := t.standing(drops, c.GaugeID)
	if err != nil {
		return err
	}
	open, err := list(t.ctx, t, scanID, drops, c.GaugeID)
	if err != nil {
		return err
	}
	for _, cause := range open {
		id, err := newID()
		if err != nil {
			return err
		}
		if err := t.exec(`INSERT INTO doubt_answers (id, station, at, by, cause_id, check_id, outcome) VALUES (?, ?, ?, ?, ?, ?, ?)`,
			id, t.station, nanos(c.At), c.By, cause, c.ID, outcome); err != nil {
			return err
		}
	}
	if !c.Good {
		return nil
	}
	for _, id := range before {
		var still bool
		if err := t.row(`SELECT EXISTS (SELECT 1 FROM inspections i JOIN standing_doubts d ON d.neck_id = i.neck_id AND d.inspection_id = i.id WHERE i.id = ?)`, id).Scan(&still); err != nil {
			return err
		}
		switch {
		case !still:
			c.Proved++
		case c.ZeroJudged:
			c.StillDoubted++
		default:
			c.Untold++
		}
	}
	return nil
}

// DoubtReach counts what doubt cast over a range would mark, and writes nothing. ErrInput: a range that CastDoubt refuses.
func (db *DB) DoubtReach(ctx context.Context, over batch.DoubtRange) (batch.Marked, error) {
	const what = "counting what a doubt would mark"
	r, err := handReach(over, db.now().UTC())
	if err != nil {
		return batch.Marked{}, fmt.Errorf("%s: %w", what, err)
	}
	all, err := reached(ctx, db.reader, r)
	return marked(all), translate(err, what)
}

// Inspected says whether anything was measured or inspected under a name.
func (db *DB) Inspected(ctx context.Context, inspector string) (known bool, err error) {
	err = db.reader.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM inspections WHERE inspector = ?1) OR EXISTS (SELECT 1 FROM readings WHERE by = ?1)`, inspector).Scan(&known)
	return known, translate(err, "looking for an inspector")
}

// CastDoubt casts doubt over a range by a person's word: rows are added, none is changed. shown is what DoubtReach counted and the
// person saw. ErrInput: no name, no reason, a range that ends before it begins or takes in everything; ErrState: nothing is within it,
// or not what was shown.
func (db *DB) CastDoubt(ctx context.Context, by, reason string, over batch.DoubtRange, shown batch.Marked) (batch.Marked, error) {
	const what = "casting doubt"
	by, reason = strings.TrimSpace(by), strings.TrimSpace(reason)
	if by == "" || reason == "" {
		return batch.Marked{}, fmt.Errorf("%s: %w: it needs a person's name and a reason in words", what, ErrInput)
	}
	var m batch.Marked
	err := db.write(ctx, what, func(t *tx) error {
		if err := t.may(by, batch.CastDoubt); err != nil {
			return err
		}
		r, err := handReach(over, t.at)
		if err != nil {
			return err
		}
		all, err := reached(t.ctx, t, r)
		if err != nil {
			return err
		}
		m = marked(all)
		switch {
		case len(all) == 0:
			return fmt.Errorf("%w: no inspection lies in that range; nothing was marked", ErrState)
		case m != shown:
			return fmt.Errorf("%w: %d necks in %d inspections lie in that range now, shown were %d in %d; look again", ErrState, m.Necks, m.Inspections, shown.Necks, shown.Inspections)
		}
		id, err := newID()
		if err != nil {
			return err
		}
		c := batch.Cause{ID: id, Kind: batch.ByHand, At: t.at, By: by, From: over.From, To: r.To, Why: reason, Over: over}
		if err := t.cast(c, all); err != nil {
			return err
		}
		return t.audit(by, "doubt cast", rangeWords(over), fmt.Sprintf("%d inspections in doubt; %s", m.Inspections, reason))
	})
	if err != nil {
		return batch.Marked{}, err
	}
	return m, nil
}

// handReach is a range as a person gives it; one without an end ends now.
func handReach(over batch.DoubtRange, now time.Time) (reach, error) {
	if over.From.IsZero() && over.To.IsZero() && over.GaugeID == "" && over.Inspector == "" && over.BatchID == "" {
		return reach{}, fmt.Errorf("%w: it would take in everything; give a time, a gauge, an inspector or a batch", ErrInput)
	}
	if over.To.IsZero() {
		over.To = now
	}
	if !over.To.After(over.From) {
		return reach{}, fmt.Errorf("%w: the range ends at %s, before it begins", ErrInput, over.To.Local().Format("2006-01-02 15:04"))
	}
	return reach{DoubtRange: over}, nil
}

// rangeWords are a range in the record's trail.
func rangeWords(over batch.DoubtRange) string {
	var words []string
	for _, w := range []struct{ name, value string }{{"gauge", over.GaugeName}, {"inspector", over.Inspector}, {"batch", over.Batch}} {
		if w.value != "" {
			words = append(words, w.name+" "+w.value)
		}
	}
	for _, w := range []struct {
		name string
		at   time.Time
	}{{"from", over.From}, {"to", over.To}} {
		if !w.at.IsZero() {
			if w.name == "from" {
				w.at = w.at.Add(1) // the range begins just after it
			}
			words = append(words, w.name+" "+w.at.UTC().Format(time.RFC3339))
		}
	}
	return strings.Join(words, ", ")
}

// causeColumns are a cause's, of doubt_causes k; scanCause reads them in this order.
const causeColumns = `k.id, k.kind, k.at, k.by, k.from_at, k.proof, k.to_at, k.why, k.after, k.shift_mm, k.masters, k.gauge_id, k.inspector, k.batch_id,
	coalesce((SELECT name FROM gauge_entries g WHERE g.gauge_id = k.gauge_id ORDER BY g.ord DESC LIMIT 1), k.gauge_id),
	coalesce((SELECT number FROM batches b WHERE b.id = k.batch_id), ''),
	EXISTS (SELECT 1 FROM doubt_answers a WHERE a.cause_id = k.id AND a.outcome = 'not judged')`

// causeScan is where a cause's columns go.
type causeScan struct {
	batch.Cause
	at, from, to int64
	shift        *float64
	masters      string
}

func (c *causeScan) into() []any {
	return []any{&c.ID, &c.Kind, &c.at, &c.By, &c.from, &c.Proof, &c.to, &c.Why, &c.After, &c.shift, &c.masters, &c.Over.GaugeID, &c.Over.Inspector, &c.Over.BatchID,
		&c.Over.GaugeName, &c.Over.Batch, &c.NotJudged}
}

// cause is what was scanned.
func (c *causeScan) cause() (batch.Cause, error) {
	c.At, c.From, c.To = instant(c.at), instant(c.from), instant(c.to)
	c.Over.From, c.Over.To = c.From, c.To
	if c.shift != nil {
		c.Found.ShiftKnown, c.Found.ShiftMM = true, *c.shift
	}
	if c.masters != "" {
		if err := json.Unmarshal([]byte(c.masters), &c.Found.Masters); err != nil {
			return c.Cause, fmt.Errorf("%w: the masters of the doubt's cause %s: %w", ErrCorrupt, c.ID, err)
		}
	}
	return c.Cause, nil
}
