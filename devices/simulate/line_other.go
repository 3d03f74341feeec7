//go:build !unix

package simulate

import (
	"errors"
	"time"
)

// Line is a gauge's end of a pseudo-terminal, which this operating system does not have.
type Line struct{ name string }

// OpenLine fails.
func OpenLine(string) (*Line, error) {
	return nil, errors.New("this operating system has no pseudo-terminals for simulated gauges; use Linux, BSD or macOS")
}

// Name is empty.
func (l *Line) Name() string { return l.name }

// Open is false.
func (l *Line) Open() bool { return false }

// Send fails.
func (l *Line) Send([]byte, time.Duration) error { return ErrUnplugged }

// Write fails.
func (l *Line) Write([]byte, time.Duration) (int, error) { return 0, ErrUnplugged }

// Close does nothing.
func (l *Line) Close() error { return nil }

func (l *Line) setting(gauge Setting) Setting { return gauge }
