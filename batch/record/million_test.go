package record

import (
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/history"
)

// invented makes a record of n invented necks and returns it open for the pages, with its shop.
func invented(b testing.TB, n int) (*shop, *history.Shop) {
	b.Helper()
	plan := must(history.New(history.Options{Necks: n, End: time.Date(2026, 11, 20, 16, 0, 0, 0, time.UTC), Seed: 7}))(b)
	s := &shop{TB: b, ctx: b.Context(), path: filepath.Join(b.TempDir(), "record.db")}
	fill(s, plan)
	s.DB = must(Open(s.path, Options{Station: "bench 1"}))(b)
	b.Cleanup(func() { _ = s.Close() })
	return s, plan
}

// fill writes a plan into a new record.
func fill(s *shop, plan *history.Shop) {
	s.Helper()
	db := must(Open(s.path, Options{Station: "bench 1", Filling: true}))(s)
	specs := map[string]batch.SpecRevision{}
	for _, text := range plan.Specs {
		spec := must(db.AddSpec(s.ctx, history.Manager, "history.toml", text))(s)
		specs[spec.Name+spec.Revision] = spec
	}
	for _, p := range plan.Batches {
		spec := specs[p.SpecName+p.Revision]
		opened := must(db.OpenBatch(s.ctx, history.Manager, batch.Batch{Number: p.Number, Spec: spec}, nil))(s)
		must(db.AppendStories(s.ctx, history.Manager, batch.Import{BatchID: opened.ID, Origin: batch.Invented, Source: p.Number}, plan.Stories(p, spec.Spec)))(s)
	}
	s.ok(db.Close())
}

// sizes are how many necks the benchmarks are run with; SAGITTA_NECKS adds a larger one, e.g. 1000000.
func sizes() []int {
	all := []int{10_000, 100_000}
	if n, err := strconv.Atoi(os.Getenv("SAGITTA_NECKS")); err == nil {
		all = append(all, n)
	}
	return all
}

func BenchmarkFill(b *testing.B) {
	for _, n := range sizes() {
		b.Run(strconv.Itoa(n), func(b *testing.B) {
			plan := must(history.New(history.Options{Necks: n, End: time.Date(2026, 11, 20, 16, 0, 0, 0, time.UTC), Seed: 7}))(b)
			for b.Loop() {
				s := &shop{TB: b, ctx: b.Context(), path: filepath.Join(b.TempDir(), "record.db")}
				fill(s, plan)
			}
			b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "necks/s")
		})
	}
}
