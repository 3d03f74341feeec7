package devices

import (
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"go.bug.st/serial"

	"sagitta/devices/decode"
	"sagitta/testdata/usb"
)

func TestFirstPressAfterAQuietOpeningIsRead(t *testing.T) {
	t.Parallel()
	s := newSocket(t)
	b := run(t, Options{}, keyGauge(t, s.path))
	b.quiet(t, "height")
	s.send("+1.950mm\r\n")
	eventually(t, "the reading", func() bool { return len(b.numbers("height")) == 1 })
	r := b.read()[0]
	if r.Value.MM != 1.95 || !r.Key || r.Seq != 1 || r.Offset != 0 || string(r.Raw) != "+1.950mm\r\n" || !strings.HasPrefix(r.Decoder, "signed decimal with unit@") {
		t.Errorf("reading %+v", r)
	}
	b.went(t, "height", StateWaiting, StateLive)
}

func TestWhatAPortIsInTheMiddleOfIsDiscarded(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		w := newWire(t, "gauge")
		w.send("+0.123mm\r\n") // ready before the port is opened: its beginning may be missing
		b := run(t, Options{Open: wired(w)}, keyGauge(t, w.name))
		synctest.Wait()
		w.send("+0.124mm\r\n")
		synctest.Wait()
		if got := b.numbers("height"); !slices.Equal(got, []string{"+0.124"}) {
			t.Errorf("readings %q", got)
		}
		if len(b.refused()) != 1 || !b.refused()[0].Lost || b.refused()[0].Fault != "garbled" || string(b.refused()[0].Raw) != "+0.123mm\r\n" {
			t.Errorf("faults %+v", b.refused())
		}
		b.went(t, "height", StateWaiting, StateLive) // discarding the first stretch does not make the gauge garbled
	})
}

func TestUnpluggedAndFoundAgainByPath(t *testing.T) {
	t.Parallel()
	s := newSocket(t)
	b := run(t, Options{}, keyGauge(t, s.path))
	b.quiet(t, "height")
	s.send("+1.000mm\r\n")
	eventually(t, "the reading", func() bool { return len(b.numbers("height")) == 1 })
	s.send("+2.0")
	eventually(t, "the piece", func() bool { return b.received("height") == len("+1.000mm\r\n+2.0") })
	s.unplug()
	eventually(t, "unplugged", func() bool { return b.state("height") == StateUnplugged })
	h := b.Health()[0]
	if h.Words == "" || h.ToDo == "" || h.Refused != 1 || h.Since.IsZero() {
		t.Errorf("health %+v", h)
	}
	s.plug()
	b.quiet(t, "height")
	s.send("+3.000mm\r\n")
	eventually(t, "the next reading", func() bool { return slices.Equal(b.numbers("height"), []string{"+1.000", "+3.000"}) })
	b.went(t, "height", StateWaiting, StateLive, StateGarbled, StateUnplugged, StateWaiting, StateLive)
	if h := b.Health()[0]; h.Reconnections != 1 || h.Frames != 2 {
		t.Errorf("health %+v", h)
	}
}

func TestFoundAgainByIdentityUnderAnotherName(t *testing.T) {
	t.Parallel()
	s := newSocket(t)
	id := adapter(usb.Serial)
	list := func() ([]PortInfo, error) {
		s.mu.Lock()
		defer s.mu.Unlock()
		ports := []PortInfo{{Name: "/dev/other", Identity: adapter("QM-8")}}
		if s.master != nil {
			ports = append(ports, PortInfo{Name: s.slave.Name(), Identity: id})
		}
		return ports, nil
	}
	g := keyGauge(t, "")
	g.Identity = id
	b := run(t, Options{List: list}, g)
	b.quiet(t, "height")
	first := b.Health()[0].Port
	s.send("+1.000mm\r\n")
	eventually(t, "the reading", func() bool { return len(b.numbers("height")) == 1 })
	old := s.slave.Name()
	s.unplug()
	eventually(t, "unplugged", func() bool { return b.state("height") == StateUnplugged })
	keeper := newSocket(t) // takes the old name, so that the gauge comes back under another
	s.plug()
	b.quiet(t, "height")
	s.send("+2.000mm\r\n")
	eventually(t, "the next reading", func() bool { return len(b.numbers("height")) == 2 })
	if now := b.Health()[0].Port; first != old || now != s.slave.Name() || keeper.slave.Name() == now {
		t.Errorf("port was %s, is %s", first, now)
	}
}

func TestMissingBusyDeniedAreStatesOnce(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		w := newWire(t, "gauge")
		denied := "denied " + w.name
		var tries atomic.Int64
		open := func(name string, mode *serial.Mode) (serial.Port, error) {
			if name == denied {
				tries.Add(1)
				return nil, syscall.EACCES
			}
			return wired(w)(name, mode)
		}
		held, err := openPort(open, w.name, line9600)
		if err != nil {
			t.Fatal(err)
		}
		var gauges []Gauge
		for id, path := range map[string]string{"missing": "no " + w.name, "denied": denied, "busy": w.name} {
			gauges = append(gauges, Gauge{ID: id, Path: path, Decoder: builtin(t, "decimal comma"), Capture: CaptureKey})
		}
		b := run(t, Options{Open: open}, gauges...)
		pass(time.Second)
		if n := tries.Load(); n < 10 {
			t.Errorf("opened only %d times within a second", n)
		}
		b.went(t, "missing", StateMissing)
		b.went(t, "denied", StateDenied)
		b.went(t, "busy", StateBusy)
		held.Close()
		pass(time.Second)
		b.went(t, "busy", StateBusy, StateWaiting)
	})
}

func TestGarbageThenRecovery(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		w := newWire(t, "gauge")
		g := Gauge{ID: "dial", Path: w.name, Decoder: builtin(t, "channel and value"), Capture: CaptureStream, KeyChannel: "K", SilentAfter: 400 * time.Millisecond}
		b := run(t, Options{Open: wired(w)}, g)
		w.send("123mm\r\nL:+0.100mm\r\nL:+0.1\xff0mm\r\nK:+0.102mm\r\n")
		synctest.Wait()
		if len(b.read()) != 2 || b.read()[0].Key || !b.read()[1].Key {
			t.Errorf("readings %+v", b.read())
		}
		pass(390 * time.Millisecond)
		b.went(t, "dial", StateWaiting, StateLive, StateGarbled, StateLive)
		pass(readWait + 10*time.Millisecond)
		b.went(t, "dial", StateWaiting, StateLive, StateGarbled, StateLive, StateSilent)
		w.send("L:BAT\r\n")
		w.send("L:+0.103mm\r\n")
		synctest.Wait()
		b.went(t, "dial", StateWaiting, StateLive, StateGarbled, StateLive, StateSilent, StateLowBattery, StateLive)
	})
}

func TestGaugesShareAPortByChannel(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		w := newWire(t, "gauges")
		d := builtin(t, "channel and value")
		b := run(t, Options{Open: wired(w)}, Gauge{ID: "bass", Path: w.name, Decoder: d, Channel: "A", Capture: CaptureStream},
			Gauge{ID: "treble", Path: w.name, Decoder: d, Channel: "B", Capture: CaptureStream})
		w.send("\r\nA:+0.100mm\r\nB:+0.200mm\r\nC:+0.300mm\r\nA:+0.101mm\r\n")
		synctest.Wait()
		if a, c := b.numbers("bass"), b.numbers("treble"); !slices.Equal(a, []string{"+0.100", "+0.101"}) || !slices.Equal(c, []string{"+0.200"}) {
			t.Errorf("bass %q, treble %q", a, c)
		}
	})
}

func TestPolledGauge(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		w := newWire(t, "gauge")
		b := run(t, Options{Open: wired(w)}, Gauge{ID: "probe", Path: w.name, Decoder: builtin(t, "polled signed decimal, millimetres"), Capture: CaptureStream})
		for _, answer := range []string{"+0.500\r", "+0.501\r", "+0.502\r"} { // the first came before the port was known to be quiet
			w.asked("R\r")
			w.send(answer)
		}
		synctest.Wait()
		if got := b.numbers("probe"); !slices.Equal(got, []string{"+0.501", "+0.502"}) {
			t.Errorf("readings %q", got)
		}
		pass(time.Second)
		b.went(t, "probe", StateWaiting, StateLive, StateSilent)
	})
}

func TestASlowConsumerLosesNothing(t *testing.T) {
	t.Parallel()
	s := newSocket(t)
	var mu sync.Mutex
	var seqs []uint64
	var digits []string
	g := Gauge{ID: "dial", Path: s.path, Decoder: builtin(t, "signed decimal with unit"), Capture: CaptureStream}
	start(t, Options{OnReading: func(r Reading) {
		time.Sleep(time.Millisecond) // a commit
		mu.Lock()
		seqs, digits = append(seqs, r.Seq), append(digits, r.Value.Digits)
		mu.Unlock()
	}}, g)
	s.send("\r\n")
	const n = 600
	for i := range n { // 6 kB at once is more than the system keeps: the gauge waits, as flow control makes it
		s.send(fmt.Sprintf("+0.%03dmm\r\n", i))
	}
	eventually(t, "all readings", func() bool { mu.Lock(); defer mu.Unlock(); return len(seqs) == n })
	for i := range n {
		if seqs[i] != uint64(i+1) || digits[i] != fmt.Sprintf("+0.%03d", i) {
			t.Fatalf("reading %d is number %d, %s", i, seqs[i], digits[i])
		}
	}
}

func TestGarbageIsNotSilence(t *testing.T) {
	t.Parallel()
	g := Gauge{ID: "dial", Path: "/dev/gauge", Decoder: builtin(t, "decimal comma"), Capture: CaptureStream, SilentAfter: time.Second}
	var states []State
	super, err := New([]Gauge{g}, Options{OnHealth: func(h Health) { states = append(states, h.State) }})
	if err != nil {
		t.Fatal(err)
	}
	began := time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC)
	s := session{link: super.links[0], began: began, read: began}
	s.gauges[0].open(began, "/dev/gauge", false, super.opt.OnHealth)
	for at := time.Duration(0); at < 5*time.Second; at += 300 * time.Millisecond {
		s.deliver([]decode.Event{{At: at, Raw: []byte("wrong"), Fault: decode.Garbled, Why: "does not match the pattern"}})
		s.silence(began.Add(at + 299*time.Millisecond))
	}
	s.silence(began.Add(5799 * time.Millisecond)) // the last one came at 4800 ms
	if want := []State{StateWaiting, StateGarbled}; !slices.Equal(states, want) {
		t.Errorf("states %q, want %q", states, want)
	}
	s.silence(began.Add(5800 * time.Millisecond))
	if want := []State{StateWaiting, StateGarbled, StateSilent}; !slices.Equal(states, want) {
		t.Errorf("states %q, want %q", states, want)
	}
}

func TestNewRefusesGaugesThatCannotWork(t *testing.T) {
	t.Parallel()
	good := keyGauge(t, "/dev/a")
	for _, c := range []struct {
		what, says string
		change     func(*Gauge)
	}{
		{"no ID", "no ID", func(g *Gauge) { g.ID = "" }},
		{"same ID", "twice", func(g *Gauge) {}},
		{"no decoder", "no decoder", func(g *Gauge) { g.ID, g.Decoder = "b", nil }},
		{"no port", "neither a USB identity nor a path", func(g *Gauge) { g.ID, g.Path = "b", "" }},
		{"capture", `"key" "stream" "settled" "request" "typed"`, func(g *Gauge) { g.ID, g.Capture = "b", "press" }},
		{"a rest without a resolution", "give the step of its last digit", func(g *Gauge) { g.ID, g.Capture = "b", CaptureSettled }},
		{"nothing to ask", "sends no request", func(g *Gauge) { g.ID, g.Capture = "b", CaptureRequest }},
		{"foot switch", `"CTS", "DSR"`, func(g *Gauge) { g.ID, g.FootSwitch = "b", "DCD" }},
		{"foot switch without a port", "no port", func(g *Gauge) { g.ID, g.Capture, g.FootSwitch = "b", CaptureTyped, LineCTS }},
		{"typed registers", `family "text"`, func(g *Gauge) {
			g.ID, g.Capture, g.Decoder = "b", CaptureTyped, builtin(t, "queried number, millimetres")
		}},
		{"decoder of a shared port", "one port has one decoder", func(g *Gauge) { g.ID, g.Decoder = "b", builtin(t, "decimal comma") }},
	} {
		g := good
		c.change(&g)
		if _, err := New([]Gauge{good, g}, Options{}); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %q in it", c.what, err, c.says)
		}
	}
}

func TestNoGoroutineStays(t *testing.T) {
	before := runtime.NumGoroutine()
	s := newSocket(t)
	b := run(t, Options{}, keyGauge(t, s.path), Gauge{ID: "none", Path: "/nowhere", Decoder: builtin(t, "decimal comma"), Capture: CaptureKey})
	eventually(t, "waiting", func() bool { return b.state("height") == StateWaiting })
	b.stop()
	eventually(t, "as many goroutines as before", func() bool { return runtime.NumGoroutine() <= before })
	if p, err := openPort(serial.Open, s.path, builtin(t, "decimal comma").Line); err != nil {
		t.Errorf("the port was not given back: %v", err)
	} else {
		p.Close()
	}
}
