package devices

import (
	"context"
	"errors"
	"fmt"
	"time"

	"go.bug.st/serial"

	"sagitta/devices/decode"
)

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
