package alarm

import (
	"context"
	"iter"
	"log/slog"
	"strings"

	"sagitta/batch"
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

// mostPoints is how many necks a signal is looked for among: the newest, with the batch's base before them.
const mostPoints = 5000

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
	run      int    // undecided verdicts in a row
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
		if w.run++; s.Verdict.Disposition != inspect.Remeasure {
			w.run = 0
		}
		more, err := w.batch(ctx, *s.Batch, s.Serial)
		if err != nil {
			return false, err
		}
		found = append(found, more...)
	}
	for _, a := range found {
		kept, err := w.rec.RaiseAlarm(ctx, a)
		if err != nil {
			return raised, err
		}
		raised = raised || kept
	}
	return raised, nil
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
	for _, a := range []*batch.Alarm{yield(b, counts), undecided(b, w.run, counts.Inspected, serial)} {
		if a != nil {
			found = append(found, *a)
		}
	}
	base, err := w.rec.Base(ctx, b.ID)
	if err != nil || counts.Inspected <= base.Last {
		return found, err
	}
	for _, name := range watched {
		rows, err := w.rec.Characteristics(ctx, batch.Scope{BatchID: b.ID}, name, batch.SplitNone)
		if err != nil {
			return found, err
		}
		for _, r := range rows {
			points, err := w.points(ctx, b.ID, r.Named)
			if err != nil {
				return found, err
			}
			if len(points) == 0 || points[len(points)-1].Serial != serial || len(points) > mostPoints {
				continue
			}
			title := inspect.Words(b.Spec.Spec.WithDefaults(), inspect.Characteristic{Name: r.Name, Track: r.Track, String: r.String, Fret: r.Fret, HeldFret: r.HeldFret, Unit: r.Unit})
			a, err := signal(b, r.Key(), strings.ToUpper(title[:1])+title[1:], points, base, counts.Inspected)
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

// points are the measured first values of a characteristic, in their order.
func (w *watch) points(ctx context.Context, batchID string, n batch.Named) ([]batch.SeriesPoint, error) {
	var points []batch.SeriesPoint
	for p, err := range w.rec.Series(ctx, batch.SeriesFilter{Scope: batch.Scope{BatchID: batchID}, Named: n, Newest: mostPoints + 1}) {
		if err != nil {
			return nil, err
		}
		if p.Value != nil {
			points = append(points, p)
		}
	}
	return points, nil
}
