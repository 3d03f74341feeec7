package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"iter"

	"sagitta/batch"
	"sagitta/inspect"
)

// stories writes necks with their past into one batch, many rows to a statement.
type stories struct {
	t                        *tx
	by                       string
	batch                    batch.Batch
	batchOrd                 int64
	firstNeck, neck, verdict int64 // order numbers: the first neck's, and the next ones
	sums                     *tallies
	badges                   badges

	necks, status, inspections, events, climates, verdicts, rework, firsts, audit *rows

	characteristics characteristicRows
	seq             int64 // of the newest audit entry
	hash            string
	serials         [2]string // first and last
	grams           grams
	counts          map[string]int  // of the batch, by the tally's key
	used            map[string]span // when each gauge that is named was used, by its ID
	spare           chan []any      // values that were written, to be filled again
}

// chunk is the values of one INSERT.
type chunk struct {
	rows *rows
	args []any
}

const (
	chunksAhead = 16 // worked out while others are written
	sparesKept  = 2 * chunksAhead
)

func (t *tx) newStories(by string, b batch.Batch) (*stories, error) {
	w := &stories{t: t, by: by, batch: b, sums: newTallies(), characteristics: characteristicRows{t: t}, grams: grams{}, counts: map[string]int{}, used: map[string]span{},
		spare: make(chan []any, sparesKept)}
	if err := t.row(`SELECT ord, (SELECT coalesce(max(ord), 0) + 1 FROM necks), (SELECT coalesce(max(ord), 0) + 1 FROM verdicts),
		(SELECT coalesce(max(seq), 0) FROM audit), coalesce((SELECT hash FROM audit ORDER BY seq DESC LIMIT 1), '') FROM batches WHERE id = ?`, b.ID).
		Scan(&w.batchOrd, &w.neck, &w.verdict, &w.seq, &w.hash); err != nil {
		return nil, err
	}
	var err error
	if w.badges, err = readBadges(t); err != nil {
		return nil, err
	}
	w.firstNeck = w.neck
	w.necks = t.rows(`INSERT INTO necks (ord, id, station, at, by, batch_id, serial)`, 7, "")
	w.status = t.rows(`INSERT INTO neck_status (neck_id, batch_id, `+statusColumns+`)`, 12, "")
	w.inspections = t.rows(`INSERT INTO inspections (id, station, at, inspector, neck_id, attempt, posture, handed)`, 8, "")
	w.events = t.rows(`INSERT INTO inspection_events (id, station, at, by, inspection_id, state, reason)`, 7, "")
	w.climates = t.rows(`INSERT INTO climates (id, station, at, by, inspection_id, temperature_c, humidity_percent)`, 7, "")
	w.verdicts = t.rows(insertVerdictRow, verdictColumns, "")
	w.rework = t.rows(insertRework, reworkInserted, "")
	w.firsts = t.rows(`INSERT INTO neck_first (`+firstColumns+`)`, 17, "")
	w.audit = t.rows(insertAudit, 8, "")
	return w, nil
}

// prepare works stories out beside the writing. fault is to be called after the channel is closed, stop in any case.
func (w *stories) prepare(ctx context.Context, from iter.Seq2[batch.Story, error]) (out <-chan chunk, fault func() error, stop func()) {
	ctx, cancel := context.WithCancel(ctx)
	ch := make(chan chunk, chunksAhead)
	hand := func(r *rows, args []any) error {
		select {
		case ch <- chunk{r, args}:
		case <-ctx.Done():
			return ctx.Err()
		}
		select {
		case r.args = <-w.spare:
		default:
		}
		return nil
	}
	for _, r := range w.tables() {
		r.sink = hand
	}
	w.characteristics.sink = hand
	var failed error
	go func() {
		defer close(ch)
		failed = w.all(from)
	}()
	return ch, func() error { return failed }, func() {
		cancel()
		for range ch { // until the other side has seen it
		}
	}
}

// put writes what prepare worked out.
func (w *stories) put(c chunk) error {
	if c.args == nil {
		return c.rows.close()
	}
	err := c.rows.insert(c.args)
	clear(c.args)
	select {
	case w.spare <- c.args[:0]:
	default:
	}
	return err
}

// all works out every story.
func (w *stories) all(from iter.Seq2[batch.Story, error]) error {
	for s, err := range from {
		if err != nil {
			return err
		}
		r, err := w.ready(s)
		if err != nil {
			return err
		}
		if err := w.write(r); err != nil {
			return err
		}
	}
	if w.neck == w.firstNeck {
		return fmt.Errorf("%w: there is no neck in it", ErrInput)
	}
	if err := w.entry(w.by, "necks registered", w.batch.Number, fmt.Sprintf("%d, %s to %s", w.neck-w.firstNeck, w.serials[0], w.serials[1]), nanos(w.t.at)); err != nil {
		return err
	}
	for _, r := range w.tables() {
		if err := r.end(); err != nil {
			return err
		}
	}
	return w.characteristics.end()
}

// tables are the plain rows, parents before what refers to them.
func (w *stories) tables() []*rows {
	return []*rows{w.necks, w.status, w.inspections, w.events, w.climates, w.verdicts, w.rework, w.firsts, w.audit}
}

// write adds one neck's rows.
func (w *stories) write(r *ready) error {
	registered := r.RegisteredAt
	if registered.IsZero() {
		registered = r.Attempts[0].StartedAt
	}
	if w.serials[0] == "" {
		w.serials[0] = r.Serial
	}
	w.serials[1] = r.Serial
	if err := w.necks.add(w.neck, r.id, w.t.station, nanos(registered), w.by, w.batch.ID, r.Serial); err != nil {
		return err
	}
	var f *first
	var all []inspect.Characteristic
	var st status
	for i := range r.attempts {
		a := &r.attempts[i]
		ord, err := w.attempt(r, i)
		if err != nil {
			return err
		}
		newest := &a.verdicts[len(a.verdicts)-1]
		st.take(attempt{at: nanos(a.StartedAt), judgedAt: nanos(newest.At), inspector: a.Inspector, disposition: newest.Disposition, failing: newest.failing, words: newest.words, state: batch.Finished})
		if f != nil {
			continue
		}
		all = newest.Result.Characteristics
		f = &first{neck: w.neck, batch: w.batchOrd, verdict: ord, inspector: a.Inspector, station: a.Station, gauges: a.gauges, passed: st.firstPass, reason: st.failing}
		f.place(nanos(a.StartedAt))
		f.judge(all)
		if v := a.Climate.TemperatureC; v != nil {
			f.temperature.Float64, f.temperature.Valid = *v, true
		}
		if v := a.Climate.HumidityPercent; v != nil {
			f.humidity.Float64, f.humidity.Valid = *v, true
		}
	}
	f.final = st.disposition == inspect.Pass
	if err := w.sums.add(f, all, 1); err != nil {
		return err
	}
	if err := w.firsts.add(f.args()...); err != nil {
		return err
	}
	if err := w.status.add(append([]any{r.id, w.batch.ID}, st.args()...)...); err != nil {
		return err
	}
	st.count(w.counts)
	w.grams.add(w.neck, r.Serial)
	w.neck++
	return nil
}

// attempt adds the rows of one inspection and returns the order number of its newest verdict.
func (w *stories) attempt(r *ready, i int) (int64, error) {
	a := &r.attempts[i]
	ids := new(nextID)
	started, ended := nanos(a.StartedAt), nanos(a.verdicts[len(a.verdicts)-1].At)
	if err := w.inspections.add(a.id, a.Station, started, a.Inspector, r.id, i+1, a.Posture, a.Handed); err != nil {
		return 0, err
	}
	id, err := ids.next()
	if err != nil {
		return 0, err
	}
	if err := w.events.add(id, a.Station, ended, a.Inspector, a.id, string(batch.Finished), ""); err != nil {
		return 0, err
	}
	if a.Climate != (inspect.Climate{}) {
		if id, err = ids.next(); err != nil {
			return 0, err
		}
		if err := w.climates.add(id, a.Station, started, a.Inspector, a.id, float(a.Climate.TemperatureC), float(a.Climate.HumidityPercent)); err != nil {
			return 0, err
		}
	}
	var ord int64
	for j := range a.verdicts {
		v := &a.verdicts[j]
		ord = w.verdict
		w.verdict++
		if err := w.verdicts.add(ord, v.ID, a.Station, nanos(v.At), a.id, string(v.Disposition), v.DecidedBy, v.Reason, v.result, v.failing, v.words, float(v.relief), v.reliefU, 0, a.gauges); err != nil {
			return 0, err
		}
		if err := w.characteristics.add(ord, v.Result.Characteristics); err != nil {
			return 0, err
		}
		by := v.DecidedBy
		if by == "" {
			by = a.Inspector
		}
		if err := w.entry(by, auditVerdict, attemptWords(r.Serial, i+1), verdictDetail(&v.Verdict, v.digest), nanos(v.At)); err != nil {
			return 0, err
		}
	}
	for _, done := range a.Rework {
		if done.ID, err = ids.next(); err != nil {
			return 0, err
		}
		done.NeckID, done.InspectionID = r.id, a.id
		if err := w.rework.add(reworkArgs(a.Station, &done)...); err != nil {
			return 0, err
		}
		if err := w.entry(done.By, auditRework, r.Serial, reworkDetail(&done), nanos(done.At)); err != nil {
			return 0, err
		}
	}
	return ord, nil
}

// entry adds to the record's trail.
func (w *stories) entry(by, what, about, detail string, at int64) error {
	e := batch.Event{Seq: w.seq + 1, At: instant(at), By: by, What: what, About: about, Detail: detail}
	w.seq++
	w.hash = chain(w.hash, w.t.station, e)
	return w.audit.add(e.Seq, w.t.station, at, by, what, about, detail, w.hash)
}

// taken finds a serial number of these necks that the record had before. The table refuses only what this station registered
// under its present name.
func (w *stories) taken() error {
	var serial string
	err := w.t.row(`SELECT n.serial FROM necks n CROSS JOIN necks o ON o.serial = n.serial AND o.ord < ?1 WHERE n.ord BETWEEN ?1 AND ?2 LIMIT 1`,
		w.firstNeck, w.neck-1).Scan(&serial)
	if errors.Is(err, sql.ErrNoRows) {
		return nil
	}
	if err == nil {
		err = fmt.Errorf("%w: serial number %s", ErrExists, serial)
	}
	return err
}

// finish brings what is kept beside the rows up to date.
func (w *stories) finish() error {
	if err := w.taken(); err != nil {
		return err
	}
	if err := w.t.exec(searchMany, w.firstNeck, w.neck-1); err != nil {
		return err
	}
	if err := w.grams.write(w.t); err != nil {
		return err
	}
	for key, n := range w.counts {
		if err := w.t.exec(`INSERT INTO batch_tally AS o VALUES (?, ?, ?) ON CONFLICT (batch_id, key) DO UPDATE SET n = o.n + excluded.n`, w.batch.ID, key, n); err != nil {
			return err
		}
	}
	return w.sums.write(w.t)
}
