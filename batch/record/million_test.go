package record

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/history"
	"sagitta/inspect"
)

var historyEnd = time.Date(2026, 11, 20, 16, 0, 0, 0, time.UTC)

func planOf(b testing.TB, n int) *history.Shop {
	b.Helper()
	return must(history.New(history.Options{Necks: n, End: historyEnd, Seed: 7}))(b)
}

// fill writes an invented history into a new record at path.
func fill(b testing.TB, path string, plan *history.Shop) {
	b.Helper()
	ctx := b.Context()
	db := must(Open(path, Options{Station: "bench 1", Filling: true}))(b)
	specs := map[string]batch.SpecRevision{}
	for _, text := range plan.Specs {
		spec := must(db.AddSpec(ctx, history.Manager, "", "history.toml", text))(b)
		specs[spec.Name+spec.Revision] = spec
	}
	for _, p := range plan.Batches {
		spec := specs[p.SpecName+p.Revision]
		opened := must(db.OpenBatch(ctx, history.Manager, batch.Batch{Number: p.Number, Spec: spec}, nil))(b)
		must(db.AppendStories(ctx, history.Manager, batch.Import{BatchID: opened.ID, Origin: batch.Invented, Source: p.Number}, plan.Stories(p, spec.Spec)))(b)
	}
	if err := db.Close(); err != nil {
		b.Fatal(err)
	}
}

func BenchmarkFill(b *testing.B) {
	for _, n := range []int{10_000, 100_000} {
		b.Run(strconv.Itoa(n), func(b *testing.B) {
			plan := planOf(b, n)
			for b.Loop() {
				fill(b, filepath.Join(b.TempDir(), "record.db"), plan)
			}
			b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "necks/s")
		})
	}
}

// largeRecord names a record to measure too, e.g. of a million necks: made with sagitta demo --history 1000000 --out FOLDER,
// it is FOLDER/record.db.
const largeRecord = "SAGITTA_RECORD"

// BenchmarkQueries measures what the pages ask, in records of 10,000 and 100,000 necks and in the one that largeRecord names.
func BenchmarkQueries(b *testing.B) {
	dir := b.TempDir()
	paths := []string{os.Getenv(largeRecord)}
	if paths[0] == "" {
		paths = nil
		for _, n := range []int{10_000, 100_000} {
			path := filepath.Join(dir, fmt.Sprintf("%d.db", n))
			fill(b, path, planOf(b, n))
			paths = append(paths, path)
		}
	}
	for _, path := range paths {
		db := must(Open(path, Options{Station: "bench 1"}))(b)
		queries(b, filepath.Base(path), db)
		if err := db.Close(); err != nil {
			b.Fatal(err)
		}
		b.Run(filepath.Base(path)+"/open", func(b *testing.B) {
			for b.Loop() {
				if err := must(Open(path, Options{Station: "bench 1"}))(b).Close(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func queries(b *testing.B, name string, db *DB) {
	ctx := b.Context()
	all := must(db.Batches(ctx))(b)
	largest := all[0]
	for _, x := range all {
		if x.Counts.Registered > largest.Counts.Registered {
			largest = x
		}
	}
	one, model, everything := batch.Scope{BatchID: largest.ID}, batch.Scope{SpecName: largest.Spec.Name}, batch.Scope{}
	relief := batch.Named{Name: "relief", Track: "bass", Fret: 7}
	gauges := must(db.Breakdown(ctx, one, batch.ByGauge))(b)
	serial := must(db.NeckPage(ctx, batch.NeckFilter{BatchID: largest.ID, Limit: 1}))(b).Necks[0].Serial
	series := func(f batch.SeriesFilter) error {
		for _, err := range db.Series(ctx, f) {
			if err != nil {
				return err
			}
		}
		return nil
	}
	var newest time.Time // the first of the newest 5000
	for p, err := range db.Series(ctx, batch.SeriesFilter{Scope: one, Named: relief, Newest: 5000}) {
		if err != nil {
			b.Fatal(err)
		}
		newest = p.At
		break
	}
	page := func(f batch.NeckFilter) error {
		f.BatchID, f.Limit = largest.ID, 500
		_, err := db.NeckPage(ctx, f)
		return err
	}
	for _, q := range []struct {
		what string
		ask  func() error
	}{
		{"batches", func() error { _, err := db.Batches(ctx); return err }},
		{"batch counts", func() error { _, err := db.Counts(ctx, largest.ID); return err }},
		{"batch necks", func() error { return page(batch.NeckFilter{}) }},
		{"batch necks, later page", func() error { return page(batch.NeckFilter{Offset: largest.Counts.Registered - 500}) }},
		{"batch necks by reason", func() error { return page(batch.NeckFilter{Firsts: is(batch.ByReason, "relief")}) }},
		{"batch necks by all filters", func() error {
			return page(batch.NeckFilter{Disposition: inspect.Pass, Firsts: slices.Concat(is(batch.ByReason, "relief"), is(batch.ByHour, "09"), is(batch.ByGauge, gauges[0].Value), is(batch.ByNear, "near"))})
		}},
		{"batch necks in doubt", func() error { return page(batch.NeckFilter{InDoubt: true}) }},
		{"batch series, newest 5000", func() error { return series(batch.SeriesFilter{Scope: one, Named: relief, Newest: 5000}) }},
		{"batch breakdown", func() error { _, err := db.Breakdown(ctx, one, batch.ByInspector); return err }},
		{"batch characteristics", func() error { _, err := db.Characteristics(ctx, one, "", batch.SplitGauge); return err }},
		{"batch loops", func() error { _, err := db.Loops(ctx, largest.ID, 5000); return err }},
		{"batch not conforming", func() error { _, err := db.NotConforming(ctx, largest.ID, newest); return err }},
		{"batch values of a name, newest 5000", func() error {
			for _, err := range db.NeckValues(ctx, largest.ID, relief.Name, 5000) {
				if err != nil {
					return err
				}
			}
			return nil
		}},
		{"batch rework outcomes", func() error { _, err := db.ReworkOutcomes(ctx, largest.ID, 5000); return err }},
		{"trend", func() error { _, err := db.Trend(ctx, everything); return err }},
		{"trend of a model", func() error { _, err := db.Trend(ctx, model); return err }},
		{"breakdown of all", func() error { _, err := db.Breakdown(ctx, everything, batch.ByHumidity); return err }},
		{"characteristics of all by month", func() error { _, err := db.Characteristics(ctx, everything, "", batch.SplitMonth); return err }},
		{"characteristics of all by gauge", func() error { _, err := db.Characteristics(ctx, everything, "relief", batch.SplitGauge); return err }},
		{"series of a model, newest 5000", func() error { return series(batch.SeriesFilter{Scope: model, Named: relief, Newest: 5000}) }},
		{"search whole serial", func() error { _, err := db.SearchNecks(ctx, serial, 201); return err }},
		{"search part", func() error { _, err := db.SearchNecks(ctx, serial[len(serial)-7:], 201); return err }},
		{"search common part", func() error { _, err := db.SearchNecks(ctx, "QM-", 201); return err }},
		{"search absent part", func() error { _, err := db.SearchNecks(ctx, "XYZ", 201); return err }},
		{"search absent letter", func() error { _, err := db.SearchNecks(ctx, "Z", 201); return err }},
		{"neck's story", func() error { _, err := db.NeckStory(ctx, serial); return err }},
		{"trail", func() error { _, err := db.Trail(ctx, batch.TrailFilter{Limit: 100}); return err }},
		{"trail of a neck", func() error { _, err := db.Trail(ctx, batch.TrailFilter{Serial: serial, Limit: 100}); return err }},
		{"trail of a batch", func() error {
			_, err := db.Trail(ctx, batch.TrailFilter{Batch: largest.Number, Limit: 100})
			return err
		}},
		{"trail of the first batch", func() error {
			_, err := db.Trail(ctx, batch.TrailFilter{Batch: all[len(all)-1].Number, Limit: 100})
			return err
		}},
		{"trail of a person", func() error {
			_, err := db.Trail(ctx, batch.TrailFilter{Person: history.Manager, Limit: 100})
			return err
		}},
		{"trail of a person's rework", func() error {
			_, err := db.Trail(ctx, batch.TrailFilter{Person: history.Manager, Matter: batch.OfRework, Limit: 100})
			return err
		}},
		{"trail of what is rare", func() error {
			_, err := db.Trail(ctx, batch.TrailFilter{Matter: batch.OfBatches, Limit: 100})
			return err
		}},
		{"trail of a month", func() error {
			_, err := db.Trail(ctx, batch.TrailFilter{From: historyEnd.AddDate(0, -12, 0), To: historyEnd.AddDate(0, -11, 0), Limit: 100})
			return err
		}},
		{"rod model", func() error { _, err := db.RodModel(ctx, largest.Spec.Name, ""); return err }},
	} {
		b.Run(name+"/"+q.what, func(b *testing.B) {
			for b.Loop() {
				if err := q.ask(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
