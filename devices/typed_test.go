package devices

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/devices/decode"
)

// burst is a text typed with the same time between all its keys.
func burst(text string, gap time.Duration) Burst {
	b := Burst{Text: text, End: '\r'}
	for range text {
		b.Gaps = append(b.Gaps, gap)
	}
	return b
}

func TestTyped(t *testing.T) {
	t.Parallel()
	calliper := Gauge{ID: "calliper", Decoder: builtin(t, "signed decimal with unit"), Capture: CaptureTyped}
	pen := Gauge{ID: "pen", Decoder: builtin(t, "decimal comma"), Capture: CaptureTyped, Prefix: "%p"}
	if _, err := New([]Gauge{calliper, pen}, Options{}); err == nil || !strings.Contains(err.Error(), "prefix that does not begin the other") {
		t.Fatalf("two gauges that type, one without a prefix: %v", err)
	}

	b := run(t, Options{}, calliper)
	eventually(t, "waiting", func() bool { return b.state("calliper") == StateWaiting })
	const fast, slow = 8 * time.Millisecond, 90 * time.Millisecond
	for _, c := range []struct {
		what string
		b    Burst
		want string
	}{
		{"a gauge's speed and frame", burst("+1.950mm", fast), "calliper"},
		{"a person's speed", burst("+1.950mm", slow), ""},
		{"one key too late", Burst{"+1.950mm", '\r', append(slices.Repeat([]time.Duration{fast}, 7), slow)}, ""},
		{"no timing", Burst{"+1.950mm", '\r', nil}, ""},
		{"a scanner's serial number", burst("QM-2611-0001", fast), ""},
		{"two frames", burst("+1.950mm\r\n+1.950mm", fast), ""},
		{"a frame and a half", burst("+1.950mm+1.9", fast), ""},
		{"nothing", Burst{"", '\r', nil}, ""},
	} {
		if got := b.Typed(c.b); got != c.want {
			t.Errorf("%s: %q, want %q", c.what, got, c.want)
		}
	}
	if len(b.read()) != 1 || len(b.refused()) != 0 {
		t.Fatalf("readings %+v, faults %+v", b.read(), b.refused())
	}
	r := b.read()[0]
	if !r.Key || r.Seq != 1 || r.Offset != 0 || string(r.Raw) != "+1.950mm\r" || r.Value.MM != 1.95 || r.Decoder != calliper.Decoder.ID() || r.At.IsZero() {
		t.Errorf("reading %+v", r)
	}
}

func TestTypedWithAPrefix(t *testing.T) {
	t.Parallel()
	pen := Gauge{ID: "pen", Decoder: builtin(t, "signed decimal with status words"), Capture: CaptureTyped, Prefix: "%p"}
	b := run(t, Options{}, pen)
	const keys = 90 * time.Millisecond // a slow gauge: its prefix speaks for it
	if got := b.Typed(burst("%p+0.500mm", keys)); got != "pen" {
		t.Fatalf("with the prefix: %q", got)
	}
	if got := b.Typed(burst("+0.500mm", 5*time.Millisecond)); got != "" {
		t.Errorf("without the prefix: %q", got)
	}
	if got := b.Typed(Burst{"%p+0.x", '\t', slices.Repeat([]time.Duration{keys}, 6)}); got != "pen" {
		t.Errorf("a frame that makes no sense is the gauge's too: %q", got)
	}
	if got := b.Typed(burst("%pOVER", keys)); got != "pen" {
		t.Errorf("a word instead of a number: %q", got)
	}
	if len(b.refused()) != 1 || string(b.refused()[0].Raw) != "%p+0.x\t" || b.refused()[0].Fault != decode.Garbled || b.refused()[0].Offset != int64(len("%p+0.500mm\r")) {
		t.Errorf("faults %+v", b.refused())
	}
	if !b.read()[0].Key || b.read()[0].Value.MM != 0.5 || b.read()[1].Value.Status != "overload" {
		t.Errorf("readings %+v", b.read())
	}
}

func TestSettledGaugeOnItsLine(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		w := newWire(t, "dial")
		b := run(t, Options{Open: wired(w)}, Gauge{ID: "dial", Path: w.name, Decoder: builtin(t, "signed decimal with unit"), Capture: CaptureSettled,
			ResolutionMM: 0.001, SilentAfter: 400 * time.Millisecond})
		b.quiet(t, "dial")
		send := func(times int, text string) {
			for range times {
				w.send(text + "\r\n")
				pass(20 * time.Millisecond)
			}
		}
		send(20, "-3.000mm")
		send(16, "+0.412mm") // 300 ms between the first and the last
		send(25, "+0.413mm")
		var taken []string
		for i, used := range b.used("dial") {
			if strings.HasSuffix(used, "true") {
				taken = append(taken, fmt.Sprint(i, " ", used))
			}
		}
		if !slices.Equal(taken, []string{"35 +0.412 true"}) || len(b.read()) != 61 {
			t.Errorf("took %q of %d, want one reading of the one placement", taken, len(b.read()))
		}
		pass(time.Second)
		b.went(t, "dial", StateWaiting, StateLive, StateSilent)
	})
}

// FuzzTyped: whatever is typed, a burst is nobody's, or one reading or one fault of the gauge it is said to be.
func FuzzTyped(f *testing.F) {
	f.Add("%p+0.500mm", 8, 8)
	f.Add("%pOVER", 200, 8)
	f.Add("+1.950mm\r\n+1.9", 8, 31)
	f.Add("", 0, 0)
	f.Fuzz(func(t *testing.T, text string, first, others int) {
		var readings, faults int
		s, err := New([]Gauge{
			{ID: "pen", Decoder: builtin(t, "signed decimal with status words"), Capture: CaptureTyped, Prefix: "%p"},
		}, Options{OnReading: func(Reading) { readings++ }, OnFault: func(Fault) { faults++ }})
		if err != nil {
			t.Fatal(err)
		}
		b := burst(text, time.Duration(others)*time.Millisecond)
		if len(b.Gaps) > 0 {
			b.Gaps[0] = time.Duration(first) * time.Millisecond
		}
		taken := s.Typed(b)
		if readings+faults > 1 || (taken == "pen") != (readings+faults == 1) {
			t.Errorf("%q is %q's: %d readings, %d faults", text, taken, readings, faults)
		}
	})
}
