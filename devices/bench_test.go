package devices

import (
	"context"
	"testing"
	"time"
)

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
