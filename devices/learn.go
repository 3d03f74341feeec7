package devices

import (
	"bytes"
	"context"
	"errors"
	"slices"
	"time"

	"go.bug.st/serial"

	"sagitta/devices/decode"
	"sagitta/devices/decode/infer"
)

// Learning says how an unknown gauge is listened to.
type Learning struct {
	Open Opener       // serial.Open unless given
	Ask  bool         // send requests too, for a gauge that answers only when asked; an unknown gauge may take them for something else
	Tell func(Lesson) // told of everything that is news, on Learn's goroutine
}

// Lesson is how far learning is.
type Lesson struct {
	infer.Heard        // what came at the setting in use; its line is what the bytes were sent with
	Settled     bool   // what came at this setting is text with numbers, or answers a built-in decoder
	Number, Of  int    // the setting in use among those there are, from 1
	Bytes       int    // that came so far, at every setting
	Noise       []byte // the newest bytes that made no sense, at most 32; another setting is tried then
	Failed      int    // settings at which what came made no sense
	Who         string // what the gauge says it is, "" where it does not
	Unanswered  int    // requests that brought nothing
}

// settings are the usual rates of serial gauges' lines (common practice, no source). With eight bits and no parity seven and a
// parity bit are heard as well; only a ninth needs a setting of its own.
func settings() []decode.Line {
	var lines []decode.Line
	for _, parity := range []string{"none", "even"} {
		for _, baud := range []int{9600, 4800, 19200, 2400, 38400, 115200, 57600, 1200} {
			lines = append(lines, decode.Line{Baud: baud, DataBits: 8, Parity: parity, StopBits: 1})
		}
	}
	return lines
}

// asking is a request that some gauges answer.
type asking struct {
	line    decode.Line
	request []byte
	who     []byte          // asks first what it is; nil where there is no such question
	decoder *decode.Decoder // reads the answer; nil of a request whose answers are not known
}

// askings are the requests of the built-in decoders, and bare line ends and question marks, which some gauges take for one (common
// practice, no source).
func askings() []asking {
	var all []asking
	for _, d := range decode.Builtin() {
		if d.Request.Bytes != nil {
			all = append(all, asking{d.Line, d.Request.Bytes, d.Request.Who, d})
		}
	}
	for _, line := range settings()[:3] {
		for _, request := range []string{"\r", "?\r"} {
			all = append(all, asking{line: line, request: []byte(request)})
		}
	}
	return all
}

const (
	// answerWithin is how long an unknown gauge may take to answer.
	answerWithin = 600 * time.Millisecond
	// askEvery is how long an answered request waits for its next turn: a plunger has moved by then.
	askEvery = 300 * time.Millisecond
	// mostHeard bounds what is kept of one setting, bytes.
	mostHeard = 2048
)

// Learn listens to an unknown gauge until ctx ends. It stays at a setting until something comes, however long that takes: text with
// numbers is gathered there, anything else is noise of a wrong setting, and the next one is tried. The error is an *Error, nil where ctx ended.
func Learn(ctx context.Context, name string, opt Learning) error {
	if opt.Open == nil {
		opt.Open = serial.Open
	}
	l := learner{Learning: opt, name: name}
	if opt.Ask {
		return l.asks(ctx)
	}
	lines := settings()
	l.Of = len(lines)
	for i := 0; ctx.Err() == nil; i = (i + 1) % len(lines) {
		l.Number = i + 1
		err := l.listen(ctx, lines[i])
		if err != nil && (!kindIs(err, Unsupported) || i == 0) { // what this port cannot do its gauge does not either
			return err
		}
	}
	return nil
}

// kindIs tells whether an error is of a kind.
func kindIs(err error, k Kind) bool {
	var e *Error
	return errors.As(err, &e) && e.Kind == k
}

// learner is one run of Learn.
type learner struct {
	Learning
	Lesson
	name string
}

func (l *learner) tell() {
	if l.Tell == nil {
		return
	}
	said := l.Lesson
	said.Chunks = slices.Clone(l.Chunks)
	l.Tell(said)
}

// noise notes what made no sense.
func (l *learner) noise(chunks []decode.Chunk) {
	for _, c := range chunks {
		l.Noise = append(l.Noise, c.Bytes...)
	}
	l.Noise = slices.Clone(l.Noise[max(0, len(l.Noise)-32):])
}

// keep adds what came, and forgets the oldest where that is too much.
func (l *learner) keep(chunks ...decode.Chunk) {
	l.Chunks = append(l.Chunks, chunks...)
	total := 0
	for _, c := range l.Chunks {
		total += len(c.Bytes)
	}
	for total > mostHeard {
		total -= len(l.Chunks[0].Bytes)
		l.Chunks = l.Chunks[1:]
	}
}

// listen opens the port with a line and hears what comes, until ctx ends or it was noise, then nil.
func (l *learner) listen(ctx context.Context, line decode.Line) error {
	l.Heard, l.Settled = infer.Heard{Line: line}, false
	l.tell()
	began, bad := time.Now(), 0
	for ctx.Err() == nil {
		port, err := openPort(l.Open, l.name, line)
		if err != nil {
			return err
		}
		turn, err := l.stay(ctx, port, began, &bad)
		if err := errors.Join(err, port.Close()); err != nil {
			return err
		}
		if turn == line { // noise, or the end
			return nil
		}
		line = turn // the same rate with the parity that its bits have
	}
	return nil
}

// stay hears bursts from an open port. It returns the line to go on with: the port's own when what came is noise, another where
// the bytes show one.
func (l *learner) stay(ctx context.Context, port *Port, began time.Time, bad *int) (decode.Line, error) {
	line := l.Line
	for ctx.Err() == nil {
		burst, err := hear(ctx, port, began)
		if err != nil {
			return line, err
		}
		if len(burst) == 0 {
			continue
		}
		for _, c := range burst {
			l.Bytes += len(c.Bytes)
		}
		sent, plain, ok := infer.Readable(line, burst)
		switch {
		case ok:
			*bad = 0
			l.Settled, l.Line = true, sent
			l.keep(plain...)
		case l.Settled && infer.Printable(burst): // a word in place of a number
			l.keep(burst...)
		case l.Settled && *bad < 1: // once it may be a fault of the line
			*bad++
			l.noise(burst)
		default:
			l.noise(burst)
			l.Failed++
			return line, nil
		}
		l.tell()
		if l.Line != line {
			return l.Line, nil
		}
	}
	return line, nil
}

// hear reads until something came and 100 ms of silence followed, or it has been coming for half a second, or ctx is done.
func hear(ctx context.Context, port *Port, began time.Time) ([]decode.Chunk, error) {
	var chunks []decode.Chunk
	buf := make([]byte, 1024)
	for silent := 0; ctx.Err() == nil; {
		n, err := port.Read(buf)
		if err != nil {
			return chunks, err
		}
		at := time.Since(began)
		switch {
		case n > 0:
			silent = 0
			chunks = append(chunks, decode.Chunk{At: at, Bytes: slices.Clone(buf[:n])})
			if at-chunks[0].At > 500*time.Millisecond {
				return chunks, nil
			}
		case len(chunks) > 0:
			if silent++; silent >= 2 {
				return chunks, nil
			}
		}
	}
	return chunks, nil
}

// asks sends one request after the other until one is answered, then that one again and again.
func (l *learner) asks(ctx context.Context) error {
	all := askings()
	l.Of = len(all)
	for ctx.Err() == nil {
		tried := 0
		for i, a := range all {
			if ctx.Err() != nil {
				return nil
			}
			l.Number = i + 1
			err := l.ask(ctx, a)
			switch {
			case err == nil:
				tried++
			case !kindIs(err, Unsupported) || i == len(all)-1 && tried == 0:
				return err
			}
		}
	}
	return nil
}

// ask asks with one request; as long as it is answered it goes on asking, until ctx ends.
func (l *learner) ask(ctx context.Context, a asking) error {
	port, err := openPort(l.Open, l.name, a.line)
	if err != nil {
		return err
	}
	err = l.converse(ctx, port, a)
	return errors.Join(err, port.Close())
}

func (l *learner) converse(ctx context.Context, port *Port, a asking) error {
	l.Heard, l.Settled = infer.Heard{Line: a.line, Request: a.request}, false
	l.tell()
	began := time.Now()
	if a.who != nil {
		answer, err := l.answer(ctx, port, began, a.who)
		if err != nil {
			return err
		}
		l.Who = string(bytes.TrimSpace(answer.Bytes))
	}
	for last := []byte(nil); ctx.Err() == nil; {
		answer, err := l.answer(ctx, port, began, a.request)
		if err != nil {
			return err
		}
		switch l.Bytes += len(answer.Bytes); {
		case len(answer.Bytes) == 0:
			l.Unanswered++
			if !l.Settled {
				return nil
			}
		case !a.reads(answer):
			l.noise([]decode.Chunk{answer})
			if !l.Settled {
				return nil
			}
		case !bytes.Equal(answer.Bytes, last):
			l.Settled, last = true, answer.Bytes
			l.keep(answer)
		}
		l.tell()
		select {
		case <-ctx.Done():
		case <-time.After(askEvery):
		}
	}
	return nil
}

// answer sends a request and hears what comes of it, as one piece.
func (l *learner) answer(ctx context.Context, port *Port, began time.Time, request []byte) (decode.Chunk, error) {
	if _, err := port.Write(request); err != nil {
		return decode.Chunk{}, err
	}
	waiting, end := context.WithTimeout(ctx, answerWithin)
	defer end()
	chunks, err := hear(waiting, port, began)
	answer := decode.Chunk{At: time.Since(began)}
	for _, c := range chunks {
		answer.Bytes = append(answer.Bytes, c.Bytes...)
	}
	return answer, err
}

// reads tells whether an answer makes sense.
func (a asking) reads(answer decode.Chunk) bool {
	if a.decoder != nil {
		for _, e := range (&decode.Capture{Chunks: []decode.Chunk{answer}}).Decode(a.decoder) {
			if e.Value != nil {
				return true
			}
		}
	}
	_, _, ok := infer.Readable(a.line, []decode.Chunk{answer})
	return ok && !bytes.Equal(answer.Bytes, a.request) // an echo is no answer
}
