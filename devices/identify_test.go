package devices

import (
	"context"
	"strings"
	"testing"
	"time"

	"sagitta/devices/decode"
)

func TestIdentifyFindsTheDecoderThatFits(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		s := newWire(t, "gauge")
		s.send(strings.Repeat("+.01220in\r\n", 5)) // ready before the port is opened: the first counts as begun earlier
		decoders := []*decode.Decoder{builtin(t, "decimal comma"), builtin(t, "decimal inch without leading zero"), builtin(t, "signed decimal with unit")}
		found, err := Identify(context.Background(), s.name, Identifying{Open: wired(s), Decoders: decoders, Listen: 100 * time.Millisecond})
		fits, heard := found.Fits, found.Heard
		if err != nil {
			t.Fatal(err)
		}
		if len(fits) != 1 || fits[0].Decoder != decoders[1] || fits[0].Readings != 4 || fits[0].Refused != 0 || heard != 55 ||
			!strings.Contains(fits[0].Why, `"+.01220in\r\n"`) || !strings.Contains(fits[0].Why, "9600 baud") {
			t.Errorf("fits %+v after %d bytes", fits, heard)
		}
	})
}

func TestIdentifySaysWhenNothingCameOrNothingFits(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		s := newWire(t, "gauge")
		decoders := []*decode.Decoder{builtin(t, "decimal comma")}
		if f, err := Identify(context.Background(), s.name, Identifying{Open: wired(s), Decoders: decoders, Listen: 60 * time.Millisecond}); err != nil || f.Heard != 0 || len(f.Fits) != 0 {
			t.Errorf("a quiet port: %+v, %v", f, err)
		}
		s.send("hello\r\nhello\r\n")
		if f, err := Identify(context.Background(), s.name, Identifying{Open: wired(s), Decoders: decoders, Listen: 30 * time.Millisecond}); err != nil || f.Heard != 14 || len(f.Fits) != 0 || string(f.Last) != "hello\r\nhello\r\n" {
			t.Errorf("a port that chats: %+v, %v", f, err)
		}
		if _, err := Identify(context.Background(), s.name+"-none", Identifying{Open: wired(s), Decoders: decoders, Listen: time.Second}); kindOfError(t, err) != Missing {
			t.Errorf("a missing port: %v", err)
		}
	})
}

// One frame at a setting may lack its beginning: it is no fit, and no sign of an unknown gauge either. Two decoders that
// read the same frames are said to be alike.
func TestIdentifySaysTooLittleAndTies(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		s := newWire(t, "gauge")
		inch := builtin(t, "decimal inch without leading zero")
		s.send("+.01220in\r\n")
		f, err := Identify(context.Background(), s.name, Identifying{Open: wired(s), Decoders: []*decode.Decoder{inch}, Listen: 30 * time.Millisecond})
		if err != nil || len(f.Fits) != 0 || f.TooLittle != inch || f.Tied() != 0 {
			t.Errorf("one frame: %+v, %v", f, err)
		}
		again := *inch
		again.Name = "the same under another name"
		s.send("+.01220in\r\n+.01220in\r\n")
		f, err = Identify(context.Background(), s.name, Identifying{Open: wired(s), Decoders: []*decode.Decoder{inch, &again}, Listen: 30 * time.Millisecond})
		if err != nil || len(f.Fits) != 2 || f.Tied() != 2 || f.TooLittle != nil || !strings.HasPrefix(f.Fits[0].Why, "1 reading, ") {
			t.Errorf("two decoders alike: %+v, %v", f, err)
		}
		if f.Fits[1].Readings++; f.Tied() != 1 {
			t.Error("a better fit is called a tie")
		}
	})
}

// A decoder that reads cleanly with its own line is better there than with another, however many more presses came then.
func TestTheOwnLineIsTheBetterFit(t *testing.T) {
	d := builtin(t, "decimal comma")
	other := d.Line
	other.Baud *= 2
	own, elsewhere := Fit{Decoder: d, Line: d.Line, Readings: 3}, Fit{Decoder: d, Line: other, Readings: 9}
	refusing := Fit{Decoder: d, Line: d.Line, Readings: 9, Refused: 1}
	if better(own, elsewhere) >= 0 || better(elsewhere, refusing) >= 0 || better(own, Fit{Decoder: d, Line: d.Line, Readings: 4}) <= 0 {
		t.Error("the order of fits is another")
	}
}

func TestIdentifyAsksPolledGauges(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		w := newWire(t, "gauge")
		w.answers(func(asked string) string { return map[string]string{"R\r": "+0.500\r"}[asked] })
		found, err := Identify(context.Background(), w.name, Identifying{Decoders: []*decode.Decoder{builtin(t, "polled signed decimal, millimetres")},
			Listen: 2500 * time.Millisecond, Ask: true, Open: wired(w)})
		if err != nil || len(found.Fits) != 1 || found.Fits[0].Readings < 5 {
			t.Errorf("found %+v, %v", found, err)
		}
	})
}

func TestListPortsIsSorted(t *testing.T) {
	ports, err := ListPorts()
	if err != nil {
		t.Fatal(err)
	}
	for i := 1; i < len(ports); i++ {
		if ports[i-1].Name >= ports[i].Name {
			t.Errorf("%q before %q", ports[i-1].Name, ports[i].Name)
		}
	}
}
