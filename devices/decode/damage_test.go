package decode

import (
	"bytes"
	"flag"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/devices/simulate"
)

var frames = flag.Int("frames", 72_000, "how many frames TestDamage sends through all decoders together")

// damages are the ways in which bytes are spoilt. Each gets a frame and another one, and gives what arrives.
var damages = []struct {
	name    string
	spoil   func(r *rand.Rand, d *Decoder, b, other []byte) []byte
	oneByte bool // nothing but one byte changed, which every checksum shows
}{
	{"bit flipped", func(r *rand.Rand, _ *Decoder, b, _ []byte) []byte { b[r.IntN(len(b))] ^= 1 << r.IntN(8); return b }, true},
	{"byte replaced", func(r *rand.Rand, _ *Decoder, b, _ []byte) []byte {
		b[r.IntN(len(b))] ^= byte(1 + r.IntN(255))
		return b
	}, true},
	{"digit for a digit", func(r *rand.Rand, _ *Decoder, b, _ []byte) []byte {
		if i := r.IntN(len(b)); b[i] >= '0' && b[i] <= '9' {
			b[i] = '0' + (b[i]-'0'+byte(1+r.IntN(9)))%10
		} else {
			b[i] ^= 0x80
		}
		return b
	}, true},
	{"byte lost", func(r *rand.Rand, _ *Decoder, b, _ []byte) []byte {
		i := r.IntN(len(b))
		return slices.Delete(b, i, i+1)
	}, false},
	{"byte added", func(r *rand.Rand, _ *Decoder, b, _ []byte) []byte {
		return slices.Insert(b, r.IntN(len(b)+1), byte(r.IntN(256)))
	}, false},
	{"byte doubled", func(r *rand.Rand, _ *Decoder, b, _ []byte) []byte {
		i := r.IntN(len(b))
		return slices.Insert(b, i, b[i])
	}, false},
	{"neighbours swapped", func(r *rand.Rand, _ *Decoder, b, _ []byte) []byte {
		i := r.IntN(len(b) - 1)
		b[i], b[i+1] = b[i+1], b[i]
		return b
	}, false},
	{"beginning lost", func(r *rand.Rand, _ *Decoder, b, _ []byte) []byte { return b[1+r.IntN(len(b)-1):] }, false},
	{"end lost", func(r *rand.Rand, _ *Decoder, b, _ []byte) []byte { return b[:1+r.IntN(len(b)-1)] }, false},
	{"two run together", func(r *rand.Rand, _ *Decoder, b, other []byte) []byte {
		return append(b[:r.IntN(len(b))], other[r.IntN(len(other)):]...)
	}, false},
	{"burst of noise", func(r *rand.Rand, _ *Decoder, b, _ []byte) []byte {
		from := r.IntN(len(b))
		for i := from; i < min(len(b), from+2+r.IntN(6)); i++ {
			b[i] = byte(r.IntN(256))
		}
		return b
	}, false},
	{"noise between", func(r *rand.Rand, _ *Decoder, b, _ []byte) []byte {
		noise := make([]byte, 1+r.IntN(20))
		for i := range noise {
			noise[i] = byte(r.IntN(256))
		}
		return append(noise, b...)
	}, false},
	{"wrong rate", func(r *rand.Rand, d *Decoder, b, other []byte) []byte {
		rates := []int{300, 1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200}
		from := simulate.Setting(d.Line)
		for from.Baud == d.Line.Baud {
			from.Baud = rates[r.IntN(len(rates))]
		}
		return simulate.Garble(append(b, other...), from, simulate.Setting(d.Line))
	}, false},
	{"wrong parity", func(_ *rand.Rand, d *Decoder, b, other []byte) []byte {
		from := simulate.Setting(d.Line)
		from.Parity = map[string]string{"none": "even", "even": "odd"}[from.Parity]
		return simulate.Garble(append(b, other...), from, simulate.Setting(d.Line))
	}, false},
}

// toll counts what became of the frames of one decoder.
type toll struct {
	sent, damaged int            // frames
	refused       int            // stretches
	correct       int            // readings that were sent
	lost          int            // whole frames after a damaged one that gave no reading: no known place of beginning
	wrong         int            // numbers that were not sent
	by            map[string]int // the wrong ones by damage
}

// TestDamage sends frames through every decoder, one in four damaged on the way, and holds it to this: a number that was
// not sent comes only from bytes that are a whole frame of the format, so that nothing in them could have told; no
// single changed byte becomes a number where there is a checksum; and a damaged frame costs no more than the next frame.
// -frames sets how many; -v shows the tolls.
func TestDamage(t *testing.T) {
	all := Builtin()
	var table, kinds strings.Builder
	fmt.Fprintf(&table, "%-42s %9s %9s %9s %9s %9s %9s\n", "decoder", "frames", "damaged", "refused", "correct", "lost", "wrong")
	for i, d := range all {
		n := suffer(t, d, uint64(i), *frames/len(all))
		fmt.Fprintf(&table, "%-42s %9d %9d %9d %9d %9d %9d\n", d.Name, n.sent, n.damaged, n.refused, n.correct, n.lost, n.wrong)
		fmt.Fprintf(&kinds, "%s: %v\n", d.Name, n.by)
		if n.correct == 0 || n.refused == 0 {
			t.Errorf("%s: %+v", d.Name, n)
		}
	}
	t.Log("\n" + table.String() + "\nwrong numbers by damage:\n" + kinds.String())
}

func suffer(t *testing.T, d *Decoder, seed uint64, many int) (n toll) {
	n.by = map[string]int{}
	in := newInventor(t, d, seed)
	s := d.Stream(true)
	at := time.Duration(0)
	fed := int64(0)
	send := func(b []byte) []Event { // in one piece or two
		at += gap(d)
		fed += int64(len(b))
		cut := 0
		if len(b) > 0 {
			cut = in.r.IntN(len(b))
		}
		events := s.Feed(at, b[:cut])
		if d.Frame.Idle == 0 {
			at += time.Millisecond
		}
		return append(events, s.Feed(at, b[cut:])...)
	}
	for n.sent < many {
		kind := damages[in.r.IntN(len(damages))]
		whole, other := in.frame(), in.frame()
		spoilt := kind.spoil(in.r, d, bytes.Clone(whole), other)
		events := send(spoilt)
		if in.r.IntN(2) == 0 { // silence after it, or the next frame soon
			at += longestPause
		}
		good := map[int64][]byte{} // by their offset
		for range 3 {
			g := in.frame()
			good[fed] = g
			events = append(events, send(g)...)
		}
		at += gap(d)
		events = append(events, s.Idle(at)...)
		n.sent += 4
		n.damaged++
		n.count(t, in, events, [][]byte{whole, other}, good, kind.name, spoilt, kind.oneByte)
		if len(s.buf) > 0 { // the next episode begins with nothing under way
			at += longestPause
			s.End(at)
			n.sent += 2
			for _, g := range [][]byte{in.frame(), in.frame()} {
				send(g)
			}
			at += gap(d)
			s.Idle(at)
		}
	}
	return n
}

// count looks at what came of one damaged frame and the three whole ones after it.
func (n *toll) count(t *testing.T, in *inventor, events []Event, before [][]byte, good map[int64][]byte, kind string, spoilt []byte, oneByte bool) {
	t.Helper()
	arrived := 0
	for _, e := range events {
		if e.Value == nil {
			n.refused++
			continue
		}
		if bytes.Equal(good[e.Offset], e.Raw) {
			arrived++
			n.correct++
			continue
		}
		same := false
		for _, b := range before { // the damage did not matter, or spared one of the two
			v, _ := in.d.read(bytes.TrimSuffix(b, in.d.Frame.End))
			same = same || v != nil && v.Digits == e.Value.Digits && v.Unit == e.Value.Unit && v.Channel == e.Value.Channel
		}
		if same {
			n.correct++
			continue
		}
		if e.Value.IsNumber() {
			n.wrong++
			n.by[kind]++
		}
		if !in.is(e.Raw) {
			t.Errorf("%s, %s: %q gave %q from %q, which is no frame", in.d.Name, kind, spoilt, e.Value.Digits, e.Raw)
		}
		if oneByte && (in.d.Checksum.Kind != "" || in.d.Family == "modbus-rtu") {
			t.Errorf("%s, %s: %q became %q", in.d.Name, kind, spoilt, e.Value.Digits)
		}
	}
	n.lost += len(good) - arrived
	if len(good)-arrived > 1 && in.d.Frame.Length == 0 {
		t.Errorf("%s, %s: %q cost %d frames: %s", in.d.Name, kind, spoilt, len(good)-arrived, outcome(events))
	}
}

// The CRC in these tests is another computation than the program's; both give the standard's check value.
func TestTheSuitesOwnChecksums(t *testing.T) {
	if got := longDivision([]byte("123456789")); got != 0x4B37 {
		t.Errorf("long division: %04X, want 4B37", got)
	}
	// The worked example of MODBUS over Serial Line V1.02, 6.2.2: address 02, function 07 give 1241, sent 41 12; from memory.
	if a, b := longDivision([]byte{2, 7}), crc16Modbus([]byte{2, 7}); a != 0x1241 || b != 0x1241 {
		t.Errorf("02 07: %04X and %04X, want 1241", a, b)
	}
	r := rand.New(rand.NewPCG(3, 4))
	for range 1000 {
		b := make([]byte, r.IntN(20))
		for i := range b {
			b[i] = byte(r.IntN(256))
		}
		if crc16Modbus(b) != longDivision(b) {
			t.Errorf("%x: %04X and %04X", b, crc16Modbus(b), longDivision(b))
		}
	}
}
