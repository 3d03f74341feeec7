package decode

import (
	"encoding/binary"
	"math/big"
	"strings"
	"testing"
)

// fuzzed is the built-in decoder of a name.
func fuzzed(f *testing.F, name string) *Decoder {
	f.Helper()
	d, err := Find(name)
	if err != nil {
		f.Fatal(err)
	}
	for _, s := range samples[name] {
		f.Add([]byte(s.raw))
	}
	return d
}

// FuzzModbus: what is taken for an answer of the register has its CRC, and a number only what was asked for.
func FuzzModbus(f *testing.F) {
	d := fuzzed(f, "register of a probe, micrometres")
	f.Add([]byte{1, 0x84, 2, 0xc2, 0xc1})
	f.Fuzz(func(t *testing.T, sent []byte) {
		if n := len(sent); n >= 4 { // else hardly one in 65,536 has its CRC
			sealed := append([]byte(nil), sent[:n-2]...)
			sent = append(sent, binary.LittleEndian.AppendUint16(sealed, crc16Modbus(sealed))...)
		}
		s := d.Stream(true)
		events := append(s.Feed(0, sent), s.End(longestPause)...)
		accounted(t, events, sent)
		for _, e := range events {
			if e.Value == nil {
				continue
			}
			n := len(e.Raw) - 2
			if crc16Modbus(e.Raw[:n]) != binary.LittleEndian.Uint16(e.Raw[n:]) {
				t.Errorf("% x was taken against its CRC", e.Raw)
			}
			if e.Value.IsNumber() && (e.Raw[1]&0x80 != 0 || int(e.Raw[2]) != n-3) {
				t.Errorf("% x became a number", e.Raw)
			}
		}
	})
}

// FuzzSCPI: a number that is taken is the one that was written, and never an overload's.
func FuzzSCPI(f *testing.F) {
	d := fuzzed(f, "queried number, millimetres")
	for _, s := range []string{"9.91E37\n", "-9.9E+37\n", "-113,\"Undefined header\"\n", "1e999\n", "+1.2E-3\r\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, sent []byte) {
		s := d.Stream(true)
		events := append(s.Feed(0, sent), s.End(longestPause)...)
		accounted(t, events, sent)
		for _, e := range events {
			if e.Value == nil || !e.Value.IsNumber() {
				continue
			}
			want, ok := new(big.Rat).SetString(strings.TrimRight(string(e.Raw), "\r\n"))
			if !ok {
				t.Fatalf("%q became a number", e.Raw)
			}
			if v, _ := want.Float64(); v != e.Value.Value || e.Value.UnitNorm != "mm" {
				t.Errorf("%q became %v %s", e.Raw, e.Value.Value, e.Value.UnitNorm)
			}
			if size, _ := want.Abs(want).Float64(); size >= 9.9e37 {
				t.Errorf("%q is a reading", e.Raw)
			}
		}
	})
}
