package decode

import (
	"encoding/hex"
	"strings"
	"testing"
)

const modbusProbe = `
name = "probe"
family = "modbus-rtu"
[line]
baud = 19200
[modbus]
unit = 1
function = 4
register = 8
type = "TYPE"
word_order = "ORDER"
scale = 0.001
in_unit = "mm"`

// The request and answer of MODBUS Application Protocol V1.1b3, 6.4: read input register 9 (address 8), its content is
// 10; from memory. The CRCs were computed with an implementation in another language, checked against the check value
// of CRC-16/MODBUS.
func TestModbusAsksAndReadsTheStandardsExample(t *testing.T) {
	d := mustLoad(t, strings.NewReplacer("TYPE", "int16", "ORDER", "high-first").Replace(modbusProbe))
	if got := hex.EncodeToString(d.Request.Bytes); got != "010400080001b008" {
		t.Errorf("request %s", got)
	}
	if got := outcome(play(t, d.Stream(false), []piece{{0, "\x01\x04\x02\x00\x0a\x39\x37"}}, longestPause)); !strings.HasPrefix(got, "10 ") {
		t.Errorf("answer: %s", got)
	}
}

// The numbers are written out by hand: 0xFFFFF862 is -1950, 0x3F800000 is 1, 0x3FF9999A is 1.95 (IEEE 754), 0x7FC00000
// is not a number.
func TestModbusNumbers(t *testing.T) {
	for _, c := range []struct{ kind, order, data, digits string }{
		{"int16", "high-first", "f862", "-1950"},
		{"uint16", "high-first", "f862", "63586"},
		{"int32", "high-first", "fffff862", "-1950"},
		{"int32", "low-first", "f862ffff", "-1950"},
		{"uint32", "high-first", "ffffffff", "4294967295"},
		{"float32", "high-first", "3f800000", "1"},
		{"float32", "low-first", "999a3ff9", "1.95"},
		{"float32", "high-first", "7fc00000", ""},
	} {
		d := mustLoad(t, strings.NewReplacer("TYPE", c.kind, "ORDER", c.order).Replace(modbusProbe))
		data, err := hex.DecodeString(c.data)
		if err != nil {
			t.Fatal(err)
		}
		frame := append([]byte{1, 4, byte(len(data))}, data...)
		crc := crc16Modbus(frame)
		frame = append(frame, byte(crc), byte(crc>>8))
		events := play(t, d.Stream(true), []piece{{0, string(frame)}}, longestPause)
		if len(events) != 1 || events[0].Value == nil || events[0].Value.Digits != c.digits {
			t.Errorf("%s %s %s: %s, want %s", c.kind, c.order, c.data, outcome(events), c.digits)
		}
		for i := range len(frame) * 8 {
			frame[i/8] ^= 1 << (i % 8)
			if got := numbers(play(t, d.Stream(true), []piece{{0, string(frame)}}, longestPause)); len(got) > 0 {
				t.Errorf("%x became %q", frame, got)
			}
			frame[i/8] ^= 1 << (i % 8)
		}
	}
}

// A number beyond 10 m is a fault, whichever family says it; 10 m itself is a reading.
func TestNumberThatNoGaugeShows(t *testing.T) {
	counts, err := Find("queried number, millimetres")
	if err != nil {
		t.Fatal(err)
	}
	wide := mustLoad(t, good[:strings.Index(good, "[checksum]")])
	for _, c := range []struct {
		d     *Decoder
		frame string
		reads bool
	}{
		{counts, "10000\n", true}, {counts, "-10000.001\n", false}, {counts, "1E30\n", false},
		{wide, "+10000.000mm\r\n", true}, {wide, "-10000.001mm\r\n", false}, {wide, "+393.700in\r\n", true}, {wide, "+393.701in\r\n", false},
	} {
		events := play(t, c.d.Stream(true), []piece{{0, c.frame}}, longestPause)
		if len(events) != 1 || (events[0].Value != nil) != c.reads || !c.reads && (events[0].Fault != Garbled || !strings.Contains(events[0].Why, "more than any gauge shows")) {
			t.Errorf("%q: %s", c.frame, outcome(events))
		}
	}
}

// The forms are those of IEEE 488.2-1992, 8.7.2 to 8.7.4; the three special numbers those of SCPI-1999, volume 1, 7.2.1;
// from memory.
func TestSCPINumbers(t *testing.T) {
	d, err := Find("queried number, millimetres")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		answer, digits, status string
		mm                     float64
	}{
		{"12", "12", "", 12}, {"-0.0305", "-0.0305", "", -0.0305}, {"+1.950E+00", "+1.950E+00", "", 1.95},
		{"1.22e-2\r", "1.22e-2", "", 0.0122},
		{"9.9E37", "", "overload", none}, {"-9.9E+37", "", "overload", none}, {"9.91E37", "", "no reading", none},
	} {
		events := play(t, d.Stream(true), []piece{{0, c.answer + "\n"}}, longestPause)
		if len(events) != 1 || events[0].Value == nil {
			t.Errorf("%q: %s", c.answer, outcome(events))
		} else if v := events[0].Value; v.Digits != c.digits || v.Status != c.status || v.IsNumber() && v.MM != c.mm {
			t.Errorf("%q: %+v", c.answer, v)
		}
	}
	for _, bad := range []string{"", "1,2", ".5", "5.", "1E", "E5", "1.2.3", "1E999", "#H1F", "1 2", "MEAS?"} {
		if events := play(t, d.Stream(true), []piece{{0, bad + "\n"}}, longestPause); len(numbers(events)) > 0 {
			t.Errorf("%q: %s", bad, outcome(events))
		}
	}
}
