package devices

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"go.bug.st/serial"

	"sagitta/devices/decode"
)

// Fit is how well a decoder suits what an unknown gauge sent with its line set in one way.
type Fit struct {
	Decoder  *decode.Decoder
	Line     decode.Line // may differ from the decoder's own
	Readings int         // frames that gave a reading or a status
	Refused  int         // stretches refused, apart from the one that was under way at the beginning
	Why      string      // the same in words, with the last reading
}

// Identify listens to a port for a while with each line that the decoders name, and says which decoders made sense of
// what came, the best first: most readings, then fewest refusals. With ask it also sends the requests of polled
// decoders; an unknown gauge may take them for something else. Nothing is returned when nothing fits; heard is how many
// bytes came at all. The error is an *Error.
func Identify(ctx context.Context, name string, decoders []*decode.Decoder, listen time.Duration, ask bool) (fits []Fit, heard int, err error) {
	return identify(ctx, serial.Open, name, decoders, listen, ask)
}

func identify(ctx context.Context, open Opener, name string, decoders []*decode.Decoder, listen time.Duration, ask bool) (fits []Fit, heard int, err error) {
	var lines []decode.Line
	for _, d := range decoders {
		if !slices.Contains(lines, d.Line) {
			lines = append(lines, d.Line)
		}
	}
	for _, line := range lines {
		var requests [][]byte
		for _, d := range decoders {
			if ask && d.Line == line && d.Request.Bytes != nil {
				requests = append(requests, d.Request.Bytes)
				if d.Request.Who != nil {
					requests = append(requests, d.Request.Who)
				}
			}
		}
		chunks, err := hear(ctx, open, name, line, listen, requests)
		if err != nil {
			return nil, heard, err
		}
		for _, c := range chunks {
			heard += len(c.Bytes)
		}
		for _, d := range decoders {
			if f := fit(d, line, chunks, listen); f.Readings > 0 {
				fits = append(fits, f)
			}
		}
	}
	slices.SortStableFunc(fits, func(a, b Fit) int {
		return cmp.Or(cmp.Compare(b.Readings, a.Readings), cmp.Compare(a.Refused, b.Refused))
	})
	return fits, heard, nil
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
	for turn := 0; ctx.Err() == nil && time.Since(began) < listen; turn++ {
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

// fit tries one decoder on what was heard.
func fit(d *decode.Decoder, line decode.Line, chunks []decode.Chunk, listened time.Duration) Fit {
	f := Fit{Decoder: d, Line: line}
	s := d.Stream(false)
	var events []decode.Event
	for _, c := range chunks {
		events = append(events, s.Feed(c.At, c.Bytes)...)
	}
	last := ""
	for _, e := range append(events, s.Idle(listened)...) {
		if e.Value != nil {
			f.Readings++
			last = fmt.Sprintf("%q", e.Raw)
		} else if !e.Lost {
			f.Refused++
		}
	}
	f.Why = fmt.Sprintf("%d readings, the last from %s, and %d refused, at %s",
		f.Readings, last, f.Refused, line.Words())
	return f
}
