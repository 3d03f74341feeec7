package devices

import (
	"context"
	"fmt"
	"testing"
	"time"
)

// BenchmarkSixtyFourGauges is the time until one frame of each of 64 gauges, sent at the same moment, has been
// handed over; per operation 64 frames.
func BenchmarkSixtyFourGauges(b *testing.B) {
	const n = 64
	got := make(chan Reading, n)
	waiting := make(chan Health, n)
	var sockets []*socket
	var gauges []Gauge
	for i := range n {
		s := newSocket(b)
		sockets = append(sockets, s)
		gauges = append(gauges, Gauge{ID: fmt.Sprint(i), Path: s.path, Decoder: builtin(b, "signed decimal with unit"), Capture: CaptureStream})
	}
	super, err := New(gauges, Options{
		OnReading: func(r Reading) { got <- r },
		OnHealth: func(h Health) {
			if h.State == StateWaiting {
				waiting <- h
			}
		},
	})
	if err != nil {
		b.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan struct{})
	go func() { super.Run(ctx); close(ended) }()
	defer func() { cancel(); <-ended }()
	for _, s := range sockets {
		<-waiting
		s.send("\r\n")
	}
	time.Sleep(100 * time.Millisecond)
	for b.Loop() {
		for _, s := range sockets {
			s.send("+1.950mm\r\n")
		}
		for range n {
			<-got
		}
	}
	b.ReportMetric(float64(n*b.N)/b.Elapsed().Seconds(), "frames/s")
}

// BenchmarkRoundTrip is the time from a gauge's write to the reading in the consumer's hands, through a real
// pseudo-terminal, the serial library, framing and decoding.
func BenchmarkRoundTrip(b *testing.B) {
	s := newSocket(b)
	got := make(chan Reading, 1)
	waiting := make(chan struct{})
	g := Gauge{ID: "dial", Path: s.path, Decoder: builtin(b, "signed decimal with unit"), Capture: CaptureStream}
	super, err := New([]Gauge{g}, Options{
		OnReading: func(r Reading) { got <- r },
		OnHealth: func(h Health) {
			if h.State == StateWaiting {
				close(waiting)
			}
		},
	})
	if err != nil {
		b.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan struct{})
	go func() { super.Run(ctx); close(ended) }()
	defer func() { cancel(); <-ended }()
	<-waiting
	s.send("\r\n")
	time.Sleep(10 * time.Millisecond)
	for b.Loop() {
		s.send("+1.950mm\r\n")
		<-got
	}
}
