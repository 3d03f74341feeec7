package alarm

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"strconv"
	"time"

	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/batch/tell"
	"sagitta/batch/watched"
	"sagitta/inspect"
	"sagitta/station/bench"
)

// Record is what the watch reads, and where it keeps what it raises.
type Record interface {
	Counts(ctx context.Context, batchID string) (batch.Counts, error)
	Characteristics(ctx context.Context, s batch.Scope, name string, split batch.Split) ([]batch.CharacteristicRow, error)
	watched.Record
	Gauges(ctx context.Context) ([]batch.Gauge, error)
	GaugeChecks(ctx context.Context, gaugeID string) ([]batch.GaugeCheck, error)
	RaiseAlarm(ctx context.Context, a batch.Alarm) (raised bool, err error)
}

// Bench is what the watch follows and tells.
type Bench interface {
	Snapshot() *bench.Snapshot
	Watch() (changed <-chan struct{}, stop func())
	ReloadAlarms(ctx context.Context) error
}

// newest is how many of a batch's newest necks a signal is looked for among, unmeasured ones included: the run tests look
// back over fifteen at most, and of what lies further back the average has kept 1/70000.
const newest = 50

// Watch looks after every verdict and every check of a gauge, until ctx ends. It never keeps the bench waiting; what it
// cannot look at is logged.
func Watch(ctx context.Context, rec Record, b Bench) {
	changed, stop := b.Watch()
	defer stop()
	w := watch{rec: rec}
	for {
		raised, err := w.look(ctx, b.Snapshot())
		if err != nil && ctx.Err() == nil {
			slog.Error("looking for alarms failed", "error", err)
		}
		if raised {
			if err := b.ReloadAlarms(ctx); err != nil && ctx.Err() == nil {
				slog.Error("the alarms cannot be shown", "error", err)
			}
		}
		select {
		case <-ctx.Done():
			return
		case <-changed:
		}
	}
}

// watch remembers what it has looked at.
type watch struct {
	rec      Record
	verdict  string // newest verdict's ID
	checking string // gauge whose check is running
	of       string // ID of the batch that the run is of
	newest   time.Time
	run      int // undecided verdicts in a row, as they were computed; a person's word on one neither adds nor ends
}

// look follows one change of the bench.
func (w *watch) look(ctx context.Context, s *bench.Snapshot) (raised bool, err error) {
	var found []batch.Alarm
	if checking := checkOf(s); checking != w.checking {
		if w.checking != "" {
			if found, err = w.gauge(ctx, w.checking); err != nil {
				return false, err
			}
		}
		w.checking = checking
	}
	if s.Verdict != nil && s.Batch != nil && s.Verdict.ID != w.verdict {
		w.verdict = s.Verdict.ID
		w.count(s)
		var more []batch.Alarm
		more, err = w.batch(ctx, *s.Batch, s.Serial)
		found = append(found, more...)
	}
	for _, a := range found { // what was found before something failed is raised all the same
		kept, failed := w.rec.RaiseAlarm(ctx, a)
		err, raised = errors.Join(err, failed), raised || kept
	}
	return raised, err
}

// count counts undecided verdicts in a row. One that comes back to the bench with its neck is not counted again.
func (w *watch) count(s *bench.Snapshot) {
	if w.of != s.Batch.ID {
		w.of, w.run = s.Batch.ID, 0
	}
	if s.Verdict.DecidedBy != "" || !s.Verdict.At.After(w.newest) {
		return
	}
	w.newest = s.Verdict.At
	if w.run++; s.Verdict.Disposition != inspect.Remeasure {
		w.run = 0
	}
}

func checkOf(s *bench.Snapshot) string {
	if s.Check == nil {
		return ""
	}
	return s.Check.GaugeID
}

// gauge looks at a gauge whose check has just ended.
func (w *watch) gauge(ctx context.Context, id string) ([]batch.Alarm, error) {
	all, err := w.rec.Gauges(ctx)
	if err != nil {
		return nil, err
	}
	i := slices.IndexFunc(all, func(g batch.Gauge) bool { return g.ID == id })
	if i < 0 {
		return nil, nil
	}
	checks, err := w.rec.GaugeChecks(ctx, id)
	if err != nil {
		return nil, err
	}
	d := drift(checks)
	if d == nil {
		return nil, nil
	}
	a := batch.Alarm{Kind: batch.DriftAlarm, Subject: "drift/" + id, GaugeID: id, Seen: len(checks)}
	a.Words, a.LookAt = tell.DriftAlarm(all[i].Name, *d)
	return []batch.Alarm{a}, nil
}

// batch looks at a batch of which a verdict has just been recorded.
func (w *watch) batch(ctx context.Context, b batch.Batch, serial string) (found []batch.Alarm, err error) {
	counts, err := w.rec.Counts(ctx, b.ID)
	if err != nil {
		return nil, err
	}
	spec := b.Spec.Spec.WithDefaults()
	here := batch.Alarm{BatchID: b.ID, Seen: counts.Inspected}
	for _, short := range shortfalls(spec.Plan, *spec.Alarms.LeastNecks, counts) {
		a := here
		a.Kind, a.Subject = batch.YieldAlarm, "yield/"+b.ID
		if short.Reason != "" {
			a.Subject = "reason/" + b.ID + "/" + short.Reason
		}
		a.Words, a.LookAt = tell.YieldAlarm(b.Number, short)
		found = append(found, a)
	}
	if w.run >= undecidedRun {
		a := here
		a.Kind, a.Subject, a.Serial = batch.UndecidedAlarm, "undecided/"+b.ID, serial
		a.Words, a.LookAt = tell.UndecidedAlarm(b.Number, w.run)
		found = append(found, a)
	}
	signals, err := w.signals(ctx, b, spec, here, serial)
	return append(found, signals...), err
}

// signals looks for signals at a neck's values; here is an alarm of the batch to be filled in.
func (w *watch) signals(ctx context.Context, b batch.Batch, spec *inspect.Spec, here batch.Alarm, serial string) (found []batch.Alarm, err error) {
	base, err := w.rec.Base(ctx, b.ID)
	if err != nil || here.Seen <= base.Last || len(spec.Alarms.Tests) == 0 && !*spec.Alarms.EWMA || len(spec.Alarms.Characteristics) == 0 {
		return nil, err
	}
	rows, err := w.rec.Characteristics(ctx, batch.Scope{BatchID: b.ID}, "", batch.SplitNone)
	if err != nil {
		return nil, err
	}
	rows = slices.DeleteFunc(rows, func(r batch.CharacteristicRow) bool { return !slices.Contains(spec.Alarms.Characteristics, r.Name) })
	all, err := watched.Read(ctx, w.rec, b.ID, rows, base, newest)
	if err != nil {
		return nil, err
	}
	for i := range all {
		s := &all[i]
		if last := len(s.Serials) - 1; last < base.Last || s.Serials[last] != serial {
			continue
		}
		chart, err := s.Watch(base, watched.Chosen(spec.Alarms, len(all)))
		if errors.Is(err, spc.ErrTies) {
			continue
		}
		if err != nil {
			return found, err
		}
		for _, signal := range signals(chart) {
			signal.From, signal.At, signal.To = s.Place(signal.From), s.Place(signal.At), s.Place(signal.To)
			found = append(found, signalAlarm(here, b.Number, spec, s.Named, serial, signal, tell.Watch{Characteristics: len(all), Every: chart.Every() / float64(len(all))}))
		}
	}
	return found, nil
}

// signalAlarm fills in the alarm of a signal at a characteristic's newest point.
func signalAlarm(a batch.Alarm, number string, spec *inspect.Spec, n batch.Named, serial string, s spc.Signal, w tell.Watch) batch.Alarm {
	test := strconv.Itoa(s.Test)
	if s.Chart == spc.EWMAKind {
		test = string(s.Chart)
	}
	a.Kind, a.Subject = batch.SignalAlarm, fmt.Sprintf("signal/%s/%s/%s", a.BatchID, n.Key(), test)
	a.About, a.Serial = n.Key(), serial
	title := inspect.Words(spec, inspect.Characteristic{Name: n.Name, Track: n.Track, String: n.String, Fret: n.Fret, HeldFret: n.HeldFret, Unit: n.Unit})
	a.Words, a.LookAt = tell.SignalAlarm(number, title, serial, n.Unit, s, w)
	return a
}
