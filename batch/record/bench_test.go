package record

import (
	"fmt"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
)

func BenchmarkAppendReading(b *testing.B) {
	s := newShop(b, serials(1)...)
	in := s.start("QM-2611-0001")
	i := 0
	for b.Loop() {
		i++
		s.read(in, 1+i%22, 0.1)
	}
}

func BenchmarkAppendReadings1000(b *testing.B) {
	s := newShop(b, serials(1)...)
	in := s.start("QM-2611-0001")
	group := make([]batch.Reading, 1000)
	for i := range group {
		group[i] = crown(in, 1+i%22, 0.1)
	}
	for b.Loop() {
		must(s.AppendReadings(s.ctx, group))(b)
	}
	b.ReportMetric(float64(len(group))*float64(b.N)/b.Elapsed().Seconds(), "readings/s")
}

func BenchmarkCounts10000(b *testing.B) {
	s := newShop(b, serials(10_000)...)
	for i := range 200 {
		s.verdict(s.start(fmt.Sprintf("QM-2611-%04d", i+1)), []inspect.Disposition{inspect.Pass, inspect.Rework}[i%2], 0.3+0.2*float64(i%2), 0.3)
	}
	for b.Loop() {
		must(s.Counts(s.ctx, s.batch.ID))(b)
	}
}

func BenchmarkNecks10000(b *testing.B) {
	s := newShop(b, serials(10_000)...)
	for b.Loop() {
		must(s.Necks(s.ctx, s.batch.ID))(b)
	}
}
