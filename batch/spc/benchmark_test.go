package spc

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

// draw is n Normal values about 10 with sigma 1, seeded.
func draw(n int) []float64 {
	rng := rand.New(rand.NewPCG(1, uint64(n)))
	x := make([]float64, n)
	for i := range x {
		x[i] = 10 + rng.NormFloat64()
	}
	return x
}

func benchmark(b *testing.B, what func(x []float64) error) {
	for _, n := range []int{10_000, 100_000, 1_000_000} {
		x := draw(n)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				if err := what(x); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/value")
		})
	}
}

func BenchmarkIndividuals(b *testing.B) {
	benchmark(b, func(x []float64) error { _, err := Individuals(x, Options{Base: Base{1, 100}}); return err })
}

func BenchmarkXbarS(b *testing.B) {
	groups := map[int][][]float64{}
	benchmark(b, func(x []float64) error {
		g := groups[len(x)]
		if g == nil {
			for i := 0; i < len(x); i += 5 {
				g = append(g, x[i:i+5])
			}
			groups[len(x)] = g
		}
		_, err := XbarS(g, Options{})
		return err
	})
}

func BenchmarkCUSUM(b *testing.B) {
	benchmark(b, func(x []float64) error { _, err := CUSUM(x, Sums{K: 0.5, H: 5}, Options{}); return err })
}

// The signals of a process that has shifted for good: every later point is outside.
func BenchmarkSignals(b *testing.B) {
	benchmark(b, func(x []float64) error {
		c, err := CUSUM(x, Sums{K: 0.5, H: 5}, Options{Center: point(8.0)})
		if err == nil && len(c.Signals()) == 0 {
			err = fmt.Errorf("no signals")
		}
		return err
	})
}

func BenchmarkCapability(b *testing.B) {
	benchmark(b, func(x []float64) error {
		_, err := Capability(x, CapabilityOptions{Limits: Limits{point(5.0), point(15.0)}})
		return err
	})
}

func BenchmarkSummarize(b *testing.B) {
	benchmark(b, func(x []float64) error { _, err := Summarize(x); return err })
}
