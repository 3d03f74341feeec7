package bench

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"go.bug.st/serial"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/devices/simulate"
)

// pedal is a foot switch on a modem line of every port that is opened with it: a pseudo-terminal has none of its own.
type pedal struct {
	mu    sync.Mutex
	down  bool
	looks int // how often the program has looked
	wrote int // how often it has written to a port
}

type pedalPort struct {
	serial.Port
	pedal *pedal
}

func (p *pedal) open(name string, mode *serial.Mode) (serial.Port, error) {
	port, err := serial.Open(name, mode)
	if err != nil {
		return nil, err
	}
	return pedalPort{port, p}, nil
}

func (p pedalPort) GetModemStatusBits() (*serial.ModemStatusBits, error) {
	p.pedal.mu.Lock()
	defer p.pedal.mu.Unlock()
	p.pedal.looks++
	return &serial.ModemStatusBits{CTS: p.pedal.down}, nil
}

func (p pedalPort) Write(b []byte) (int, error) {
	n, err := p.Port.Write(b)
	p.pedal.mu.Lock()
	defer p.pedal.mu.Unlock()
	p.pedal.wrote++
	return n, err
}

// set puts the switch up or down, and says how often the program had looked until then.
func (p *pedal) set(down bool) int {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.down = down
	return p.looks
}

func (p *pedal) written() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.wrote
}

func (p *pedal) looked() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.looks
}

// lined is a bench whose carriage indicator takes at rest, with a foot switch on its port, whose height gauge is asked,
// and whose beam on two feet types; the first two on pseudo-terminals. Time stands still for lines and bench alike unless the
// test moves it, so that a busy machine changes no press, no rest and no time-out.
type lined struct {
	*shop
	sup     *devices.Supervisor
	foot    *pedal
	dial    *simulate.Line
	height  *simulate.Line
	moved   atomic.Int64 // ns
	frames  atomic.Int64 // of any gauge
	refused atomic.Int64 // stretches, of any gauge
}

func (s *lined) move(d time.Duration) { s.moved.Add(int64(d)) }

// step holds the foot switch down for so long, and then up.
func (s *lined) step(lasting time.Duration) {
	s.t.Helper()
	const every = 10 * time.Millisecond
	for _, down := range []bool{true, false} {
		looks := s.foot.set(down)
		for at := time.Duration(0); at < lasting; at += every {
			s.move(every)
			s.until("the foot switch is looked at", func(*Snapshot) bool { return s.foot.looked() > looks })
			looks = s.foot.looked()
		}
	}
}

func openLined(t *testing.T) *lined {
	s := &lined{shop: open(t), foot: &pedal{}}
	base := s.at()
	now := func() time.Time { return base.Add(time.Duration(s.moved.Load())) }
	var lines []devices.Gauge
	for _, g := range []struct {
		id, decoder, capture, foot string
		line                       **simulate.Line
	}{
		{carriage, "signed decimal with unit", devices.CaptureSettled, devices.LineCTS, &s.dial},
		{height, "polled signed decimal, millimetres", devices.CaptureRequest, "", &s.height},
		{beam, "signed decimal with unit", devices.CaptureTyped, "", nil},
	} {
		entries, err := s.db.Gauges(s.ctx)
		s.ok(err)
		d, err := decode.Find(g.decoder)
		s.ok(err)
		for _, e := range entries {
			if e.ID != g.id {
				continue
			}
			e.Capture, e.FootSwitch, e.Decoder, e.KeyChannel, e.Path = g.capture, g.foot, g.decoder, "", ""
			if g.line != nil {
				if *g.line, err = simulate.OpenLine(""); err != nil {
					t.Fatal(err)
				}
				t.Cleanup(func() { (*g.line).Close() })
				e.Path = (*g.line).Name()
			}
			must(t)(s.db.SaveGauge(s.ctx, "", e))
			lines = append(lines, devices.Gauge{ID: g.id, Name: e.Name, Path: e.Path, Decoder: d, Capture: g.capture, FootSwitch: g.foot,
				ResolutionMM: e.ResolutionMM, Sense: e.Sense})
		}
	}
	var err error
	s.bench, err = New(s.ctx, Options{Record: s.faulty, Now: now, Ask: func(id string) error { return s.sup.Ask(id) }})
	s.ok(err)
	s.sup, err = devices.New(lines, devices.Options{Open: s.foot.open, Now: now, OnHealth: s.bench.Health,
		OnReading: func(r devices.Reading) {
			s.bench.Reading(r)
			s.frames.Add(1)
		},
		OnFault:      func(f devices.Fault) { s.bench.Fault(f); s.refused.Add(1) },
		OnUnanswered: s.bench.Unanswered, OnFootPress: func(p devices.FootPress) { _ = s.bench.FootPress(context.Background(), p.Long) }})
	s.ok(err)
	ctx, end := context.WithCancel(context.Background())
	ended := make(chan struct{})
	go func() { s.sup.Run(ctx); close(ended) }()
	t.Cleanup(func() { end(); <-ended })
	s.ok(s.bench.SetInspector(s.ctx, "Wren Halloway"))
	s.ok(s.bench.OpenBatch(s.ctx, "QM-2611"))
	for _, line := range []struct {
		line *simulate.Line
		end  string // alone it is refused; what follows begins a frame
	}{{s.dial, "\r\n"}, {s.height, "\r"}} {
		s.until("a line is open", func(*Snapshot) bool { return line.line.Open() })
		before := s.refused.Load()
		s.ok(line.line.Send([]byte(line.end), patience))
		s.until("it stands between frames", func(*Snapshot) bool { return s.refused.Load() > before })
	}
	for range 10 { // the foot switch was seen open
		looks := s.foot.looked()
		s.move(10 * time.Millisecond)
		s.until("the foot switch is looked at", func(*Snapshot) bool { return s.foot.looked() > looks })
	}
	return s
}

// until waits until the bench shows what is wanted.
func (s *lined) until(what string, ok func(*Snapshot) bool) {
	s.t.Helper()
	for end := time.Now().Add(patience); !ok(s.bench.Snapshot()); time.Sleep(2 * time.Millisecond) {
		if time.Now().After(end) {
			s.t.Fatalf("never: %s; taken %d, notice %+v", what, s.bench.Snapshot().Taken, s.bench.Snapshot().Notice)
		}
	}
}

func (s *lined) taken(n int) {
	s.t.Helper()
	s.until(fmt.Sprintf("%d taken", n), func(snap *Snapshot) bool { return snap.Taken == n })
}

// shows sends a value from the carriage indicator for half a second.
func (s *lined) shows(mm float64) {
	s.t.Helper()
	for range 25 {
		s.sends(s.dial, fmt.Sprintf("%+.3fmm\r\n", mm))
		s.move(20 * time.Millisecond)
	}
}

// sends sends one frame and waits until the bench has it.
func (s *lined) sends(line *simulate.Line, frame string) {
	s.t.Helper()
	before := s.frames.Load()
	s.ok(line.Send([]byte(frame), patience))
	s.until(fmt.Sprintf("%q has come", frame), func(*Snapshot) bool { return s.frames.Load() > before })
}

// asks waits until a request has gone out since so many.
func (s *lined) asks(since int) {
	s.t.Helper()
	s.until("the gauge is asked", func(*Snapshot) bool { return s.foot.written() > since })
}

func TestWaysOfCaptureOnLines(t *testing.T) {
	s := openLined(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.step(100 * time.Millisecond) // confirms the pitch
	s.taken(1)

	s.shows(-3)
	s.shows(0.70) // fret 1
	s.taken(2)
	s.shows(0.701)
	s.shows(-0.4) // between the frets
	s.shows(0.64) // fret 2
	s.taken(3)
	if p := s.bench.Snapshot().Points; !p[1].Taken || !p[2].Taken || p[2].Value != 0.64 {
		t.Fatalf("points %+v, %+v", p[1], p[2])
	}

	s.step(900 * time.Millisecond) // held down: takes fret 2 back
	s.until("fret 2 taken back", func(snap *Snapshot) bool { return !snap.Points[2].Taken && snap.Next == 2 })

	nut := ""
	for _, p := range s.bench.Snapshot().Points {
		if p.Point.Kind == batch.NutHeight {
			nut = p.Key
			break
		}
	}
	s.ok(s.bench.Choose(s.ctx, nut))
	n := s.bench.Snapshot().Taken
	s.step(100 * time.Millisecond) // nobody answers
	s.until("the silence is told", func(snap *Snapshot) bool {
		s.move(50 * time.Millisecond)
		return snap.Notice != nil && snap.Notice.Refused && strings.Contains(snap.Notice.Text, "did not answer within 500 ms")
	})
	asked := s.foot.written()
	s.step(100 * time.Millisecond)
	s.asks(asked)
	s.sends(s.height, "+0.440\r")
	s.taken(n + 1)
	s.sends(s.height, "+0.470\r") // unasked

	s.ok(s.bench.Choose(s.ctx, nut))
	asked = s.foot.written()
	s.ok(s.bench.Take(s.ctx)) // asked for the nut height, then another point is chosen
	s.asks(asked)
	s.ok(s.bench.Choose(s.ctx, nut))
	s.sends(s.height, "+0.480\r")
	s.until("the answer is refused", func(snap *Snapshot) bool {
		return snap.Notice != nil && snap.Notice.Refused && strings.Contains(snap.Notice.Text, "after something else was asked for")
	})
	if got := s.bench.Snapshot().Taken; got != n+1 {
		t.Errorf("%d taken, want %d", got, n+1)
	}
	readings, err := s.db.Readings(s.ctx, s.bench.Snapshot().Inspection.ID)
	s.ok(err)
	last := readings[len(readings)-1]
	if last.GaugeID != height || string(last.Raw) != "+0.440\r" || last.Value != 0.44 || last.CheckID == "" {
		t.Errorf("the record's last reading %+v", last)
	}
}

// TestTypedReadingsAreReadings: a gauge that types is held to what every gauge is.
func TestTypedReadingsAreReadings(t *testing.T) {
	s := openLined(t)
	s.ok(s.bench.OpenBatch(s.ctx, "QM-2612")) // measured with the beam
	typed := func(text string) string {
		b := devices.Burst{Text: text, End: '\r'}
		for range text {
			b.Gaps = append(b.Gaps, 8*time.Millisecond)
		}
		return s.sup.Typed(b)
	}
	says := func(want string) {
		t.Helper()
		if n := s.bench.Snapshot().Notice; n == nil || !n.Refused || !strings.Contains(n.Text, want) {
			t.Fatalf("notice %+v, want a refusal with %q", n, want)
		}
	}
	if got := typed("+0.210mm"); got != beam {
		t.Fatalf("given to %q", got)
	}
	says("no neck is on the bench")
	s.ok(s.bench.Entry(s.ctx, "QM-2612-0001", "mm"))
	typed("+0.200mm")
	says("it was not used, because every string at pitch is confirmed with Space")
	s.ok(s.bench.Take(s.ctx))
	if got := typed("QM-2612-0002"); got != "" {
		t.Fatalf("a serial number was given to %q", got)
	}
	typed("+0.210mm")
	snap := s.bench.Snapshot()
	if snap.Taken != 2 {
		t.Fatalf("%d taken, notice %+v", snap.Taken, snap.Notice)
	}
	typed("-0.240mm")
	s.holds("sign changed", 2)
	typed("+0.0090in")
	s.holds("unit changed from mm to in", 2)
	readings, err := s.db.Readings(s.ctx, snap.Inspection.ID)
	s.ok(err)
	if r := readings[1]; r.GaugeID != beam || string(r.Raw) != "+0.210mm\r" || r.CheckID == "" || !strings.HasPrefix(r.Decoder, "signed decimal with unit@") || r.FeetMM == [2]float64{} {
		t.Errorf("its context: %+v", r)
	}
	for _, g := range snap.Gauges {
		if g.ID == beam && g.Locked {
			t.Errorf("locked: %s", g.Words)
		}
	}
	if len(snap.Typing) != 1 || snap.Typing[0] != "" {
		t.Errorf("the page is told of %q", snap.Typing)
	}
}
