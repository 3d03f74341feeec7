//go:build unix

package simulate

import (
	"errors"
	"fmt"
	"os"
	"time"

	"github.com/creack/pty"
	"golang.org/x/sys/unix"
	"golang.org/x/term"
)

// Line is a gauge's end of a pseudo-terminal. The other end is not kept open: so the gauge can tell whether a program
// has it open, and what is sent to nobody is lost, as on a real line, instead of waiting in a buffer for the next one.
// It belongs to one goroutine at a time.
type Line struct {
	end  *os.File
	name string // of the other end
	path string // of the symlink; "" for none
	rest []byte // of a frame that did not go out whole; it goes first, so that no later frame is torn
}

// OpenLine makes a pseudo-terminal in raw mode, which it keeps from one opening to the next, and makes path a symlink to
// it; "" for none. A file at path that is no symlink is refused.
func OpenLine(path string) (*Line, error) {
	l, err := openLine()
	if err != nil || path == "" {
		return l, err
	}
	if err := link(l.name, path); err != nil {
		return nil, errors.Join(err, l.end.Close())
	}
	l.path = path
	return l, nil
}

func openLine() (*Line, error) {
	end, other, err := pty.Open()
	if err != nil {
		return nil, fmt.Errorf("no pseudo-terminal to be had: %w", err)
	}
	if _, err := term.MakeRaw(int(other.Fd())); err != nil {
		return nil, errors.Join(fmt.Errorf("pseudo-terminal %s: %w", other.Name(), err), other.Close(), end.Close())
	}
	if err := other.Close(); err != nil {
		return nil, errors.Join(fmt.Errorf("pseudo-terminal: %w", err), end.Close())
	}
	l := &Line{end: end, name: other.Name()}
	// Making the terminal may leave this end blocking; a blocked write would not heed its deadline.
	var failed error
	if err := l.onDescriptor(func(fd int) { failed = unix.SetNonblock(fd, true) }); err != nil || failed != nil {
		return nil, errors.Join(fmt.Errorf("pseudo-terminal %s: %w", l.name, errors.Join(err, failed)), end.Close())
	}
	return l, nil
}

// onDescriptor calls do with this end's descriptor, which stays open for as long.
func (l *Line) onDescriptor(do func(fd int)) error {
	raw, err := l.end.SyscallConn()
	if err != nil {
		return err
	}
	return raw.Control(func(fd uintptr) { do(int(fd)) })
}

// Name is the pseudo-terminal's own name.
func (l *Line) Name() string { return l.name }

// Open tells whether a program has the other end open.
func (l *Line) Open() bool {
	var hangUp bool
	err := l.onDescriptor(func(fd int) {
		ask := []unix.PollFd{{Fd: int32(fd)}}
		for {
			_, err := unix.Poll(ask, 0)
			if !errors.Is(err, unix.EINTR) {
				break
			}
		}
		hangUp = ask[0].Revents&unix.POLLHUP != 0
	})
	return err == nil && !hangUp
}

// Write writes what the program at the other end takes within the wait, and says how much that was: ErrNobody when no
// program has the other end open, ErrFull when it has not taken everything.
func (l *Line) Write(b []byte, wait time.Duration) (int, error) {
	if !l.Open() {
		return 0, ErrNobody
	}
	if err := l.end.SetWriteDeadline(time.Now().Add(wait)); err != nil {
		return 0, fmt.Errorf("pseudo-terminal %s: %w", l.name, err)
	}
	n, err := l.end.Write(b)
	if err != nil {
		return n, l.translate(err)
	}
	return n, nil
}

// Send writes a whole frame within the wait, or none of it or a beginning whose rest goes before the next frame. ErrNobody
// when no program has the other end open, ErrFull when that program does not read.
func (l *Line) Send(frame []byte, wait time.Duration) error {
	if !l.Open() {
		l.rest = nil
	}
	n, err := l.Write(l.rest, wait)
	l.rest = l.rest[n:]
	if err != nil {
		return err
	}
	n, err = l.Write(frame, wait)
	if n > 0 && err != nil {
		l.rest = append([]byte(nil), frame[n:]...)
	}
	return err
}

func (l *Line) translate(err error) error {
	if errors.Is(err, os.ErrDeadlineExceeded) {
		return ErrFull
	}
	return fmt.Errorf("pseudo-terminal %s: %w", l.name, err)
}

// Close takes the pseudo-terminal and the symlink away.
func (l *Line) Close() error {
	var unlink error
	if l.path != "" {
		unlink = os.Remove(l.path)
	}
	return errors.Join(unlink, l.end.Close())
}
