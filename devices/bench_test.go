package devices

import (
	"fmt"
	"testing"
)

// BenchmarkGauges is the time until one frame of each of 64 gauges, sent at the same moment, has been
// handed over; per operation 64 frames. With one gauge it is the time from its write to the reading in the consumer's
// hands, through a real pseudo-terminal, the serial library, framing and decoding.
func BenchmarkGauges(b *testing.B) {
	for _, n := range []int{1, 64} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			got := make(chan Reading, n)
			sockets, gauges := streaming(b, n)
			s, _ := start(b, Options{OnReading: func(r Reading) { got <- r }}, gauges...)
			standing(b, s)
			for b.Loop() {
				for _, s := range sockets {
					s.send("+1.950mm\r\n")
				}
				for range n {
					<-got
				}
			}
			b.ReportMetric(float64(n*b.N)/b.Elapsed().Seconds(), "frames/s")
		})
	}
}

// streaming is so many gauges that stream, numbered from 0, and their sockets.
func streaming(b *testing.B, n int) (sockets []*socket, gauges []Gauge) {
	for i := range n {
		s := newSocket(b)
		sockets = append(sockets, s)
		gauges = append(gauges, Gauge{ID: fmt.Sprint(i), Path: s.path, Decoder: builtin(b, "signed decimal with unit"), Capture: CaptureStream})
	}
	return sockets, gauges
}
