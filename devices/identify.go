package devices

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"go.bug.st/serial"

	"sagitta/devices/decode"
	"sagitta/inspect/unit"
)

// Identifying says how an unknown gauge is listened to.
type Identifying struct {
	Decoders []*decode.Decoder // to be tried
	Listen   time.Duration     // with each setting of the line
	Ask      bool              // also send the requests of polled decoders; an unknown gauge may take them for something else
	Trying   func(Trial)       // told before each setting; may be nil
	Open     Opener            // serial.Open unless given
}

// Trial is one setting of the line that is being listened with.
type Trial struct {
	Line    decode.Line
	Number  int // from 1
	Of      int // at most: settings that no decoder names are tried only where bytes came and no decoder read them cleanly
	Heard   int // bytes so far
	Fitting int // decoders so far
}

// Found is what an unknown gauge sent and what made sense of it.
type Found struct {
	Fits  []Fit  // the best first
	Heard int    // bytes that came at all
	Last  []byte // the newest of them, at most 32
	// TooLittle is a decoder that no fit was found for, but that would read what came at one setting if that began with a
	// frame's beginning, which nothing tells: one whole frame more would. Nil where there is a fit, or none such.
	TooLittle *decode.Decoder
}

// Tied is how many of the fits are as good as the best: 1 where the best stands alone, 0 without a fit.
func (f Found) Tied() int {
	n := 0
	for n < len(f.Fits) && better(f.Fits[0], f.Fits[n]) == 0 {
		n++
	}
	return n
}

// better compares two fits, less than 0 where a is the better.
func better(a, b Fit) int {
	rank := func(ok bool) int {
		if ok {
			return 0
		}
		return 1
	}
	return cmp.Or(rank(a.Refused == 0)-rank(b.Refused == 0), rank(a.Line == a.Decoder.Line)-rank(b.Line == b.Decoder.Line),
		cmp.Compare(b.Readings, a.Readings), cmp.Compare(a.Refused, b.Refused))
}

// Fit is how well a decoder suits what an unknown gauge sent with its line set in one way.
type Fit struct {
	Decoder      *decode.Decoder
	Line         decode.Line // may differ from the decoder's own
	Readings     int         // frames that gave a reading or a status
	Refused      int         // stretches refused, apart from the one that was under way at the beginning
	Last         []byte      // newest frame that was read
	ResolutionMM float64     // step of the last digit of the newest number, mm; 0 where none came
	Streams      bool        // frames came faster than a key is pressed
	Why          string      // the evidence in words, with the last reading
}

// usual are the settings of serial gauges' lines that are tried beside those of the decoders (common practice, no
// source): every usual rate with eight data bits, or seven and a parity bit.
func usual() []decode.Line {
	var lines []decode.Line
	for _, baud := range []int{4800, 9600, 2400, 19200, 1200, 38400, 57600, 115200} {
		for _, l := range []decode.Line{{DataBits: 8, Parity: "none", StopBits: 1}, {DataBits: 7, Parity: "even", StopBits: 1}, {DataBits: 7, Parity: "odd", StopBits: 1}, {DataBits: 8, Parity: "even", StopBits: 1}} {
			l.Baud = baud
			lines = append(lines, l)
		}
	}
	return lines
}

// Identify listens to a port with each line that the decoders name, then with the other usual ones, and says which
// decoders made sense of what came. Those that refused nothing come first, then those with their own line, then those
// with most readings: how often a key was pressed during one setting says less than a line that is the decoder's. The error is an *Error.
func Identify(ctx context.Context, name string, opt Identifying) (Found, error) {
	if opt.Open == nil {
		opt.Open = serial.Open
	}
	if opt.Trying == nil {
		opt.Trying = func(Trial) {}
	}
	lines, named := linesToTry(opt.Decoders)
	var found Found
	for i, line := range lines {
		clean := slices.ContainsFunc(found.Fits, func(f Fit) bool { return f.Refused == 0 })
		if i >= named && (found.Heard == 0 || clean) || ctx.Err() != nil {
			break
		}
		opt.Trying(Trial{Line: line, Number: i + 1, Of: len(lines), Heard: found.Heard, Fitting: len(found.Fits)})
		chunks, err := hear(ctx, opt.Open, name, line, opt.Listen, opt.requests(line))
		if err != nil {
			if i >= named && kindIs(err, Unsupported) { // this port cannot do it, so its gauge does not either
				continue
			}
			return found, err
		}
		found.take(opt, line, chunks)
	}
	slices.SortStableFunc(found.Fits, better)
	if len(found.Fits) > 0 {
		found.TooLittle = nil
	}
	return found, nil
}

// linesToTry are the lines that decoders name, as many as named says, and behind them the other usual ones.
func linesToTry(decoders []*decode.Decoder) (lines []decode.Line, named int) {
	add := func(l decode.Line) {
		if !slices.Contains(lines, l) {
			lines = append(lines, l)
		}
	}
	for _, d := range decoders {
		add(d.Line)
	}
	named = len(lines)
	for _, l := range usual() {
		add(l)
	}
	return lines, named
}

// take tries every decoder on what was heard with one line.
func (f *Found) take(opt Identifying, line decode.Line, chunks []decode.Chunk) {
	for _, c := range chunks {
		f.Heard += len(c.Bytes)
		f.Last = append(f.Last, c.Bytes...)
		f.Last = f.Last[max(0, len(f.Last)-32):]
	}
	for _, d := range opt.Decoders {
		if one := fit(d.Stream(false), d, line, chunks, opt.Listen); one.Readings > 0 {
			f.Fits = append(f.Fits, one)
		} else if one = fit(d.Stream(true), d, line, chunks, opt.Listen); one.Readings > 0 && one.Refused == 0 && f.TooLittle == nil {
			f.TooLittle = d
		}
	}
}

// requests are what polled decoders with this line would send.
func (opt *Identifying) requests(line decode.Line) [][]byte {
	var all [][]byte
	for _, d := range opt.Decoders {
		if !opt.Ask || d.Line != line || d.Request.Bytes == nil {
			continue
		}
		all = append(all, d.Request.Bytes)
		if d.Request.Who != nil {
			all = append(all, d.Request.Who)
		}
	}
	return all
}

// hear opens a port and listens, sending the requests one after the other, over and over.
func hear(ctx context.Context, open Opener, name string, line decode.Line, listen time.Duration, requests [][]byte) ([]decode.Chunk, error) {
	port, err := openPort(open, name, line)
	if err != nil {
		return nil, err
	}
	defer port.Close()
	var chunks []decode.Chunk
	buf := make([]byte, 1024)
	began := time.Now()
	for turn := 0; ctx.Err() == nil && (turn == 0 || time.Since(began) < listen); turn++ { // what lies ready is read however late it is
		if n := len(requests); n > 0 && turn%4 == 0 {
			if _, err := port.Write(requests[turn/4%n]); err != nil {
				return nil, err
			}
		}
		n, err := port.Read(buf)
		if err != nil {
			return nil, err
		}
		if n > 0 {
			chunks = append(chunks, decode.Chunk{At: time.Since(began), Bytes: slices.Clone(buf[:n])})
		}
	}
	return chunks, nil
}

// fit tries one decoder's stream on what was heard.
func fit(s *decode.Stream, d *decode.Decoder, line decode.Line, chunks []decode.Chunk, listened time.Duration) Fit {
	f := Fit{Decoder: d, Line: line}
	var events []decode.Event
	for _, c := range chunks {
		events = append(events, s.Feed(c.At, c.Bytes)...)
	}
	last := ""
	for _, e := range append(events, s.Idle(listened)...) {
		switch {
		case e.Value == nil && !e.Lost:
			f.Refused++
		case e.Value != nil:
			f.Readings++
			f.Last, last = e.Raw, fmt.Sprintf("%q", e.Raw)
			if e.Value.IsNumber() {
				f.ResolutionMM = stepOf(*e.Value)
				last += fmt.Sprintf(", read as %g mm", e.Value.MM)
			} else {
				last += ", read as " + e.Value.Status
			}
		}
	}
	f.Streams = listened > 0 && float64(f.Readings)/listened.Seconds() > 2.5
	readings := "1 reading, "
	if f.Readings != 1 {
		readings = fmt.Sprintf("%d readings, the last ", f.Readings)
	}
	f.Why = fmt.Sprintf("%s%s, and %d refused, at %s", readings, last, f.Refused, line.Words())
	return f
}

// stepOf is the step of a number's last digit, mm.
func stepOf(v decode.Value) float64 {
	_, decimals, _ := strings.Cut(v.Digits, ".")
	if decimals == "" {
		_, decimals, _ = strings.Cut(v.Digits, ",")
	}
	step := math.Pow(10, -float64(len(decimals)))
	if v.Value != 0 && v.MM != 0 {
		step *= v.MM / v.Value
	} else if u, ok := unit.Parse(v.UnitNorm); ok {
		step = u.To(step)
	}
	return math.Round(math.Abs(step)*1e9) / 1e9
}

// kindIs tells whether an error is of a kind.
func kindIs(err error, k Kind) bool {
	var e *Error
	return errors.As(err, &e) && e.Kind == k
}

// WhichSends opens several ports with one line and returns the first that sends anything: the way to tell gauges apart
// whose adapters are alike, by pressing the data key of one. A port that cannot be listened to does not end it. "" where
// none has sent before the time is over; the error then says which ports could not be listened to, each an *Error.
func WhichSends(ctx context.Context, open Opener, names []string, line decode.Line, listen time.Duration) (string, error) {
	if open == nil {
		open = serial.Open
	}
	ctx, cancel := context.WithTimeout(ctx, listen)
	defer cancel()
	type heard struct {
		name string
		err  error
	}
	answers := make(chan heard, len(names))
	for _, name := range names {
		go func() {
			answers <- func() heard {
				port, err := openPort(open, name, line)
				if err != nil {
					return heard{err: err}
				}
				defer port.Close()
				buf := make([]byte, 64)
				for ctx.Err() == nil {
					switch n, err := port.Read(buf); {
					case n > 0:
						return heard{name: name}
					case err != nil:
						return heard{err: err}
					}
				}
				return heard{}
			}()
		}()
	}
	first := ""
	var deaf []error
	for range names { // every port is closed again before this returns
		a := <-answers
		if a.err != nil {
			deaf = append(deaf, a.err)
		}
		if first == "" && a.name != "" {
			first = a.name
			cancel()
		}
	}
	if first != "" || len(deaf) == 0 {
		return first, nil
	}
	if rest := len(names) - len(deaf); rest > 0 {
		return "", fmt.Errorf("%w. Of the other ports, %d in number, none sent anything", errors.Join(deaf...), rest)
	}
	return "", errors.Join(deaf...)
}
