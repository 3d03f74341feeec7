package simulate

import (
	"bytes"
	"errors"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"go.bug.st/serial"
)

// listen opens a port as the station does: through the serial library, 9600 baud, 8N1.
func listen(t *testing.T, name string) serial.Port {
	t.Helper()
	p, err := serial.Open(name, &serial.Mode{BaudRate: 9600, DataBits: 8})
	if err != nil {
		t.Fatalf("open %s: %v", name, err)
	}
	t.Cleanup(func() { _ = p.Close() }) // an already closed port is what some tests want
	if err := p.SetReadTimeout(20 * time.Millisecond); err != nil {
		t.Fatal(err)
	}
	return p
}

// patience is how long a test waits for what must happen.
const patience = 30 * time.Second

// readUntil reads until enough says so.
func readUntil(t *testing.T, p serial.Port, enough func([]byte) bool) []byte {
	t.Helper()
	var all []byte
	buf := make([]byte, 256)
	for end := time.Now().Add(patience); time.Now().Before(end); {
		n, err := p.Read(buf)
		if err != nil {
			t.Fatalf("read: %v after %q", err, all)
		}
		all = append(all, buf[:n]...)
		if enough(all) {
			return all
		}
	}
	t.Fatalf("not enough came within %v: %q", patience, all)
	return nil
}

func size(n int) func([]byte) bool { return func(b []byte) bool { return len(b) >= n } }

// leaks fails when goroutines are left over once all clean-ups that were registered after it have run.
func leaks(t *testing.T) {
	t.Helper()
	before := runtime.NumGoroutine()
	t.Cleanup(func() {
		for end := time.Now().Add(patience); runtime.NumGoroutine() > before; time.Sleep(time.Millisecond) {
			if time.Now().After(end) {
				stacks := make([]byte, 1<<16)
				t.Fatalf("goroutines: %d before, %d after\n%s", before, runtime.NumGoroutine(), stacks[:runtime.Stack(stacks, true)])
			}
		}
	})
}

func openGauge(t *testing.T, opt GaugeOptions) *Gauge {
	t.Helper()
	leaks(t)
	g, err := OpenGauge(opt)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := g.Close(); err != nil {
			t.Errorf("close: %v", err)
		}
	})
	return g
}

func TestFormats(t *testing.T) {
	for _, c := range []struct {
		f    Format
		mm   float64
		key  bool
		want string
	}{
		{ChannelValue, 0.123, false, "L:+0.123mm\r\n"},
		{ChannelValue, -0.85, true, "K:-0.850mm\r\n"},
		{ChannelValue, -0.0004, true, "K:+0.000mm\r\n"},
		{SignedMillimetres, 1.95, true, "+1.950mm\r\n"},
		{SignedMillimetres, 12.3456, true, "+12.346mm\r\n"},
		{InchNoLeadingZero, 0.30988, true, "+.01220in\r\n"}, // 0.0122 x 25.4
		{InchNoLeadingZero, -0.08001, true, "-.00315in\r\n"},
		{InchNoLeadingZero, 25.4, true, "+1.00000in\r\n"},
		{InchNoLeadingZero, 254, true, "+10.00000in\r\n"},
		{InchNoLeadingZero, -0.0001, true, "+.00000in\r\n"},
	} {
		if got := string(c.f.Number(c.mm, c.key)); got != c.want {
			t.Errorf("%s: %g mm: got %q, want %q", c.f.Decoder, c.mm, got, c.want)
		}
	}
}

func TestPressArrives(t *testing.T) {
	path := filepath.Join(t.TempDir(), "height")
	g := openGauge(t, GaugeOptions{Path: path, Format: SignedMillimetres})
	if g.Port() != path {
		t.Errorf("port %q, want the symlink %q", g.Port(), path)
	}
	if sent, err := g.Press(); !errors.Is(err, ErrNobody) {
		t.Errorf("pressed with nobody there: sent %q, %v", sent, err)
	}
	p := listen(t, path)
	g.Show(1.95)
	sent, err := g.Press()
	if err != nil {
		t.Fatal(err)
	}
	if got := readUntil(t, p, size(len(sent))); string(got) != "+1.950mm\r\n" || !bytes.Equal(got, sent) {
		t.Errorf("got %q, sent %q", got, sent)
	}

	g.BounceNext()
	if _, err := g.Press(); err != nil {
		t.Fatal(err)
	}
	if got := readUntil(t, p, size(20)); string(got) != "+1.950mm\r\n+1.950mm\r\n" {
		t.Errorf("bounce: %q", got)
	}
	g.DamageNext(DamageCut)
	if _, err := g.Press(); err != nil {
		t.Fatal(err)
	}
	if got := readUntil(t, p, size(5)); string(got) != "+1.95" {
		t.Errorf("cut: %q", got)
	}
	g.DamageNext(DamageGarble)
	if _, err := g.Press(); err != nil {
		t.Fatal(err)
	}
	if got := readUntil(t, p, size(10)); string(got) != "+1.95pmm\r\n" { // 0 and p differ in one bit
		t.Errorf("garbled: %q", got)
	}
	g.LowBattery(true)
	if _, err := g.Press(); err != nil {
		t.Fatal(err)
	}
	if got := readUntil(t, p, size(5)); string(got) != "BAT\r\n" {
		t.Errorf("low battery: %q", got)
	}
	g.LowBattery(false)
	if sent, err := g.Press(); err != nil || string(sent) != "+1.950mm\r\n" {
		t.Errorf("battery changed: %q, %v", sent, err)
	}
}

// TestReadingsAroundTheTruth: mean and standard deviation of many presses against the noise put in. Bounds are four
// standard errors, sd/sqrt(n) and sd/sqrt(2n) (normal theory); the seed is fixed.
func TestReadingsAroundTheTruth(t *testing.T) {
	const n, sd, truth = 2000, 0.004, 1.2345
	g := openGauge(t, GaugeOptions{Format: SignedMillimetres, NoiseMM: sd, BiasMM: 0.01, Seed: 3})
	p := listen(t, g.Port())
	g.Show(truth)
	var sum, squares float64
	for range n {
		sent, err := g.Press()
		if err != nil {
			t.Fatal(err)
		}
		got := readUntil(t, p, size(len(sent)))
		mm, err := strconv.ParseFloat(strings.TrimSuffix(string(got), "mm\r\n"), 64)
		if err != nil {
			t.Fatal(err)
		}
		sum += mm
		squares += (mm - truth - 0.01) * (mm - truth - 0.01)
	}
	near(t, "mean", sum/n, truth+0.01, 4*sd/math.Sqrt(n))
	near(t, "standard deviation", math.Sqrt(squares/n), sd, 4*sd/math.Sqrt(2*n))
}

func TestDriftSenseResolution(t *testing.T) {
	g := openGauge(t, GaugeOptions{Format: SignedMillimetres, ResolutionMM: 0.01, DriftMM: 0.01, DriftAfter: 2, Reversed: true})
	p := listen(t, g.Port())
	g.Show(1.234)
	for i, want := range []string{"-1.230mm\r\n", "-1.230mm\r\n", "-1.220mm\r\n", "-1.210mm\r\n"} {
		sent, err := g.Press()
		if err != nil || string(sent) != want {
			t.Errorf("press %d: %q, %v; want %q", i+1, sent, err, want)
		}
	}
	readUntil(t, p, size(40))
}

func TestStreamAndPress(t *testing.T) {
	g := openGauge(t, GaugeOptions{Format: ChannelValue, Every: 2 * time.Millisecond})
	p := listen(t, g.Port())
	g.Show(0.25)
	// Until the value put there shows, for an earlier live frame may be on its way, and up to a frame's end.
	readUntil(t, p, func(b []byte) bool {
		return bytes.Count(b, []byte("L:+0.250mm\r\n")) >= 3 && bytes.HasSuffix(b, []byte("\n"))
	})
	if _, err := g.Press(); err != nil {
		t.Fatal(err)
	}
	got := readUntil(t, p, func(b []byte) bool {
		return bytes.Contains(b, []byte("K:")) && bytes.HasSuffix(b, []byte("\n")) && bytes.Count(b, []byte("L:")) > 3
	})
	for _, line := range strings.SplitAfter(string(got), "\r\n") {
		if line != "L:+0.250mm\r\n" && line != "K:+0.250mm\r\n" && line != "" {
			t.Errorf("torn frame %q in %q", line, got)
		}
	}
	if n := bytes.Count(got, []byte("K:")); n != 1 {
		t.Errorf("%d pressed frames, want 1", n)
	}
}

// TestNobodyReads: a port that is open but not read fills up, and a press then ends in an error. Once the reader wakes, live
// frames come again, and every frame is whole.
func TestNobodyReads(t *testing.T) {
	g := openGauge(t, GaugeOptions{Format: ChannelValue, Every: 20 * time.Microsecond})
	p := listen(t, g.Port())
	var err error
	for end := time.Now().Add(patience); err == nil && time.Now().Before(end); {
		_, err = g.Press()
	}
	if !errors.Is(err, ErrFull) {
		t.Fatalf("pressing into a full line: %v, want ErrFull", err)
	}
	const live, pressed = "L:+0.000mm\r\n", "K:+0.000mm\r\n"
	// How many of the frames that fill the line are live is a matter of who gets the processor: after the last press that
	// went out whole come live ones alone.
	got := readUntil(t, p, func(b []byte) bool {
		return len(b) > 20000 && strings.Count(string(b[bytes.LastIndex(b, []byte(pressed))+len(pressed):]), live) >= 100
	})
	// What was sent between the opening and the setting of the line arrived at another rate: it is all before the first
	// whole frame.
	start := bytes.Index(got, []byte(live))
	if at := bytes.Index(got, []byte(pressed)); start < 0 || at >= 0 && at < start {
		start = at
	}
	if start > 10000 {
		t.Fatalf("hardly a whole frame in %d bytes: %q", len(got), got[:200])
	}
	lines := strings.SplitAfter(string(got[start:]), "\n")
	for i, line := range lines[:len(lines)-1] {
		if line != live && line != pressed {
			t.Fatalf("line %d of %d is torn: %q", i, len(lines), line)
		}
	}
}

func TestUnplugAndReplug(t *testing.T) {
	path := filepath.Join(t.TempDir(), "gauge")
	g := openGauge(t, GaugeOptions{Path: path, Format: SignedMillimetres})
	for round := range 3 {
		p := listen(t, path)
		g.Show(float64(round))
		sent, err := g.Press()
		if err != nil {
			t.Fatal(err)
		}
		if got := readUntil(t, p, size(len(sent))); !bytes.Equal(got, sent) {
			t.Errorf("round %d: got %q, sent %q", round, got, sent)
		}
		if err := g.Unplug(); err != nil {
			t.Fatal(err)
		}
		if err := g.Unplug(); err != nil {
			t.Errorf("unplugged twice: %v", err)
		}
		for end := time.Now().Add(patience); ; {
			if _, err := p.Read(make([]byte, 10)); err != nil {
				break
			}
			if time.Now().After(end) {
				t.Fatal("reading an unplugged port gives no error")
			}
		}
		if err := p.Close(); err != nil {
			t.Error(err)
		}
		if _, err := os.Lstat(path); !errors.Is(err, os.ErrNotExist) {
			t.Errorf("the symlink of an unplugged gauge: %v", err)
		}
		if _, err := g.Press(); !errors.Is(err, ErrUnplugged) {
			t.Errorf("pressed while unplugged: %v", err)
		}
		if err := g.Replug(); err != nil {
			t.Fatal(err)
		}
	}
	if err := g.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := g.Press(); !errors.Is(err, ErrClosed) {
		t.Errorf("pressed when closed: %v", err)
	}
	if err := g.Replug(); !errors.Is(err, ErrClosed) {
		t.Errorf("replugged when closed: %v", err)
	}
}

func TestNoForeignFileIsReplaced(t *testing.T) {
	path := filepath.Join(t.TempDir(), "notes")
	if err := os.WriteFile(path, []byte("keep"), 0o600); err != nil {
		t.Fatal(err)
	}
	leaks(t)
	if g, err := OpenGauge(GaugeOptions{Path: path, Format: ChannelValue}); err == nil {
		t.Errorf("a file was replaced; close: %v", g.Close())
	}
	if text, err := os.ReadFile(path); err != nil || string(text) != "keep" {
		t.Errorf("the file now holds %q, %v", text, err)
	}
	if _, err := OpenGauge(GaugeOptions{}); err == nil {
		t.Error("a gauge without a format was opened")
	}
}

func BenchmarkFrame(b *testing.B) {
	for _, f := range []Format{ChannelValue, SignedMillimetres, InchNoLeadingZero} {
		b.Run(f.Decoder, func(b *testing.B) {
			g, err := OpenGauge(GaugeOptions{Format: f, NoiseMM: 0.003})
			if err != nil {
				b.Fatal(err)
			}
			defer g.Close()
			b.ReportAllocs()
			for b.Loop() {
				g.frame(g.noise, true)
			}
		})
	}
}

func BenchmarkPressToReader(b *testing.B) {
	g, err := OpenGauge(GaugeOptions{Format: SignedMillimetres, NoiseMM: 0.003})
	if err != nil {
		b.Fatal(err)
	}
	defer g.Close()
	p, err := serial.Open(g.Port(), &serial.Mode{BaudRate: 9600, DataBits: 8})
	if err != nil {
		b.Fatal(err)
	}
	defer p.Close()
	buf := make([]byte, 64)
	for b.Loop() {
		sent, err := g.Press()
		if err != nil {
			b.Fatal(err)
		}
		for got := 0; got < len(sent); {
			n, err := p.Read(buf)
			if err != nil {
				b.Fatal(err)
			}
			got += n
		}
	}
}
