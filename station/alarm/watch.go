package alarm

import (
	"context"
	"errors"
	"iter"
	"log/slog"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/inspect"
	"sagitta/station/bench"
)

// Record is what the watch reads, and where it keeps what it raises.
type Record interface {
	Counts(ctx context.Context, batchID string) (batch.Counts, error)
	Characteristics(ctx context.Context, s batch.Scope, name string, split batch.Split) ([]batch.CharacteristicRow, error)
	Series(ctx context.Context, f batch.SeriesFilter) iter.Seq2[batch.SeriesPoint, error]
	Base(ctx context.Context, batchID string) (batch.ChartBase, error)
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

// newest is how many of a batch's newest necks a signal is looked for among, unmeasured ones included: the tests look
// back over fifteen at most.
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
	for _, g := range all {
		if g.ID != id {
			continue
		}
		checks, err := w.rec.GaugeChecks(ctx, id)
		if err != nil {
			return nil, err
		}
		if a := drift(g, checks); a != nil {
			return []batch.Alarm{*a}, nil
		}
	}
	return nil, nil
}

// batch looks at a batch of which a verdict has just been recorded.
func (w *watch) batch(ctx context.Context, b batch.Batch, serial string) (found []batch.Alarm, err error) {
	counts, err := w.rec.Counts(ctx, b.ID)
	if err != nil {
		return nil, err
	}
	watched := b.Spec.Spec.WithDefaults().Alarms
	for _, a := range []*batch.Alarm{yield(b, *watched.LeastNecks, counts), undecided(b, w.run, counts.Inspected, serial)} {
		if a != nil {
			found = append(found, *a)
		}
	}
	base, err := w.rec.Base(ctx, b.ID)
	if err != nil || counts.Inspected <= base.Last || len(watched.Tests) == 0 {
		return found, err
	}
	tests := spc.TestsOf(watched.Tests...)
	for _, name := range watched.Characteristics {
		rows, err := w.rec.Characteristics(ctx, batch.Scope{BatchID: b.ID}, name, batch.SplitNone)
		if err != nil {
			return found, err
		}
		for _, r := range rows {
			points, err := w.points(ctx, b.ID, r.Named, base.Last)
			if err != nil {
				return found, err
			}
			if len(points) == 0 || points[len(points)-1].Serial != serial {
				continue
			}
			title := inspect.Words(b.Spec.Spec.WithDefaults(), inspect.Characteristic{Name: r.Name, Track: r.Track, String: r.String, Fret: r.Fret, HeldFret: r.HeldFret, Unit: r.Unit})
			a, err := signal(b, tests, r.Key(), strings.ToUpper(title[:1])+title[1:], points, base, counts.Inspected)
			if err != nil {
				return found, err
			}
			if a != nil {
				found = append(found, *a)
			}
		}
	}
	return found, nil
}

// points are the measured first values of a characteristic in their order: those up to the base's last, and the newest.
// What lies between is left out of a large batch: no test looks back so far.
func (w *watch) points(ctx context.Context, batchID string, n batch.Named, base int) ([]batch.SeriesPoint, error) {
	var points []batch.SeriesPoint
	known := map[string]bool{}
	take := func(newest, most int) error {
		for p, err := range w.rec.Series(ctx, batch.SeriesFilter{Scope: batch.Scope{BatchID: batchID}, Named: n, Newest: newest}) {
			if err != nil {
				return err
			}
			if p.Value == nil || known[p.Serial] {
				continue
			}
			known[p.Serial] = true
			if points = append(points, p); len(points) == most {
				return nil
			}
		}
		return nil
	}
	if err := take(0, base); err != nil {
		return nil, err
	}
	return points, take(newest, 0)
}
