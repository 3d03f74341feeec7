package devices

import (
	"errors"
	"fmt"
	"io/fs"
	"syscall"

	"go.bug.st/serial"
)

// Kind is what went wrong with a port, in the few cases that ask for different deeds.
type Kind int

// The kinds of port errors.
const (
	Failed      Kind = iota // any other failure; Err says which
	Missing                 // no such port
	Busy                    // another program, or this one, has it open
	Denied                  // this user may not open it
	Unplugged               // it was open and went away, or was closed
	Silent                  // it sends nothing
	Garbled                 // what it sends makes no sense
	NotAPort                // the name is of something else than a serial port
	Unsupported             // the port cannot be set that way
	Stuck                   // it does not take what is sent to it
	Alike                   // several adapters have the identity that was asked for
	TooMany                 // as many ports are open as the program allows
)

// kindWords holds, for every kind, its name, what it means and what to do.
var kindWords = map[Kind][3]string{
	Failed:      {"failed", "the port failed", "unplug it, plug it in again, and look at the cause"},
	Missing:     {"missing", "no such port", "plug the gauge in, or run `sagitta ports` to see what is there"},
	Busy:        {"busy", "the port is in use", "close the other program or the second gauge that has it open (on Linux `fuser -v` and the port's name say which program it is)"},
	Denied:      {"denied", "this user may not open the port", "give the user the right to serial ports (on Linux the group that owns the device, often dialout), then log in again; the page /help/ports tells how"},
	Unplugged:   {"unplugged", "the port has gone", "plug the gauge in again; it is found by itself"},
	Silent:      {"silent", "nothing comes from the gauge", "switch the gauge on, look at its battery and cable"},
	Garbled:     {"garbled", "what comes from the gauge makes no sense", "look at baud rate, parity and decoder; try `sagitta ports --identify`"},
	NotAPort:    {"not a port", "this is not a serial port", "run `sagitta ports` to see the serial ports"},
	Unsupported: {"unsupported", "the port cannot be set that way", "choose another baud rate, parity, data bits or stop bits in the decoder's [line]"},
	Stuck:       {"stuck", "the gauge does not take what is sent to it", "look at the cable and at the gauge's flow control"},
	Alike:       {"alike", "several adapters with this identity are plugged in", "say on the page Gauges which of them is this gauge's, or leave one plugged in"},
	TooMany:     {"too many", "too many ports are open", "close some; one program opens at most 256"},
}

// String is the kind in a word or two.
func (k Kind) String() string { return kindWords[k][0] }

// Sentence says what the kind means.
func (k Kind) Sentence() string { return kindWords[k][1] }

// ToDo says what a person can do about it.
func (k Kind) ToDo() string { return kindWords[k][2] }

// Error is a failure of one port. Every error of this package about a port is one.
type Error struct {
	Kind   Kind
	Port   string
	Offset int64  // bytes read from the port before it
	Raw    []byte // the bytes concerned, if any
	Err    error  // the cause; nil when the kind says it all
}

// Error says which port, what is the case, where, why and what to do.
func (e *Error) Error() string {
	s := fmt.Sprintf("port %s: %s", e.Port, e.Kind.Sentence())
	if e.Offset > 0 {
		s += fmt.Sprintf(" after %d bytes", e.Offset)
	}
	if len(e.Raw) > 0 {
		s += fmt.Sprintf(" at %x", e.Raw)
	}
	if e.Err != nil {
		s += " (" + e.Err.Error() + ")"
	}
	return s + "; " + e.ToDo()
}

// ToDo says what a person can do about it; of a port that this user may not open, who may.
func (e *Error) ToDo() string {
	if e.Kind == Denied {
		if a, ok := systemAccess(e.Port); ok {
			return a.words()
		}
	}
	return e.Kind.ToDo()
}

// Unwrap gives the cause.
func (e *Error) Unwrap() error { return e.Err }

// translate turns what the serial library and the system say into one of our kinds. It is called once, where the
// library is called; opened tells whether the port was open before.
func translate(port string, opened bool, offset int64, err error) error {
	return &Error{Kind: kindOf(opened, err), Port: port, Offset: offset, Err: err}
}

// kindOf is the table of translate. The library says ENOENT plainly for a missing port, and PortClosed both for a
// vanished port and for one that we closed.
func kindOf(opened bool, err error) Kind {
	var lib *serial.PortError
	if errors.As(err, &lib) {
		switch lib.Code() {
		case serial.PortBusy:
			return Busy
		case serial.PortNotFound:
			return Missing
		case serial.PermissionDenied:
			return Denied
		case serial.PortClosed:
			return Unplugged
		case serial.InvalidSerialPort:
			return NotAPort
		case serial.InvalidSpeed, serial.InvalidDataBits, serial.InvalidParity, serial.InvalidStopBits:
			return Unsupported
		}
		return Failed
	}
	gone := false
	for _, errno := range []error{syscall.ENXIO, syscall.ENODEV, syscall.EIO, syscall.EBADF} {
		gone = gone || errors.Is(err, errno)
	}
	switch {
	case gone && opened:
		return Unplugged
	case gone, errors.Is(err, fs.ErrNotExist):
		return Missing
	case errors.Is(err, fs.ErrPermission):
		return Denied
	case errors.Is(err, syscall.EBUSY):
		return Busy
	case errors.Is(err, syscall.ENOTTY), errors.Is(err, syscall.EISDIR):
		return NotAPort
	}
	return Failed
}
