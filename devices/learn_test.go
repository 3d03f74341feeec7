package devices

import (
	"context"
	"encoding/binary"
	"math/bits"
	"slices"
	"testing"
	"time"

	"go.bug.st/serial"

	"sagitta/devices/decode"
	"sagitta/devices/decode/infer"
)

// learnt runs Learn on a wire until what it tells is enough, and returns that.
func learnt(t *testing.T, w *wire, ask bool, enough func(Lesson) bool) (Lesson, error) {
	t.Helper()
	return learntFrom(wired(w), w.name, ask, enough)
}

func learntFrom(open Opener, name string, ask bool, enough func(Lesson) bool) (Lesson, error) {
	ctx, end := context.WithCancel(context.Background())
	defer end()
	var last Lesson
	err := Learn(ctx, name, Learning{Open: open, Ask: ask, Tell: func(l Lesson) {
		if ctx.Err() != nil {
			return
		}
		if last = l; enough(l) {
			end()
		}
	}})
	return last, err
}

// presses sends lines a second apart.
func (w *wire) presses(lines ...string) {
	p := w.plugged()
	go func() {
		for _, l := range lines {
			time.Sleep(time.Second)
			p.toProgram <- []byte(l)
		}
	}()
	w.t.Cleanup(func() { time.Sleep(time.Duration(len(lines)) * time.Second) })
}

// frames says that so many frames can be read of what was heard.
func frames(n int) func(Lesson) bool {
	return func(l Lesson) bool {
		g := infer.Infer(l.Heard, infer.Choice{})
		return len(g.Candidates) > 0 && g.Frames >= n
	}
}

// TestLearnFromThreePresses: three presses of a key tell a line that no built-in decoder reads; however long nobody presses, the setting stays.
func TestLearnFromThreePresses(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		w := newWire(t, "gauge")
		go func() {
			time.Sleep(time.Hour)
			w.presses(" +0.123 mm\r\n", " +1.500 mm\r\n", " -0.020 mm\r\n")
		}()
		l, err := learnt(t, w, false, frames(3))
		if err != nil || !l.Settled || l.Number != 1 || l.Failed != 0 || l.Bytes != 36 {
			t.Fatalf("%+v, %v", l, err)
		}
		g := infer.Infer(l.Heard, infer.Choice{})
		last, _ := g.Candidates[0].Last()
		if g.Next != infer.Listen || last.Value.MM != -0.02 || g.Candidates[0].Builtin != "" {
			t.Errorf("%+v", g)
		}
	})
}

// garbling is a wire whose gauge sends at 2400 baud with seven bits and even parity: another rate gives noise, eight bits the parity as
// the eighth.
func garbling(w *wire) Opener {
	open := wired(w)
	return func(name string, mode *serial.Mode) (serial.Port, error) {
		p, err := open(name, mode)
		if err != nil {
			return nil, err
		}
		return &garbled{wirePort: p.(*wirePort), mode: *mode}, nil
	}
}

type garbled struct {
	*wirePort
	mode serial.Mode
}

func (g *garbled) Read(b []byte) (int, error) {
	n, err := g.wirePort.Read(b)
	for i := range b[:n] {
		switch {
		case g.mode.BaudRate != 2400:
			b[i] |= 0xE0
		case g.mode.DataBits == 8:
			b[i] |= byte(bits.OnesCount8(b[i])%2) << 7
		}
	}
	return n, err
}

// TestLearnFindsRateAndParity: a press that was noise makes the next rate be tried, and the parity bit is told from text.
func TestLearnFindsRateAndParity(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		w := newWire(t, "gauge")
		w.presses(slices.Repeat([]string{"-0.0125in\r\n", "+0.0300in\r\n"}, 4)...)
		l, err := learntFrom(garbling(w), w.name, false, frames(3))
		if err != nil || l.Line != (decode.Line{Baud: 2400, DataBits: 7, Parity: "even", StopBits: 1}) || l.Failed != 3 || l.Number != 4 || len(l.Noise) != 32 {
			t.Fatalf("%+v, %v", l, err)
		}
		last, _ := infer.Infer(l.Heard, infer.Choice{}).Candidates[0].Last()
		if last.Value.Unit != "in" || string(last.Raw) != "+0.0300in\r\n" { // the sixth press
			t.Errorf("read %+v of %q", last.Value, last.Raw)
		}
	})
}

// TestLearnKeepsWordsAndForgivesOneFault: among numbers a word counts as a frame, and a single burst of noise changes nothing.
func TestLearnKeepsWordsAndForgivesOneFault(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		w := newWire(t, "gauge")
		w.presses("+0.123mm\r\n", "OVER\r\n", "\xfe\x8c\x00\xe0", "+0.456mm\r\n", "-0.100mm\r\n")
		l, err := learnt(t, w, false, frames(3))
		if err != nil || l.Number != 1 || l.Failed != 0 || string(l.Noise) != "\xfe\x8c\x00\xe0" {
			t.Fatalf("%+v, %v", l, err)
		}
		if reads := infer.Infer(l.Heard, infer.Choice{}).Candidates[0].Reads; len(reads) != 4 || reads[1].Value.Status != "overload" {
			t.Errorf("%+v", reads)
		}
	})
}

// TestLearnAsksPolledGauges: requests are sent until one is answered; its answers that differ are the presses.
func TestLearnAsksPolledGauges(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		for request, answers := range map[string][]string{"R\r": {"+0.500\r", "+0.750\r", "-0.250\r"}, "?\r": {"0.50 mm\r\n", "0.75 mm\r\n", "-0.25 mm\r\n"}} {
			w := newWire(t, "gauge")
			n := 0
			w.answers(func(asked string) string {
				if asked != request {
					return ""
				}
				n++
				return answers[n/3%3]
			})
			l, err := learnt(t, w, true, frames(3))
			if err != nil || !l.Settled || string(l.Request) != request || l.Unanswered == 0 && request != "R\r" {
				t.Fatalf("%+v, %v", l, err)
			}
			g := infer.Infer(l.Heard, infer.Choice{})
			if last, _ := g.Candidates[0].Last(); last.Value.MM != -0.25 || g.Streams || string(g.Candidates[0].Decoder.Request.Bytes) != request {
				t.Errorf("%+v", g)
			}
		}
	})
}

// TestLearnSaysWhatIsWrongWithAPort: a port that is not there is an error at once; one that is pulled is one when it goes.
func TestLearnSaysWhatIsWrongWithAPort(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		w := newWire(t, "gauge")
		if _, err := learntFrom(wired(w), w.name+"-none", false, func(Lesson) bool { return false }); kindOfError(t, err) != Missing {
			t.Errorf("a missing port: %v", err)
		}
		go func() {
			time.Sleep(time.Minute)
			w.unplug()
		}()
		if _, err := learnt(t, w, false, func(Lesson) bool { return false }); kindOfError(t, err) != Unplugged {
			t.Errorf("a pulled port: %v", err)
		}
	})
}

// TestLearnAsksRegistersAndInstruments: of a probe's registers and of an instrument's numbers the built-in decoders know the meaning.
func TestLearnAsksRegistersAndInstruments(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		probe := builtin(t, "register of a probe, micrometres")
		heights := []uint32{123, 1500, 0xFFFFFFEC} // micrometres, the last one -20
		n := 0
		w := newWire(t, "registers")
		w.answers(func(asked string) string {
			if asked != string(probe.Request.Bytes) {
				return ""
			}
			n++
			answer := binary.BigEndian.AppendUint32([]byte{1, 4, 4}, heights[n/2%3])
			return string(append(answer, crcOf(answer)...))
		})
		l, err := learnt(t, w, true, frames(3))
		g := infer.Infer(l.Heard, infer.Choice{})
		if err != nil || len(g.Candidates) == 0 || g.Candidates[0].Builtin != probe.Name || l.Line != probe.Line {
			t.Fatalf("%+v, %v", l, err)
		}
		if last, _ := g.Candidates[0].Last(); last.Value.MM != -0.02 || len(g.Candidates[0].Doubts) > 1 {
			t.Errorf("%+v with %v", last.Value, g.Candidates[0].Doubts)
		}
		meter, i := newWire(t, "meter"), &instrument{knows: map[string]string{"*IDN?": "QUILLMERE,PROBE 4,0042,1.07", "MEAS?": "+1.950E+00"}}
		meter.answers(i.answer)
		l, err = learnt(t, meter, true, frames(1))
		g = infer.Infer(l.Heard, infer.Choice{})
		if last, ok := g.Candidates[0].Last(); err != nil || !ok || last.Value.MM != 1.95 || g.Candidates[0].Builtin != "queried number, millimetres" {
			t.Errorf("%+v, %v", g, err)
		}
	})
}
