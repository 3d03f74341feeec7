//go:build !unix

package simulate

import (
	"errors"
	"time"
)

// line is the gauge's end of a pseudo-terminal, which this operating system does not have.
type line struct{ name string }

func openLine() (*line, error) {
	return nil, errors.New("this operating system has no pseudo-terminals for simulated gauges; use Linux, BSD or macOS")
}

func (l *line) send([]byte, time.Duration) error { return ErrUnplugged }

func (l *line) close() error { return nil }
