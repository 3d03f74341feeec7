package simulate

import (
	"bytes"
	"fmt"
	"testing"

	"go.bug.st/serial"
)

// Bits worked out by hand from the shape of an asynchronous character: start bit low, least significant bit first, parity,
// stop bit high.
func TestGarbleSamplesAsAReceiverDoes(t *testing.T) {
	eight := Setting{9600, 8, "none", 1}
	seven := Setting{9600, 7, "even", 1}
	for _, c := range []struct {
		what     string
		sent     []byte
		from, to Setting
		want     string
	}{
		// 0101010101 on the line, then rest; twice as fast 0 0 1 1 0 0 1 1 0 0, which is 66 with a low stop bit, 1 1 passes
		// for rest, 0 0 1 1 0 0 1 1 1 1 is E6.
		{"U at twice the rate", []byte("U"), eight, Setting{19200, 8, "none", 1}, "66e6"},
		{"seven bits and even parity read as eight bits: two ones", []byte("A"), seven, eight, "41"},
		{"and three ones: the parity bit is the eighth", []byte("C"), seven, eight, "c3"},
		{"eight bits read as seven and even parity: 41 has an eighth bit that fits", []byte("A"), eight, seven, "41"},
		{"43 has one that does not", []byte("C"), eight, seven, "00"},
		{"odd for even", []byte("A"), seven, Setting{9600, 7, "odd", 1}, "00"},
		{"one per cent off", []byte("+1.950mm\r\n"), eight, Setting{9700, 8, "none", 1}, "2b312e3935306d6d0d0a"},
	} {
		if got := fmt.Sprintf("%x", Garble(c.sent, c.from, c.to)); got != c.want {
			t.Errorf("%s: %s, want %s", c.what, got, c.want)
		}
	}
}

func TestGarbleWithTheSameSettingChangesNothing(t *testing.T) {
	for _, baud := range []int{1200, 9600, 115200} {
		for _, parity := range []string{"none", "even", "odd", "mark", "space"} {
			for _, stop := range []float64{1, 1.5, 2} {
				for bits := 5; bits <= 8; bits++ {
					var sent []byte
					for b := range 1 << bits {
						sent = append(sent, byte(b))
					}
					s := Setting{baud, bits, parity, stop}
					if got := Garble(sent, s, s); !bytes.Equal(got, sent) {
						t.Errorf("%+v: %x", s, got)
					}
				}
			}
		}
	}
}

// A program that opens the gauge's line at another rate or parity reads what its receiver would make of it.
func TestTheLineGarblesWhereTheProgramsSettingDiffers(t *testing.T) {
	for _, c := range []struct {
		mode serial.Mode
		to   Setting
	}{
		{serial.Mode{BaudRate: 9600, DataBits: 8}, Setting{9600, 8, "none", 1}},
		{serial.Mode{BaudRate: 19200, DataBits: 8}, Setting{19200, 8, "none", 1}},
		{serial.Mode{BaudRate: 4800, DataBits: 8}, Setting{4800, 8, "none", 1}},
		{serial.Mode{BaudRate: 9600, DataBits: 8, Parity: serial.EvenParity}, Setting{9600, 8, "even", 1}},
		{serial.Mode{BaudRate: 9600, DataBits: 8, Parity: serial.OddParity}, Setting{9600, 8, "odd", 1}},
	} {
		g := openGauge(t, GaugeOptions{Format: SignedMillimetres})
		p, err := serial.Open(g.Port(), &c.mode)
		if err != nil {
			t.Fatal(err)
		}
		g.Show(1.95)
		if _, err := g.Press(); err != nil {
			t.Fatal(err)
		}
		want := Garble([]byte("+1.950mm\r\n"), eightNone, c.to)
		if got := readUntil(t, p, size(len(want))); !bytes.Equal(got, want) {
			t.Errorf("%+v: %x, want %x", c.to, got, want)
		}
		if same := string(want) == "+1.950mm\r\n"; same != (c.to == eightNone) {
			t.Errorf("%+v: %x", c.to, want)
		}
		if err := p.Close(); err != nil {
			t.Fatal(err)
		}
	}
}
