package infer

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/devices/decode"
)

// first is the first candidate's reading of each press, mm.
func first(t *testing.T, g Guess) (mm []float64) {
	t.Helper()
	if len(g.Candidates) == 0 {
		t.Fatal("no candidate")
	}
	for _, e := range g.Candidates[0].numbers() {
		mm = append(mm, e.Value.MM)
	}
	return mm
}

func texted(lines ...string) Heard {
	var all [][]byte
	for _, l := range lines {
		all = append(all, []byte(l))
	}
	return pressed(all...)
}

// last is the newest frame of presses.
func last(h Heard) []byte { return h.Chunks[len(h.Chunks)-1].Bytes }

// TestNext plants presses that tell too little, and what is asked for then must be what would tell more.
func TestNext(t *testing.T) {
	for _, c := range []struct {
		lines []string
		next  Next
	}{
		{nil, Press},
		{[]string{" +0.123 mm\r\n"}, Press},
		{[]string{" +0.123 mm\r\n", " +0.500 mm\r\n"}, Press},
		{[]string{" +0.123 mm\r\n", " +0.123 mm\r\n", " +0.123 mm\r\n"}, Raise},
		{[]string{"0.123 mm\r\n", "0.456 mm\r\n", "1.123 mm\r\n"}, Lower},
		{[]string{"0.123 mm\r\n", "0.456 mm\r\n", "-0.123 mm\r\n"}, Listen},
		{[]string{" +0.123 mm\r\n", " +0.500 mm\r\n", " -0.020 mm\r\n"}, Listen},
	} {
		if g := Infer(texted(c.lines...), Choice{}); g.Next != c.next {
			t.Errorf("after %q next is %s, want %s", c.lines, g.Next, c.next)
		}
	}
}

// TestChoiceOfUnitAndPoint says what the bytes leave open: digits without point or unit.
func TestChoiceOfUnitAndPoint(t *testing.T) {
	h := texted("+000012\r", "+001234\r", "-000456\r")
	g := Infer(h, Choice{})
	if got := first(t, g); !slices.Equal(got, []float64{0.012, 1.234, -0.456}) || !slices.Contains(g.Candidates[0].Doubts, DoubtUnit) || !slices.Contains(g.Candidates[0].Doubts, DoubtPoint) {
		t.Errorf("read as %v with %v", got, g.Candidates[0].Doubts)
	}
	four := 4
	g = Infer(h, Choice{Unit: "in", Places: &four})
	if got := first(t, g); !slices.EqualFunc(got, []float64{0.03048, 3.13436, -1.15824}, near) || slices.ContainsFunc(g.Candidates[0].Doubts, Doubt.Wrong) {
		t.Errorf("as ten-thousandths of an inch: %v with %v", got, g.Candidates[0].Doubts)
	}
}

// TestUnitInAnotherWord plants words that begin as a unit does: of increments, of an input. The unit is doubted then, and a person's word settles it.
func TestUnitInAnotherWord(t *testing.T) {
	for frame, doubted := range map[string]bool{
		"# INC\r\n": true, "IN1 #\r\n": true, "INP #\r\n": true, "IN #\r\n": true,
		"# IN\r\n": false, "# in C\r\n": false, "# inch\r\n": false, "# mmC\r\n": false, "MM #\r\n": false,
	} {
		h := texted(strings.Replace(frame, "#", "+0.123", 1), strings.Replace(frame, "#", "-0.045", 1), strings.Replace(frame, "#", "+0.333", 1))
		if got := Infer(h, Choice{}).Candidates[0].Doubts; slices.Contains(got, DoubtUnit) != doubted {
			t.Errorf("%q: doubts %v, of the unit %t is wanted", frame, got, doubted)
		}
		g := Infer(h, Choice{Unit: "mm"})
		if got := first(t, g); !slices.EqualFunc(got, []float64{0.123, -0.045, 0.333}, near) || slices.Contains(g.Candidates[0].Doubts, DoubtUnit) {
			t.Errorf("%q, said to be mm: %v with %v", frame, got, g.Candidates[0].Doubts)
		}
	}
}

// TestThousands: what a comma parts from the reading may be its thousands.
func TestThousands(t *testing.T) {
	for frame, doubted := range map[string]bool{"+1,234.5 um|-1,045.5 um|+2,333.5 um": true, "1,+0.234 mm|1,-0.045 mm|1,+0.333 mm": false} {
		lines := strings.Split(strings.ReplaceAll(frame, "|", "\r\n|")+"\r\n", "|")
		if got := Infer(texted(lines...), Choice{}).Candidates[0].Doubts; slices.Contains(got, DoubtField) != doubted {
			t.Errorf("%q: doubts %v, of the field %t is wanted", frame, got, doubted)
		}
	}
}

func near(a, b float64) bool { return math.Abs(a-b) < 1e-9 }

// TestChoiceOfRoles takes another number for the reading than the likeliest, and a checksum that a person points at.
func TestChoiceOfRoles(t *testing.T) {
	roles := func(shape string) []decode.Role {
		meanings := map[rune]decode.Role{'<': decode.RoleStart, 'c': decode.RoleChannel, '+': decode.RoleSign, '0': decode.RoleDigits, 'u': decode.RoleUnit, 's': decode.RoleStatus, '#': decode.RoleChecksum, '>': decode.RoleEnd, '.': decode.RoleText}
		var all []decode.Role
		for _, r := range shape {
			all = append(all, meanings[r])
		}
		return all
	}
	h := texted("+0.012 +1.000\r\n", "+0.500 +2.000\r\n", "-0.100 +3.000\r\n")
	if g := Infer(h, Choice{}); !slices.Equal(first(t, g), []float64{0.012, 0.5, -0.1}) || !slices.Contains(g.Candidates[0].Doubts, DoubtField) {
		t.Errorf("of two numbers: %v, %v", first(t, g), g.Candidates[0].Doubts)
	}
	if g := Infer(h, Choice{Frame: last(h), Roles: roles(".......+00000>>")}); !slices.Equal(first(t, g), []float64{1, 2, 3}) {
		t.Errorf("the second number: %v", first(t, g))
	}
	// The last two digits are a station's number and no part of the reading.
	h = texted("A 0.01207\r\n", "A 0.50007\r\n", "A-0.10007\r\n")
	if g := Infer(h, Choice{Frame: last(h), Roles: roles("c+00000..>>"), Unit: "mm"}); !slices.Equal(first(t, g), []float64{0.012, 0.5, -0.1}) {
		t.Errorf("digits cut short: %v from %s", first(t, g), g.Candidates[0].shape.pattern)
	}
	lines := []string{}
	for _, inner := range []string{"+0.012mm", "+0.500mm", "-0.100mm"} {
		lines = append(lines, "\x02"+inner+string(sumOf(decode.Checksum{Kind: "sum8", Encoding: "hex"}, []byte(inner)))+"\x03")
	}
	h = texted(lines...)
	g := Infer(h, Choice{Frame: last(h), Roles: roles("<+00000uu##>")})
	if !slices.Equal(first(t, g), []float64{0.012, 0.5, -0.1}) || g.Candidates[0].Decoder.Checksum.Kind != "sum8" {
		t.Errorf("a checksum: %v, %+v", first(t, g), g.Candidates[0].Decoder.Checksum)
	}
	if g := Infer(h, Choice{Frame: last(h), Roles: roles("<+00000....>")}); len(g.Candidates) != 1 || g.Candidates[0].Decoder.Checksum.Kind != "" || !slices.Contains(g.Candidates[0].Doubts, DoubtOpaque) {
		t.Errorf("the checksum taken for text: %+v", g.Candidates)
	}
	if g := Infer(h, Choice{Frame: last(h), Roles: roles("<........uu>")}); len(g.Candidates) != 0 {
		t.Errorf("without digits: %+v", g.Candidates)
	}
}

// TestStatusesAndStreams reads words among numbers, and a gauge that sends all the time.
func TestStatusesAndStreams(t *testing.T) {
	g := Infer(texted(" +0.123 mm\r\n", "OVER\r\n", " -0.500 mm\r\n", " +1.250 mm\r\n"), Choice{})
	c := g.Candidates[0]
	if g.Frames != 3 || len(c.Reads) != 4 || c.Reads[1].Value == nil || c.Reads[1].Value.Status != "overload" || g.Streams {
		t.Errorf("%d frames, read %+v", g.Frames, c.Reads)
	}
	h := Heard{Line: line9600}
	for i := range 40 { // twenty a second, joined in the middle of a line
		l := []byte("X:" + []string{"+0.120", "+0.121", "-0.003"}[i%3] + "mm\r\n")
		if i == 0 {
			l = l[5:]
		}
		h.Chunks = append(h.Chunks, decode.Chunk{At: time.Duration(i) * 50 * time.Millisecond, Bytes: l})
	}
	g = Infer(h, Choice{})
	if c := g.Candidates[0]; !g.Streams || g.Frames != 39 || g.Next != Listen || len(c.Reads) != 40 {
		t.Errorf("a stream: %+v; %d read of %d", g.Streams, g.Frames, len(c.Reads))
	}
}

// TestFileSaysTheSame loads the file of a candidate again, also of a built-in one on another line: it reads the same.
func TestFileSaysTheSame(t *testing.T) {
	line := decode.Line{Baud: 4800, DataBits: 7, Parity: "even", StopBits: 1}
	for _, lines := range [][]string{{" +0.123 mm\r\n", " +0.500 mm\r\n", " -0.020 mm\r\n"}, {"+0.123mm\r\n", "+0.500mm\r\n", "-0.020mm\r\n"}, {"it's +0.1\"\x7f", "it's +0.2\"\x7f", "it's -0.4\"\x7f"}} {
		h := texted(lines...)
		c := Infer(h, Choice{}).Candidates[0]
		file, err := c.File("mine: \"best\"", line)
		if err != nil {
			t.Fatalf("%v\n%s", err, file)
		}
		d, err := decode.Load("again", file)
		if err != nil || d.Line != line || !sameReads(readAll(d, h.Chunks), c.Reads) {
			t.Errorf("%v\n%s", err, file)
		}
	}
}

// TestPartsCoverTheFrame: every byte of what a candidate reads has one role, also where a field is empty.
func TestPartsCoverTheFrame(t *testing.T) {
	for _, lines := range [][]string{{"+0.012 +1.000\r\n", "+0.500 +2.000\r\n", "-0.100 +3.000\r\n"}, {"0.012mm\r", "0.500mm\r", "-0.100mmB\r", "0.200mm\r"}} {
		c := Infer(texted(lines...), Choice{}).Candidates[0]
		for _, l := range lines {
			at := 0
			for _, p := range c.Decoder.Parts([]byte(l)) {
				if p.From != at || p.To <= p.From {
					t.Errorf("%q: part %+v begins at %d", l, p, at)
				}
				at = p.To
			}
			if at != len(l) {
				t.Errorf("%q: the parts end at %d", l, at)
			}
		}
	}
}

// TestStep is the last digit's step: an inch is 25.4 mm exactly (international yard and pound agreement, 1959).
func TestStep(t *testing.T) {
	for _, c := range []struct {
		line string
		step float64
	}{{" +0.123 mm\r\n", 0.001}, {"-0.0125in\r\n", 0.00254}, {"+001234\r", 0.001}, {"12,5um\r\n", 0.0001}, {"+0.000mm\r\n", 0}} {
		if g := Infer(texted(c.line, c.line), Choice{}); g.Candidates[0].StepMM() != c.step {
			t.Errorf("%q has a step of %g mm, want %g", c.line, g.Candidates[0].StepMM(), c.step)
		}
	}
}

// TestPartsOfACandidate names every byte of a line.
func TestPartsOfACandidate(t *testing.T) {
	inner := []string{"A:+0.012 mm", "A:+0.500 mm", "B:-0.100 mm"}
	var lines []string
	for _, l := range inner {
		lines = append(lines, "\x02"+l+string(sumOf(decode.Checksum{Kind: "lrc", Encoding: "hex"}, []byte(l)))+"\x03\r\n")
	}
	c := Infer(texted(lines...), Choice{}).Candidates[0]
	var says []string
	for _, p := range c.Decoder.Parts([]byte(lines[0])) {
		says = append(says, string(p.Role)+"="+lines[0][p.From:p.To])
	}
	want := "start=\x02|channel=A|text=:|sign=+|digits=0.012|text= |unit=mm|checksum=" + lines[0][12:14] + "|end=\x03\r\n"
	if got := strings.Join(says, "|"); got != want {
		t.Errorf("parts %q, want %q", got, want)
	}
}
