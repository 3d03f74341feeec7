package devices

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"time"

	"go.bug.st/serial"

	"sagitta/devices/decode"
)

// Opener opens a port; serial.Open is the real one.
type Opener func(name string, mode *serial.Mode) (serial.Port, error)

const (
	// mostPorts bounds the open ports: the library's Read fails at file descriptors from 1024 up.
	mostPorts = 256
	// writeWithin is how long a gauge may take to accept what is sent to it; the library has no limit of its own.
	writeWithin = time.Second
	// readWait is how long one Read waits for a byte, and so the longest that Close takes.
	readWait = 50 * time.Millisecond
)

// Port is an open serial port. Its methods may be called from several goroutines, though one should do the
// reading. The library closes the descriptor under a running Read or Write, which then reaches whatever file got
// the same number next; here Close waits for both.
type Port struct {
	name   string
	key    string // in opened
	serial serial.Port
	closed atomic.Bool
	offset atomic.Int64 // bytes read

	reading sync.Mutex
	writing sync.Mutex
	stuck   chan struct{} // under writing: closed when a write that ran out of time comes back
}

// opened lists the ports that this program has open, by the name that symlinks lead to. The system keeps a port
// from being opened twice, but not from a superuser.
var opened = struct {
	sync.Mutex
	names map[string]bool
}{names: map[string]bool{}}

// ownTerminal says that a name leads to the terminal from which this program is worked, or to the machine's console: nothing is to be sent to
// either.
func ownTerminal(key string) bool {
	if key == "/dev/tty" || key == "/dev/console" {
		return true
	}
	port, err := os.Stat(key)
	if err != nil {
		return false
	}
	in, err := os.Stdin.Stat()
	return err == nil && os.SameFile(port, in)
}

// openPort opens a serial port, or what a symlink leads to, and sets its line. The error is an *Error.
func openPort(open Opener, name string, line decode.Line) (*Port, error) {
	mode, err := modeOf(line)
	if err != nil {
		return nil, &Error{Kind: Unsupported, Port: name, Err: err}
	}
	key, err := filepath.EvalSymlinks(name)
	if err != nil {
		key = name // a name that is no path, or a missing one: opening it says so
	}
	if ownTerminal(key) {
		return nil, &Error{Kind: NotAPort, Port: name, Err: errors.New("it is this program's own terminal, or the machine's")}
	}
	if err := claim(name, key); err != nil {
		return nil, err
	}
	p, err := open(name, mode)
	if err != nil {
		release(key)
		return nil, translate(name, false, 0, err)
	}
	if err := p.SetReadTimeout(readWait); err != nil {
		p.Close()
		release(key)
		return nil, translate(name, false, 0, err)
	}
	return &Port{name: name, key: key, serial: p}, nil
}

func claim(name, key string) error {
	opened.Lock()
	defer opened.Unlock()
	if opened.names[key] {
		return &Error{Kind: Busy, Port: name, Err: errors.New("open in this program")}
	}
	if len(opened.names) >= mostPorts {
		return &Error{Kind: TooMany, Port: name}
	}
	opened.names[key] = true
	return nil
}

func release(key string) {
	opened.Lock()
	delete(opened.names, key)
	opened.Unlock()
}

// modeOf is the line in the library's terms.
func modeOf(l decode.Line) (*serial.Mode, error) {
	parity, ok := map[string]serial.Parity{"none": serial.NoParity, "even": serial.EvenParity, "odd": serial.OddParity,
		"mark": serial.MarkParity, "space": serial.SpaceParity}[l.Parity]
	if !ok {
		return nil, fmt.Errorf("parity %q; allowed: none, even, odd, mark, space", l.Parity)
	}
	stop, ok := map[float64]serial.StopBits{1: serial.OneStopBit, 1.5: serial.OnePointFiveStopBits, 2: serial.TwoStopBits}[l.StopBits]
	if !ok {
		return nil, fmt.Errorf("%v stop bits; allowed: 1, 1.5, 2", l.StopBits)
	}
	return &serial.Mode{BaudRate: l.Baud, DataBits: l.DataBits, Parity: parity, StopBits: stop}, nil
}

// wait sets how long one Read waits.
func (p *Port) wait(d time.Duration) error {
	p.reading.Lock()
	defer p.reading.Unlock()
	if err := p.serial.SetReadTimeout(d); err != nil {
		return translate(p.name, true, p.offset.Load(), err)
	}
	return nil
}

// modem says how the port's incoming modem lines stand. A pseudo-terminal, and some adapters, cannot say.
func (p *Port) modem() (*serial.ModemStatusBits, error) {
	p.reading.Lock()
	defer p.reading.Unlock()
	if p.closed.Load() {
		return nil, &Error{Kind: Unplugged, Port: p.name, Offset: p.offset.Load(), Err: errors.New("closed")}
	}
	bits, err := p.serial.GetModemStatusBits()
	if err != nil {
		return nil, translate(p.name, true, p.offset.Load(), err)
	}
	return bits, nil
}

// lines sets the port's outgoing modem lines. A pseudo-terminal, and some adapters, cannot.
func (p *Port) lines(rts, dtr bool) error {
	p.reading.Lock()
	defer p.reading.Unlock()
	if p.closed.Load() {
		return &Error{Kind: Unplugged, Port: p.name, Offset: p.offset.Load(), Err: errors.New("closed")}
	}
	if err := errors.Join(p.serial.SetRTS(rts), p.serial.SetDTR(dtr)); err != nil {
		return translate(p.name, true, p.offset.Load(), err)
	}
	return nil
}

// Name is the name the port was opened by.
func (p *Port) Name() string { return p.name }

// Read waits up to 50 ms for bytes. None within that time is 0 and no error. Any error is an *Error and final:
// the port should be closed and opened again.
func (p *Port) Read(b []byte) (n int, err error) {
	p.reading.Lock()
	defer p.reading.Unlock()
	if p.closed.Load() {
		return 0, &Error{Kind: Unplugged, Port: p.name, Offset: p.offset.Load(), Err: errors.New("closed")}
	}
	defer func() { // the library's descriptor set has room for 1024 and indexes past its end beyond
		if r := recover(); r != nil {
			n, err = 0, &Error{Kind: TooMany, Port: p.name, Err: fmt.Errorf("%v", r)}
		}
	}()
	n, err = p.serial.Read(b)
	p.offset.Add(int64(n))
	if err != nil {
		return n, translate(p.name, true, p.offset.Load(), err)
	}
	return n, nil
}

// Write sends bytes to the gauge. When they are not taken within a second what is left of them is thrown away and
// the error is Stuck.
func (p *Port) Write(b []byte) (int, error) {
	p.writing.Lock()
	defer p.writing.Unlock()
	if p.closed.Load() {
		return 0, &Error{Kind: Unplugged, Port: p.name, Offset: p.offset.Load(), Err: errors.New("closed")}
	}
	if p.stuck != nil {
		select {
		case <-p.stuck:
			p.stuck = nil
		default:
			return 0, &Error{Kind: Stuck, Port: p.name, Raw: b}
		}
	}
	type outcome struct {
		n   int
		err error
	}
	back := make(chan outcome, 1)
	done := make(chan struct{})
	go func() {
		defer close(done)
		n := 0
		for n < len(b) {
			m, err := p.serial.Write(b[n:])
			n += m
			if err != nil || m == 0 {
				back <- outcome{n, err}
				return
			}
		}
		back <- outcome{n, nil}
	}()
	late := time.NewTimer(writeWithin)
	defer late.Stop()
	select {
	case o := <-back:
		if o.err != nil {
			return o.n, translate(p.name, true, p.offset.Load(), o.err)
		}
		if o.n < len(b) {
			return o.n, &Error{Kind: Stuck, Port: p.name, Raw: b[o.n:]}
		}
		return o.n, nil
	case <-late.C:
		p.stuck = done
		p.serial.ResetOutputBuffer() // makes room, so that the blocked call comes back
		return 0, &Error{Kind: Stuck, Port: p.name, Raw: b}
	}
}

// Close closes the port. It waits for a Read in progress; a Write that is stuck keeps the descriptor, and the port
// counts as open, until it comes back.
func (p *Port) Close() error {
	if p.closed.Swap(true) {
		return nil
	}
	p.reading.Lock()
	defer p.reading.Unlock()
	p.writing.Lock()
	defer p.writing.Unlock()
	if p.stuck != nil {
		select {
		case <-p.stuck:
		case <-time.After(readWait):
			go func() {
				<-p.stuck
				p.shut()
			}()
			return &Error{Kind: Stuck, Port: p.name}
		}
	}
	return p.shut()
}

func (p *Port) shut() error {
	defer release(p.key)
	if err := p.serial.Close(); err != nil {
		return translate(p.name, true, p.offset.Load(), err)
	}
	return nil
}
