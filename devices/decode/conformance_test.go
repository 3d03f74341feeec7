package decode

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
)

// sample is a frame as a gauge sends it, and what it says. The mm figures are computed by hand: 1 in = 25.4 mm.
type sample struct {
	raw, digits, unit string
	mm                float64 // NaN for a status frame
	channel, status   string
}

var none = math.NaN()

// samples holds frames of every built-in decoder; the suite below is run on each of them.
var samples = map[string][]sample{
	"signed decimal with unit": {
		{"+1.950mm\r\n", "+1.950", "mm", 1.95, "", ""},
		{"-0.0120in\r\n", "-0.0120", "in", -0.3048, "", ""},
		{"-10.123mm\r\n", "-10.123", "mm", -10.123, "", ""},
	},
	"signed decimal without unit, millimetres": {
		{"+001.950\r", "+001.950", "", 1.95, "", ""},
		{"-000.000\r", "-000.000", "", 0, "", ""},
		{"+123.456\r", "+123.456", "", 123.456, "", ""},
	},
	"fixed width with blanks": {
		{"+   1.950 mm", "+1.950", " mm", 1.95, "", ""},
		{"-   .0120 in", "-.0120", " in", -0.3048, "", ""},
		{"   12.345 mm", "12.345", " mm", 12.345, "", ""},
	},
	"decimal inch without leading zero": {
		{"+.0120in\r\n", "+.0120", "in", 0.3048, "", ""},
		{"+.01220in\r\n", "+.01220", "in", 0.30988, "", ""},
		{"-1.00005\"\r\n", "-1.00005", "\"", -25.40127, "", ""},
	},
	"decimal comma": {
		{"+0,123 mm\r\n", "+0,123", "mm", 0.123, "", ""},
		{"-12,50 mm\r\n", "-12,50", "mm", -12.5, "", ""},
		{"+0,0500 in\r\n", "+0,0500", "in", 1.27, "", ""},
	},
	"channel and value": {
		{"L:+0.123mm\r\n", "+0.123", "mm", 0.123, "L", ""},
		{"K:-0.0050in\r\n", "-0.0050", "in", -0.127, "K", ""},
		{"2:+10.000mm\r\n", "+10.000", "mm", 10, "2", ""},
		{"L:BAT\r\n", "", "", none, "L", "low battery"},
	},
	"signed decimal with status words": {
		{"+1.950mm\r\n", "+1.950", "mm", 1.95, "", ""},
		{"-OVER\r\n", "", "", none, "", "overload"},
		{"BAT\r\n", "", "", none, "", "low battery"},
		{"----\r\n", "", "", none, "", "no reading"},
	},
	"start and end marks with xor checksum": {
		{"\x02+1.950mm" + xorHex("+1.950mm") + "\x03", "+1.950", "mm", 1.95, "", ""},
		{"\x02-0.01220in" + xorHex("-0.01220in") + "\x03", "-0.01220", "in", -0.30988, "", ""},
		{"\x02+1.950mmB" + xorHex("+1.950mmB") + "\x03", "", "", none, "", "low battery"},
	},
	"polled signed decimal, millimetres": {
		{"+1.950\r", "+1.950", "", 1.95, "", ""},
		{"-12.3456\r", "-12.3456", "", -12.3456, "", ""},
	},
	"register of a probe, micrometres": {
		{"\x01\x04\x04\x00\x00\x07\x9e\x78\x1c", "1950", "", 1.95, "", ""},
		{"\x01\x84\x02\xc2\xc1", "", "", none, "", "refused with exception 2"},
		{"\x01\x04\x04\xff\xff\xff\xf9\x7a\x12", "-7", "", -0.007, "", ""},
	},
	"queried number, millimetres": {
		{"+1.950E+00\n", "+1.950E+00", "", 1.95, "", ""},
		{"9.91E37\n", "", "", none, "", "no reading"},
	},
	"whole micrometres ended by a pause": {
		{"+001950", "+001950", "", 1.95, "", ""},
		{"-000007", "-000007", "", -0.007, "", ""},
	},
}

// xorHex is written apart from the code under test.
func xorHex(s string) string {
	x := 0
	for i := range len(s) {
		x ^= int(s[i])
	}
	return fmt.Sprintf("%02X", x)
}

// eachDecoder runs a test on every built-in decoder; one without samples fails.
func eachDecoder(t *testing.T, test func(t *testing.T, d *Decoder, frames []sample)) {
	for _, d := range Builtin() {
		t.Run(d.Name, func(t *testing.T) {
			frames := samples[d.Name]
			if len(frames) < 2 {
				t.Fatal("no samples; every decoder goes through this suite")
			}
			test(t, d, frames)
		})
	}
}

// piece is bytes that come so long after the piece before.
type piece struct {
	after time.Duration
	bytes string
}

// play feeds pieces and ends with the given silence. It checks that no byte is lost: the events' bytes, joined, are
// the bytes fed, and their offsets fit.
func play(t *testing.T, s *Stream, pieces []piece, silence time.Duration) []Event {
	t.Helper()
	var events []Event
	var at time.Duration
	var fed []byte
	for _, p := range pieces {
		at += p.after
		events = append(events, s.Feed(at, []byte(p.bytes))...)
		fed = append(fed, p.bytes...)
	}
	events = append(events, s.Idle(at+silence)...)
	events = append(events, s.End(at+silence)...)
	accounted(t, events, fed)
	return events
}

func accounted(t testing.TB, events []Event, fed []byte) {
	t.Helper()
	var seen []byte
	for _, e := range events {
		if e.Offset != int64(len(seen)) {
			t.Errorf("event %q at offset %d, want %d", e.Raw, e.Offset, len(seen))
		}
		seen = append(seen, e.Raw...)
		if (e.Value == nil) != (e.Fault == Garbled || e.Fault == Cut) {
			t.Errorf("event %q is neither a reading nor a fault: %+v", e.Raw, e)
		}
	}
	if !bytes.Equal(seen, fed) {
		t.Errorf("events hold %q, fed %q", seen, fed)
	}
}

// gap is a pause between frames, long enough to end one where a pause does, too short to cut one.
func gap(d *Decoder) time.Duration { return max(d.Frame.Idle, 50*time.Millisecond) }

func outcome(events []Event) string {
	var b strings.Builder
	for _, e := range events {
		if e.Value == nil {
			fmt.Fprintf(&b, "%s %q; ", e.Fault, e.Raw)
		} else {
			fmt.Fprintf(&b, "%s%s%s %q; ", e.Value.Channel, e.Value.Digits, e.Value.Status, e.Raw)
		}
	}
	return b.String()
}

func numbers(events []Event) (all []string) {
	for _, e := range events {
		if e.Value != nil {
			all = append(all, e.Value.Digits)
		}
	}
	return all
}

func TestFramesSayWhatTheySay(t *testing.T) {
	eachDecoder(t, func(t *testing.T, d *Decoder, frames []sample) {
		for _, f := range frames {
			events := play(t, d.Stream(true), []piece{{0, f.raw}}, gap(d))
			if len(events) != 1 || events[0].Value == nil {
				t.Errorf("%q: %s", f.raw, outcome(events))
				continue
			}
			v := events[0].Value
			if v.Digits != f.digits || v.Unit != f.unit || v.Channel != f.channel || v.Status != f.status {
				t.Errorf("%q: %+v", f.raw, v)
			}
			if v.MM != f.mm && !(math.IsNaN(f.mm) && math.IsNaN(v.MM) && math.IsNaN(v.Value) && !v.IsNumber()) {
				t.Errorf("%q: %v mm, want %v", f.raw, v.MM, f.mm)
			}
		}
	})
}

func TestSplittingAndDoublingChangeNothing(t *testing.T) {
	eachDecoder(t, func(t *testing.T, d *Decoder, frames []sample) {
		for _, f := range frames {
			twice := []piece{{0, f.raw}, {gap(d), f.raw}}
			want := outcome(play(t, d.Stream(true), twice, gap(d)))
			if strings.Count(want, f.digits+f.status) < 2 {
				t.Errorf("%q twice: %s", f.raw, want)
			}
			for i := range len(f.raw) {
				split := []piece{{0, f.raw[:i]}, {time.Millisecond, f.raw[i:]}, {gap(d), f.raw[:i]}, {time.Millisecond, f.raw[i:]}}
				if got := outcome(play(t, d.Stream(true), split, gap(d))); got != want {
					t.Errorf("split at %d: %s, want %s", i, got, want)
				}
			}
			var single []piece
			for i := range len(f.raw) {
				single = append(single, piece{time.Millisecond, f.raw[i : i+1]})
			}
			first := single[0].bytes
			single = append(single, piece{gap(d), first})
			for i := 1; i < len(f.raw); i++ {
				single = append(single, piece{time.Millisecond, f.raw[i : i+1]})
			}
			if got := outcome(play(t, d.Stream(true), single, gap(d))); got != want {
				t.Errorf("byte by byte: %s, want %s", got, want)
			}
		}
	})
}

func TestAPieceOfAFrameIsNeverANumber(t *testing.T) {
	eachDecoder(t, func(t *testing.T, d *Decoder, frames []sample) {
		for _, f := range frames {
			for i := 1; i < len(f.raw); i++ {
				head, tail := f.raw[:i], f.raw[i:]
				if events := play(t, d.Stream(true), []piece{{0, head}}, longestPause); len(numbers(events)) > 0 {
					t.Errorf("cut after %d: %s", i, outcome(events))
				} else if want := Cut; d.Frame.Idle == 0 && (len(events) != 1 || events[0].Fault != want) {
					t.Errorf("cut after %d: %s, want one %s", i, outcome(events), want)
				}
				// A number of the open standard may come without sign and in any length: there a tail can fit.
				if events := play(t, d.Stream(true), []piece{{0, tail}}, gap(d)); d.Family != "scpi" && strings.Join(numbers(events), "") != "" {
					t.Errorf("without its first %d: %s", i, outcome(events))
				}
				live := play(t, d.Stream(false), []piece{{0, tail}, {gap(d), f.raw}, {gap(d), f.raw}}, gap(d))
				if got := numbers(live); len(got) == 0 || got[0] != f.digits || len(got) > 2 {
					t.Errorf("live, first the tail %q: %s", tail, outcome(live))
				}
			}
		}
	})
}

func TestSilenceInsideAFrameCutsIt(t *testing.T) {
	eachDecoder(t, func(t *testing.T, d *Decoder, frames []sample) {
		f := frames[0]
		for i := 1; i < len(f.raw); i++ {
			events := play(t, d.Stream(true), []piece{{0, f.raw[:i]}, {longestPause, f.raw[i:]}, {gap(d), f.raw}, {gap(d), f.raw}}, gap(d))
			if len(events) == 0 || events[0].Value != nil || string(events[0].Raw) != f.raw[:i] || events[0].At != 0 {
				t.Errorf("silence after %d: %s", i, outcome(events))
			}
			if got := numbers(events); len(got) == 0 || len(got) > 2 {
				t.Errorf("silence after %d: %s, want the frames that follow", i, outcome(events))
			}
			if d.Frame.Idle == 0 {
				short := play(t, d.Stream(true), []piece{{0, f.raw[:i]}, {longestPause - 1, f.raw[i:]}}, gap(d))
				if len(short) != 1 || short[0].Value == nil {
					t.Errorf("just short of a silence after %d: %s", i, outcome(short))
				}
			}
		}
	})
}

func TestNoiseBetweenFrames(t *testing.T) {
	noises := []string{"\x00", "\xff\xfe", "+", "0.1", "garbage", "\x02", "+0.", "mm", "\x03\x03", strings.Repeat("7", 200), strings.Repeat("+1", 100)}
	eachDecoder(t, func(t *testing.T, d *Decoder, frames []sample) {
		f := frames[0]
		for _, noise := range noises {
			if v, _ := d.read([]byte(noise)); v != nil && d.Frame.Length == 0 {
				continue // it is a frame of this decoder
			}
			end := string(d.Frame.End)
			events := play(t, d.Stream(true), []piece{{0, f.raw}, {gap(d), noise + end},
				{gap(d), f.raw}, {gap(d), f.raw}, {gap(d), f.raw}}, gap(d))
			got := numbers(events)
			for _, digits := range got {
				if digits != f.digits {
					t.Errorf("noise %q became a number: %s", noise, outcome(events))
				}
			}
			if len(got) < 3 || len(got) > 4 {
				t.Errorf("noise %q: %s, want at least 3 of 4 readings", noise, outcome(events))
			}
		}
	})
}

func TestAFlippedBitIsNeverAnotherNumberWhereAChecksumTells(t *testing.T) {
	for _, kind := range []string{"xor", "sum8", "lrc", "crc16-modbus"} {
		for _, encoding := range []string{"hex", "byte", "hex\"\norder = \"high-first", "hex\"\norder = \"low-first", "byte\"\norder = \"high-first", "byte\"\norder = \"low-first"} {
			d := mustLoad(t, strings.NewReplacer("KIND", kind, "ENCODING", encoding).Replace(checksummed))
			encoding, order, told := strings.Cut(encoding, "\"\norder = \"")
			if !told { // a number is written high digit first, bytes follow each other as on Modbus
				order = map[string]string{"hex": "high-first", "byte": "low-first"}[encoding]
			}
			frame := append([]byte("+1.950mm"), sumOf(kind, encoding, order)...)
			frame = append(frame, "\r\n"...)
			if got := numbers(play(t, d.Stream(true), []piece{{0, string(frame)}}, gap(d))); len(got) != 1 {
				t.Errorf("%s, %s: the whole frame %q is refused", kind, encoding, frame)
			}
			for i := range len(frame) * 8 {
				bad := bytes.Clone(frame)
				bad[i/8] ^= 1 << (i % 8)
				for _, digits := range numbers(play(t, d.Stream(true), []piece{{0, string(bad)}}, longestPause)) {
					// A flipped bit 5 of a hex digit's letter is the same digit in the other case.
					if digits != "+1.950" || encoding == "byte" {
						t.Errorf("%s, %s: %q became %s", kind, encoding, bad, digits)
					}
				}
			}
		}
	}
}

const checksummed = `
name = "with a checksum"
family = "text"
[line]
baud = 9600
[frame]
end = "\r\n"
[text]
pattern = '(?P<sign>[+-])(?P<digits>\d\.\d{3})(?P<unit>mm)'
[checksum]
kind = "KIND"
encoding = "ENCODING"
`

// sumOf gives the checksums of "+1.950mm", computed apart: 2B 31 2E 39 35 30 6D 6D add up to 0x202, their exclusive
// or is 0x08 (by hand); the CRC is by the bitwise division of the MODBUS guide, computed with Python.
func sumOf(kind, encoding, order string) []byte {
	n := map[string][]byte{"xor": {0x08}, "sum8": {0x02}, "lrc": {0xFE}, "crc16-modbus": {0x96, 0x5B}}[kind]
	if len(n) == 2 && order == "low-first" {
		n[0], n[1] = n[1], n[0]
	}
	if encoding == "hex" {
		return fmt.Appendf(nil, "%X", n)
	}
	return n
}

func mustLoad(t testing.TB, source string) *Decoder {
	t.Helper()
	d, err := Load("test.toml", []byte(source))
	if err != nil {
		t.Fatal(err)
	}
	return d
}
