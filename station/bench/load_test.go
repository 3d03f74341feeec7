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
	l := &load{shop: open(b), b: b, press: make(chan []byte, 1), taken: make(chan time.Duration, 1), began: time.Now()}
	l.furnishMany()
	stop := l.watch()
	inspected := make(chan struct{})
	go func() { defer close(inspected); l.inspect() }()

	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	version := l.bench.Snapshot().Version
	whole, own := l.processor(unix.RUSAGE_SELF), l.processor(unix.RUSAGE_THREAD)
	b.ResetTimer()
	start := time.Now()
	for n := range b.N {
		time.Sleep(time.Until(start.Add(time.Duration(n) * 10 * time.Millisecond)))
		l.tick(n)
	}
	took := time.Since(start)
	b.StopTimer()
	busy := l.processor(unix.RUSAGE_SELF) - whole - (l.processor(unix.RUSAGE_THREAD) - own)
	published := l.bench.Snapshot().Version - version
	l.drain()
	behind := time.Since(start) - took
	stop()
	close(l.taken)
	select {
	case <-l.press:
	default:
	}
	<-inspected
	l.report()
	b.ReportMetric(behind.Seconds()*1000, "behind-ms")
	b.ReportMetric(float64(published)/took.Seconds(), "snapshots/s")
	b.ReportMetric(100*busy.Seconds()/took.Seconds(), "%core")
	if n := l.bench.Snapshot().Notice; n != nil && n.Refused && !strings.Contains(n.Text, "interrupted") {
		b.Errorf("the page says %+v", n)
	}
}

// load is a bench with many gauges, and who presses there.
type load struct {
	*shop
	b         *testing.B
	serials   []string // still to be inspected
	ids       []string
	lines     []*simulate.Line
	began     time.Time
	press     chan []byte        // frames of the key, to be sent
	pressedAt atomic.Int64       // since began
	taken     chan time.Duration // how long a press took
	late      []time.Duration
	read      atomic.Int64
	faults    atomic.Int64
	skipped   int64
}

// furnishMany enters 61 gauges beside the shop's own three, and necks enough.
func (l *load) furnishMany() {
	l.ids = []string{carriage, height, beam}
	for i := range 61 {
		g := batch.Gauge{
			ID: fmt.Sprintf("extra-%02d", i), Name: fmt.Sprintf("indicator %d", i), Measures: []batch.Kind{batch.BeamReading},
			Capture: "stream", KeyChannel: "K", Sense: 1, ResolutionMM: 0.001, RepeatabilityU: 0.002, CalibrationU: 0.002,
			Path: "/dev/none", Decoder: "channel and value", CheckHours: 8, FeetMM: [2]float64{36.2, 403}, PlungerMM: 214,
		}
		must(l.b)(l.db.SaveGauge(l.ctx, "", g))
		l.ids = append(l.ids, g.ID)
	}
	l.ok(l.bench.ReloadGauges(l.ctx))
	for i := range l.b.N/20/30 + 4 {
		l.serials = append(l.serials, fmt.Sprintf("QM-2611-L%05d", i))
	}
	_, err := l.db.AddNecks(l.ctx, "", l.bench.Snapshot().Batch.ID, l.serials)
	l.ok(err)
}

// watch opens every gauge's line and hands its frames to the bench, until stop is called.
func (l *load) watch() (stop func()) {
	d, err := decode.Find("channel and value")
	l.ok(err)
	dir := l.b.TempDir()
	var gauges []devices.Gauge
	for _, id := range l.ids {
		path := filepath.Join(dir, id)
		line, err := simulate.OpenLine(path)
		l.ok(err)
		l.b.Cleanup(func() { _ = line.Close() })
		l.lines = append(l.lines, line)
		gauges = append(gauges, devices.Gauge{ID: id, Name: id, Path: path, Decoder: d, KeyChannel: "K", Capture: devices.CaptureStream})
	}
	super, err := devices.New(gauges, devices.Options{OnReading: l.hears, OnFault: func(devices.Fault) { l.faults.Add(1) }})
	l.ok(err)
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan struct{})
	go func() { super.Run(ctx); close(ended) }()
	for _, line := range l.lines {
		for !line.Open() {
			time.Sleep(time.Millisecond)
		}
	}
	for _, line := range l.lines { // an end mark alone is refused, and the next byte begins a frame
		l.ok(line.Send([]byte("\r\n"), patience))
	}
	for l.faults.Load() < int64(len(l.lines)) {
		time.Sleep(time.Millisecond)
	}
	l.faults.Store(0)
	return func() { cancel(); <-ended }
}

func (l *load) hears(r devices.Reading) {
	l.bench.Reading(r)
	if r.Key {
		l.taken <- time.Since(l.began) - time.Duration(l.pressedAt.Load())
		return
	}
	l.read.Add(1)
}

// inspect is the inspector: scans a neck, presses for its crowns, goes on with the next.
func (l *load) inspect() {
	for necks := 0; ; {
		snap := l.bench.Snapshot()
		if snap.Next < 0 || snap.Points[snap.Next].Point.Kind != batch.Crown {
			if snap.Stage == Measuring {
				l.ok(l.bench.Park(l.ctx, "next"))
			}
			if len(l.serials) == 0 {
				return
			}
			l.ok(l.bench.Entry(l.ctx, l.serials[0], "mm"))
			l.serials = l.serials[1:]
			l.ok(l.bench.Declare(l.ctx))
			necks++
			snap = l.bench.Snapshot()
		}
		p := snap.Points[snap.Next]
		mm := good(p, snap.Batch.Spec.Spec) + 0.001*float64(necks%5*(p.Point.Fret%2))
		if p.Point.Track == "treble" {
			mm += 0.002 // the same height at once after the bass side's last crown would be asked about
		}
		l.press <- fmt.Appendf(nil, "K:%+.3fmm\r\n", mm)
		took, more := <-l.taken
		if !more {
			return
		}
		if l.bench.Snapshot().Taken == snap.Taken {
			now := l.bench.Snapshot()
			l.b.Errorf("not taken: the bench says %+v, asks %+v", now.Notice, now.Question)
			return
		}
		l.late = append(l.late, took)
	}
}

// tick sends a live frame of every gauge, and now and then a press.
func (l *load) tick(n int) {
	live := fmt.Appendf(nil, "L:%+.3fmm\r\n", float64(n%10)/10) // between two presses the carriage dips and rises
	for _, line := range l.lines {
		l.sendTo(line, live)
	}
	if n%20 != 0 {
		return
	}
	select {
	case frame := <-l.press:
		l.pressedAt.Store(int64(time.Since(l.began)))
		l.sendTo(l.lines[0], frame)
	default: // the one before is not through yet
	}
}

func (l *load) sendTo(line *simulate.Line, frame []byte) {
	if err := line.Send(frame, time.Second); err != nil {
		l.skipped++
	}
}

// drain waits for what is late; a second without anything is the end.
func (l *load) drain() {
	for before, still := int64(-1), 0; still < 20 && l.read.Load() < int64(64*l.b.N)-l.skipped; time.Sleep(50 * time.Millisecond) {
		if now := l.read.Load(); now == before {
			still++
		} else {
			before, still = now, 0
		}
	}
}

// processor is the processor's time used so far.
func (l *load) processor(who int) time.Duration {
	var u unix.Rusage
	l.ok(unix.Getrusage(who, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

func (l *load) report() {
	slices.Sort(l.late)
	l.b.ReportMetric(float64(int64(64*l.b.N)-l.skipped-l.read.Load()), "lost")
	l.b.ReportMetric(float64(l.skipped+l.faults.Load()), "unsent+faults")
	l.b.ReportMetric(float64(len(l.late)), "presses")
	if len(l.late) == 0 {
		return
	}
	at := func(p float64) float64 {
		return float64(l.late[int(p*float64(len(l.late)-1))]) / float64(time.Millisecond)
	}
	l.b.ReportMetric(at(0.5), "commit-p50-ms")
	l.b.ReportMetric(at(0.99), "commit-p99-ms")
}
