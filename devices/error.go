package devices

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
	TooMany                 // as many ports are open as the program allows
)

// Error is a failure of one port.
type Error struct {
	Kind   Kind
	Port   string
	Offset int64  // bytes read from the port before it
	Raw    []byte // the bytes concerned, if any
	Err    error  // the cause
}

func (e *Error) Error() string { return "devices: " + e.Port }
func (e *Error) Unwrap() error { return e.Err }
