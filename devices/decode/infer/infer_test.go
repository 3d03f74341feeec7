package infer

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"sagitta/devices/decode"
)

var line9600 = decode.Line{Baud: 9600, DataBits: 8, Parity: "none", StopBits: 1}

// pressed is what comes of presses a second apart.
func pressed(lines ...[]byte) Heard {
	h := Heard{Line: line9600}
	for i, l := range lines {
		h.Chunks = append(h.Chunks, decode.Chunk{At: time.Duration(i+1) * time.Second, Bytes: l})
	}
	return h
}

// outcome is how an inference did on lines that it never saw.
type outcome struct{ right, refused, wrong int }

// tried decodes a line by itself and compares it.
func (o *outcome) tried(d *decode.Decoder, raw []byte, mm float64) string {
	events := (&decode.Capture{Chunks: []decode.Chunk{{At: time.Second, Bytes: raw}}}).Decode(d)
	switch {
	case len(events) == 1 && events[0].Value != nil && math.Abs(events[0].Value.MM-mm) <= 1e-9:
		o.right++
		return ""
	case len(events) == 1 && events[0].Value != nil && events[0].Value.IsNumber():
		o.wrong++
		return fmt.Sprintf("%q read as %g, is %g", raw, events[0].Value.MM, mm)
	}
	o.refused++
	return fmt.Sprintf("%q refused", raw)
}

var shapes = flag.Int("shapes", 200, "how many invented lines are inferred")

// TestInventedLines infers lines that a generator invents from three presses, at the zero, raised and lowered, and tries forty heights more.
// A decoder that reads a height wrong without a doubt said is a failure; how many are right is printed.
func TestInventedLines(t *testing.T) {
	r := rand.New(rand.NewPCG(17, 4))
	right, open, refusing, none := 0, 0, 0, 0
	for n := range *shapes {
		v := invent(r)
		most := 9 * int(math.Pow(10, float64(v.places))) / max(1, int(v.mm)) // up to 9 mm, or 0.36 in
		if v.mm < 0.01 {
			most *= 1000
		} else if v.mm < 0.1 {
			most *= 300
		}
		var lines [][]byte
		var truth []float64
		for _, steps := range []int{r.IntN(3), 1 + most/9 + r.IntN(most/2), -1 - r.IntN(most/3)} {
			raw, mm := v.line(steps)
			lines, truth = append(lines, raw), append(truth, mm)
		}
		g := Infer(pressed(lines...), Choice{})
		if len(g.Candidates) == 0 {
			none++
			t.Logf("%d: nothing for %q", n, lines)
			continue
		}
		c := g.Candidates[0]
		doubted := slices.ContainsFunc(c.Doubts, Doubt.Wrong)
		var o outcome
		why := ""
		for i, l := range lines {
			if says := o.tried(c.Decoder, l, truth[i]); says != "" {
				why = says
			}
		}
		for range 40 {
			raw, mm := v.line(r.IntN(2*most) - most)
			if says := o.tried(c.Decoder, raw, mm); says != "" {
				why = says
			}
		}
		switch {
		case o.wrong == 0 && o.refused == 0:
			right++
		case o.wrong == 0:
			refusing++
			t.Logf("%d: %q: %d of 43 refused: %s; %s", n, lines, o.refused, why, c.shape.pattern)
		case doubted:
			open++
			t.Logf("%d: %q: wrong, but doubted %v: %s", n, lines, c.Doubts, why)
		default:
			t.Errorf("%d: %q: wrong and not doubted: %s; %s", n, lines, why, c.shape.file("as heard"))
		}
	}
	if 10*right < 9**shapes {
		t.Errorf("only %d of %d lines are right", right, *shapes)
	}
	t.Logf("of %d lines %d right at every height, %d refuse some, %d read wrong with a doubt said, %d without a candidate", *shapes, right, refusing, open, none)
}

// TestCaptures infers the captures of this tree: three of their readings that differ are the presses, and all that the capture's own
// decoder reads of the rest must be read the same, or refused.
func TestCaptures(t *testing.T) {
	files, err := filepath.Glob("../../../testdata/captures/*.capture")
	if err != nil || len(files) < 40 {
		t.Fatalf("%d captures, %v", len(files), err)
	}
	right, refusing, open, skipped := 0, 0, 0, 0
	for _, file := range files {
		own, heard, truth := captured(t, file)
		if len(heard.Chunks) < Enough {
			skipped++
			continue
		}
		g := Infer(heard, Choice{})
		if own.Family == "modbus-rtu" && len(g.Candidates) == 0 { // registers of a probe that no built-in decoder asks: their answers say no meaning
			skipped++
			continue
		}
		if len(g.Candidates) == 0 {
			t.Errorf("%s: nothing for %q", filepath.Base(file), heard.Chunks)
			continue
		}
		c := g.Candidates[0]
		var o outcome
		why := ""
		for _, e := range truth {
			if says := o.tried(c.Decoder, e.Raw, e.Value.MM); says != "" {
				why = says
			}
		}
		switch {
		case o.wrong == 0 && o.refused == 0:
			right++
		case o.wrong == 0:
			refusing++
			t.Logf("%s: %d of %d refused: %s (%s, %s)", filepath.Base(file), o.refused, len(truth), why, own.Name, c.Builtin)
		case slices.ContainsFunc(c.Doubts, Doubt.Wrong):
			open++
			t.Logf("%s: wrong, but doubted %v: %s", filepath.Base(file), c.Doubts, why)
		default:
			t.Errorf("%s: wrong and not doubted: %s", filepath.Base(file), why)
		}
	}
	t.Logf("of %d captures with three readings that differ %d right, %d refuse some, %d read wrong with a doubt said; %d have fewer, or are registers", len(files)-skipped, right, refusing, open, skipped)
	if right < 30 {
		t.Errorf("only %d captures are read right", right)
	}
}

// captured reads a capture with its own decoder: three numbers that differ as presses, the one nearest to zero first where there is
// one, and all its numbers.
func captured(t *testing.T, file string) (own *decode.Decoder, h Heard, truth []decode.Event) {
	t.Helper()
	source, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	capture, err := decode.ReadCapture(file, bytes.NewReader(source))
	if err != nil {
		t.Fatal(err)
	}
	for _, head := range capture.Header {
		if head[0] == "decoder" {
			if own, err = decode.Find(head[1]); err != nil {
				if text, is := os.ReadFile(filepath.Join(filepath.Dir(file), head[1])); is == nil {
					own, err = decode.Load(head[1], text)
				}
			}
		}
	}
	if own == nil || err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	h.Line, h.Request = own.Line, own.Request.Bytes
	for _, e := range capture.Decode(own) {
		if e.Value == nil || !e.Value.IsNumber() {
			continue
		}
		truth = append(truth, e)
		if len(h.Chunks) < Enough && !slices.ContainsFunc(h.Chunks, func(c decode.Chunk) bool { return bytes.Equal(c.Bytes, e.Raw) }) {
			h.Chunks = append(h.Chunks, decode.Chunk{At: time.Duration(len(truth)) * time.Second, Bytes: e.Raw})
		}
	}
	return own, h, truth
}

// FuzzInfer: whatever comes, and whatever is said of it, a candidate's file is a decoder that reads what the candidate does.
func FuzzInfer(f *testing.F) {
	f.Add([]byte(" +0.123 mm\r\n"), []byte(" -0.5 mm\r\n"), []byte("\x02OVER\x03"), []byte(".+00000..>>"))
	f.Add([]byte("1,2,3"), []byte("1.2,3.4"), []byte("--1"), []byte{})
	f.Fuzz(func(t *testing.T, a, b, c, said []byte) {
		all := []decode.Role{decode.RoleStart, decode.RoleChannel, decode.RoleSign, decode.RoleDigits, decode.RoleUnit, decode.RoleStatus, decode.RoleChecksum, decode.RoleEnd, decode.RoleText}
		var choice Choice
		for _, r := range said {
			choice.Roles = append(choice.Roles, all[int(r)%len(all)])
		}
		h := pressed(a, b, c)
		choice.Frame = c
		for _, one := range Infer(h, choice).Candidates {
			text, err := one.File("mine", line9600)
			if err != nil {
				t.Fatalf("%v\n%s", err, text)
			}
			d, err := decode.Load("mine", text)
			if err != nil || !sameReads(readAll(d, h.Chunks), one.Reads) {
				t.Fatalf("%v\n%s", err, text)
			}
		}
	})
}
