package bench

import (
	"fmt"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/devices/decode"
)

// BenchmarkReading takes one frame of the carriage from its bytes to the published snapshot: decoded, questioned,
// committed, the routine replayed and everything evaluated with its uncertainty. Necks are started as they are needed.
func BenchmarkReading(b *testing.B) {
	s := open(b)
	var serials []string
	for i := range b.N/40 + 2 {
		serials = append(serials, fmt.Sprintf("QM-2611-B%05d", i))
	}
	if _, err := s.db.AddNecks(s.ctx, "", s.bench.Snapshot().Batch.ID, serials); err != nil {
		b.Fatal(err)
	}
	d, err := decode.Find("channel and value")
	if err != nil {
		b.Fatal(err)
	}
	stream := d.Stream(true)
	necks := 0
	next := func() {
		necks++ // each neck a little different, or the bench would ask whether it is the last one again
		if s.bench.Snapshot().Stage == Measuring {
			s.ok(s.bench.Park(s.ctx, "next"))
		}
		s.ok(s.bench.Entry(s.ctx, serials[0], "mm"))
		serials = serials[1:]
		s.ok(s.bench.Declare(s.ctx))
	}
	next()
	b.ResetTimer()
	for range b.N {
		snap := s.bench.Snapshot()
		if snap.Next < 0 || snap.Points[snap.Next].Point.Kind != batch.Crown {
			b.StopTimer()
			next()
			snap = s.bench.Snapshot()
			b.StartTimer()
		}
		s.set(s.at().Add(time.Second))
		frame := fmt.Appendf(nil, "K:%+.3fmm\r\n",
			good(snap.Points[snap.Next], snap.Batch.Spec.Spec)+0.001*float64(necks%5*(snap.Points[snap.Next].Point.Fret%2)))
		for _, e := range stream.Feed(time.Duration(s.seq)*time.Second, frame) {
			s.seq++
			s.bench.Reading(devices.Reading{
				Gauge: carriage, At: s.at(), Seq: s.seq, Offset: e.Offset, Raw: e.Raw, Value: *e.Value, Key: true, Decoder: d.ID(),
			})
		}
		if s.bench.Snapshot().Taken == snap.Taken {
			b.Fatalf("not taken: %+v", s.bench.Snapshot().Notice)
		}
	}
}
