//go:build linux

package bench

import (
	"context"
	"fmt"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/devices/simulate"
)

// BenchmarkLoad runs a bench with 64 gauges on pseudo-terminals. An operation is a tick of 10 ms in which each sends a live
// frame (so -benchtime 6000x is a minute at 6400 frames a second); five times a second the carriage's data key is pressed
// for the point asked for. Every press is committed, live frames are not. It reports live frames lost, presses and
// how long they took from the frame's write until their commit was acknowledged, the snapshots published, and the
// share of one core (the sender left out).
func BenchmarkLoad(b *testing.B) {
	const others = 61 // beside the shop's own three
	s := open(b)
	d, err := decode.Find("channel and value")
	if err != nil {
		b.Fatal(err)
	}
	ids := []string{carriage, height, beam}
	for i := range others {
		g := batch.Gauge{
			ID: fmt.Sprintf("extra-%02d", i), Name: fmt.Sprintf("indicator %d", i), Measures: []batch.Kind{batch.BeamReading},
			Capture: "stream", KeyChannel: "K", Sense: 1, ResolutionMM: 0.001, RepeatabilityU: 0.002, CalibrationU: 0.002,
			Path: "/dev/none", Decoder: d.Name, CheckHours: 8, FeetMM: [2]float64{36.2, 403}, PlungerMM: 214,
		}
		must(b)(s.db.SaveGauge(s.ctx, "", g))
		ids = append(ids, g.ID)
	}
	s.ok(s.bench.ReloadGauges(s.ctx))
	var serials []string
	for i := range b.N/20/30 + 4 {
		serials = append(serials, fmt.Sprintf("QM-2611-L%05d", i))
	}
	if _, err := s.db.AddNecks(s.ctx, "", s.bench.Snapshot().Batch.ID, serials); err != nil {
		b.Fatal(err)
	}

	dir := b.TempDir()
	var lines []*simulate.Line
	var gauges []devices.Gauge
	for _, id := range ids {
		path := filepath.Join(dir, id)
		l, err := simulate.OpenLine(path)
		if err != nil {
			b.Fatal(err)
		}
		defer func() { _ = l.Close() }()
		lines = append(lines, l)
		gauges = append(gauges, devices.Gauge{ID: id, Name: id, Path: path, Decoder: d, KeyChannel: "K", Capture: devices.CaptureStream})
	}
	var read, faults atomic.Int64
	var pressedAt atomic.Int64
	began := time.Now()
	taken := make(chan time.Duration, 1)
	super, err := devices.New(gauges, devices.Options{
		OnReading: func(r devices.Reading) {
			s.bench.Reading(r)
			if r.Key {
				taken <- time.Since(began) - time.Duration(pressedAt.Load())
			} else {
				read.Add(1)
			}
		},
		OnFault: func(devices.Fault) { faults.Add(1) },
	})
	if err != nil {
		b.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan struct{})
	go func() { super.Run(ctx); close(ended) }()
	for _, l := range lines {
		for !l.Open() {
			time.Sleep(time.Millisecond)
		}
	}
	time.Sleep(400 * time.Millisecond) // by then every port was quiet long enough for its first frame to count

	// The inspector: scans a neck, presses for its crowns, goes on with the next.
	press := make(chan []byte, 1)
	var late []time.Duration
	inspected := make(chan struct{})
	go func() {
		defer close(inspected)
		for necks := 0; ; {
			snap := s.bench.Snapshot()
			if snap.Next < 0 || snap.Points[snap.Next].Point.Kind != batch.Crown {
				if snap.Stage == Measuring {
					s.ok(s.bench.Park(s.ctx, "next"))
				}
				if len(serials) == 0 {
					return
				}
				s.ok(s.bench.Entry(s.ctx, serials[0], "mm"))
				serials = serials[1:]
				s.ok(s.bench.Declare(s.ctx))
				necks++
				snap = s.bench.Snapshot()
			}
			p := snap.Points[snap.Next]
			mm := good(p, snap.Batch.Spec.Spec) + 0.001*float64(necks%5*(p.Point.Fret%2))
			press <- fmt.Appendf(nil, "K:%+.3fmm\r\n", mm)
			took, more := <-taken
			if !more {
				return
			}
			if s.bench.Snapshot().Taken == snap.Taken {
				b.Errorf("not taken: %+v", s.bench.Snapshot().Notice)
				return
			}
			late = append(late, took)
		}
	}()

	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	processor := func(who int) time.Duration {
		var u unix.Rusage
		if err := unix.Getrusage(who, &u); err != nil {
			b.Fatal(err)
		}
		return time.Duration(u.Utime.Nano() + u.Stime.Nano())
	}
	var skipped int64
	send := func(l *simulate.Line, frame []byte) {
		if err := l.Send(frame, time.Second); err != nil {
			skipped++
		}
	}
	version := s.bench.Snapshot().Version
	whole, own := processor(unix.RUSAGE_SELF), processor(unix.RUSAGE_THREAD)
	b.ResetTimer()
	start := time.Now()
	for n := range b.N {
		time.Sleep(time.Until(start.Add(time.Duration(n) * 10 * time.Millisecond)))
		live := fmt.Appendf(nil, "L:%+.3fmm\r\n", float64(n%1000)/1000)
		for _, l := range lines {
			send(l, live)
		}
		if n%20 == 0 {
			select {
			case frame := <-press:
				pressedAt.Store(int64(time.Since(began)))
				send(lines[0], frame)
			default: // the one before is not through yet
			}
		}
	}
	took := time.Since(start)
	b.StopTimer()
	busy := processor(unix.RUSAGE_SELF) - whole - (processor(unix.RUSAGE_THREAD) - own)
	published := s.bench.Snapshot().Version - version
	for before, still := int64(-1), 0; still < 20 && read.Load() < int64(64*b.N)-skipped; time.Sleep(50 * time.Millisecond) {
		if now := read.Load(); now == before { // what was late is read first; a second without anything is the end
			still++
		} else {
			before, still = now, 0
		}
	}
	behind := time.Since(start) - took
	cancel()
	<-ended
	close(taken)
	select {
	case <-press:
	default:
	}
	<-inspected
	slices.Sort(late)
	b.ReportMetric(float64(int64(64*b.N)-skipped-read.Load()), "lost")
	b.ReportMetric(float64(skipped+faults.Load()), "unsent+faults")
	b.ReportMetric(float64(len(late)), "presses")
	b.ReportMetric(behind.Seconds()*1000, "behind-ms")
	if len(late) > 0 {
		at := func(p float64) float64 {
			return float64(late[int(p*float64(len(late)-1))]) / float64(time.Millisecond)
		}
		b.ReportMetric(at(0.5), "commit-p50-ms")
		b.ReportMetric(at(0.99), "commit-p99-ms")
	}
	b.ReportMetric(float64(published)/took.Seconds(), "snapshots/s")
	b.ReportMetric(100*busy.Seconds()/took.Seconds(), "%core")
	if n := s.bench.Snapshot().Notice; n != nil && n.Refused && !strings.Contains(n.Text, "interrupted") {
		b.Errorf("the page says %+v", n)
	}
}
