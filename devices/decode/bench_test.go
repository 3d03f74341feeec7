package decode

import (
	"testing"
	"time"
)

// BenchmarkDecode reports frames a second of each built-in decoder, fed as a port gives them, a frame at a time.
func BenchmarkDecode(b *testing.B) {
	for _, d := range Builtin() {
		b.Run(d.Name, func(b *testing.B) {
			frame := []byte(samples[d.Name][0].raw)
			s := d.Stream(true)
			at := time.Duration(0)
			n := 0
			b.ReportAllocs()
			for b.Loop() {
				at += 100 * time.Millisecond
				for _, e := range s.Feed(at, frame) {
					if e.Value != nil {
						n++
					}
				}
			}
			b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "frames/s")
		})
	}
}
