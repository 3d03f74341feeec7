// Package infer makes decoders from what an unknown gauge sends: somebody presses its key three times, and the bytes say how
// frames end, where the number stands, what its unit is and how it proves itself. What the bytes leave open is said with each
// candidate, and a person's Choice settles it.
//
// # What three presses cannot show
//
// A line without a unit may mean mm or inch, whole digits may be micrometres or counts, a gauge that was never lowered has not
// shown its minus. Nothing here is certain because it was found: every candidate comes with the values it reads, to be compared
// with the gauge's display before it is kept.
package infer

import (
	"bytes"
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"sagitta/devices/decode"
)

// Heard is what came from an unknown gauge with its line set in one way.
type Heard struct {
	Line    decode.Line
	Chunks  []decode.Chunk
	Request []byte // what every frame is the answer to; nil where the gauge sends by itself
}

// Choice is what a person says of the bytes. The zero Choice leaves everything to the bytes.
type Choice struct {
	Frame  []byte        // a whole frame as heard, its marks included, that Roles are about
	Roles  []decode.Role // of each byte of Frame; nil: not said
	Unit   string        // what the number counts: one of Units, "" not said
	Places *int          // digits behind the point where none is sent, nil: not said
}

// Enough is how many presses are asked for.
const Enough = 3

// Guess is what could be made of what was heard.
type Guess struct {
	Frames     int         // that gave a number, by the first candidate; without one, stretches between pauses
	Streams    bool        // they came faster than a key is pressed
	Candidates []Candidate // the likeliest first, at most six
	Next       Next        // what would tell more
}

// Candidate is a decoder that reads what was heard.
type Candidate struct {
	Builtin string // its name where it is a built-in decoder, else ""
	Decoder *decode.Decoder
	Reads   []decode.Event // what it makes of what was heard, in order
	Doubts  []Doubt        // what the bytes leave open
	shape   *shape         // nil of a built-in one
	score   float64
}

// Next is what a person should do so that the bytes tell more.
type Next string

// What to do next.
const (
	Press  Next = "press"  // once more, at any height
	Raise  Next = "raise"  // press with the plunger at another height: no two heights were heard
	Lower  Next = "lower"  // press below the zero: no minus was heard, and nothing says how one looks
	Listen Next = "listen" // nothing more is needed
)

// nextSentences say what to do.
var nextSentences = map[Next]string{
	Press:  "Press again at another height.",
	Raise:  "Every press sent the same: press at another height.",
	Lower:  "Press below the zero, so that its minus is seen.",
	Listen: "That is enough.",
}

// Sentence says what to do next.
func (n Next) Sentence() string { return nextSentences[n] }

// pause is the silence that parts what came of one press from what came of the next. The bytes of a frame follow each other faster,
// also at 1200 baud behind an adapter that hands on what it has every 16 ms (common practice, no source).
const pause = 45 * time.Millisecond

// Infer makes decoders of what was heard. Candidates that read every frame come first; where none is, nothing that came looks like
// lines with a number.
func Infer(h Heard, c Choice) Guess {
	bursts := burstsOf(h.Chunks)
	g := Guess{Frames: len(bursts), Next: Press}
	if len(bursts) == 0 {
		return g
	}
	if c.Roles != nil { // the frame that they are about stands last
		after := bursts[len(bursts)-1].to + time.Second
		bursts = append(bursts, burst{from: after, to: after, raw: c.Frame})
	}
	var all []Candidate
	for _, f := range framings(bursts, c) {
		for _, s := range f.shapes(c) {
			s.line, s.request = h.Line, h.Request
			if one, ok := s.candidate(h); ok {
				all = append(all, one)
			}
		}
	}
	slices.SortStableFunc(all, func(a, b Candidate) int { return cmp.Compare(b.score, a.score) })
	if c.Roles == nil && c.Unit == "" && c.Places == nil {
		all = withBuiltin(h, all)
	}
	g.Candidates = distinct(all, 6)
	if len(g.Candidates) == 0 {
		return g
	}
	g.Candidates[0].say(&g)
	g.Streams = g.Streams && h.Request == nil
	return g
}

// say fills in what the best candidate shows of the presses.
func (c *Candidate) say(g *Guess) {
	numbers := c.numbers()
	g.Frames = len(numbers)
	if n := len(numbers); n > Enough {
		span := numbers[n-1].At - numbers[0].At
		g.Streams = span > 0 && float64(n-1)/span.Seconds() > 2.5
	}
	g.Next = Listen
	switch {
	case len(numbers) < 2:
		g.Next = Press
	case slices.Contains(c.Doubts, DoubtSame):
		g.Next = Raise
	case slices.Contains(c.Doubts, DoubtSign):
		g.Next = Lower
	case len(numbers) < Enough:
		g.Next = Press
	}
}

// numbers are the frames that gave a number.
func (c *Candidate) numbers() []decode.Event {
	return slices.DeleteFunc(slices.Clone(c.Reads), func(e decode.Event) bool { return e.Value == nil || !e.Value.IsNumber() })
}

// Last is the newest frame that gave a number; ok is false where none did.
func (c *Candidate) Last() (e decode.Event, ok bool) {
	if n := c.numbers(); len(n) > 0 {
		return n[len(n)-1], true
	}
	return decode.Event{}, false
}

// StepMM is the step of the last digit, mm: the finest that was read. 0 where nothing but zeros was.
func (c *Candidate) StepMM() float64 {
	step := 0.0
	for _, e := range c.numbers() {
		plain := strings.Replace(e.Value.Digits, ",", ".", 1)
		number, err := strconv.ParseFloat(plain, 64)
		if err != nil || number == 0 || e.Value.MM == 0 {
			continue
		}
		mantissa, exponent, _ := strings.Cut(strings.ToUpper(plain), "E")
		_, behind, _ := strings.Cut(mantissa, ".")
		power, _ := strconv.Atoi(exponent) // of a number without one 0
		one := math.Abs(e.Value.MM/number) * math.Pow(10, float64(power-len(behind)))
		if one = math.Round(one*1e9) / 1e9; step == 0 || one < step {
			step = one
		}
	}
	return step
}

// distinct leaves the candidates out that read the same as a better one, and all beyond most.
func distinct(all []Candidate, most int) []Candidate {
	var kept []Candidate
	for _, c := range all {
		if len(kept) < most && !slices.ContainsFunc(kept, func(k Candidate) bool { return sameReads(k.Reads, c.Reads) }) {
			kept = append(kept, c)
		}
	}
	return kept
}

// sameReads tells whether two candidates read the same values.
func sameReads(a, b []decode.Event) bool {
	number := func(e decode.Event) bool { return e.Value == nil || !e.Value.IsNumber() }
	a, b = slices.DeleteFunc(slices.Clone(a), number), slices.DeleteFunc(slices.Clone(b), number)
	return slices.EqualFunc(a, b, func(x, y decode.Event) bool { return x.Value.MM == y.Value.MM })
}

// withBuiltin puts the built-in decoders among the candidates that read all that was heard, nothing refused: before the ones made
// here that read the same, since they know more of a gauge's words than was heard, and behind them where they read something else. What answers
// a question of an open standard is read by that standard.
func withBuiltin(h Heard, made []Candidate) []Candidate {
	var first, behind []Candidate
	for _, d := range decode.Builtin() {
		if !bytes.Equal(d.Request.Bytes, h.Request) {
			continue
		}
		c := Candidate{Builtin: d.Name, Decoder: d, Reads: readAll(d, h.Chunks)}
		if len(c.numbers()) == 0 || slices.ContainsFunc(c.Reads, func(e decode.Event) bool { return e.Value == nil }) {
			continue
		}
		c.Doubts = doubtsOf(c)
		if len(made) == 0 || d.Family != "text" || sameReads(made[0].Reads, c.Reads) {
			first = append(first, c)
		} else {
			behind = append(behind, c)
		}
	}
	return append(append(first, made...), behind...)
}

// readAll decodes all that was heard; what came first counts as a frame's beginning.
func readAll(d *decode.Decoder, chunks []decode.Chunk) []decode.Event {
	return (&decode.Capture{Chunks: chunks}).Decode(d)
}
