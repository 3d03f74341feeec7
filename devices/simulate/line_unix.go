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

// line is the gauge's end of a pseudo-terminal. The other end is not kept open: so the gauge can tell whether a program
// has it open, and what is sent to nobody is lost, as on a real line, instead of waiting in a buffer for the next one.
type line struct {
	end  *os.File
	name string // of the other end
	rest []byte // of a frame that did not go out whole; it goes first, so that no later frame is torn
}

// openLine makes a pseudo-terminal in raw mode, which it keeps from one opening to the next.
func openLine() (*line, error) {
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
	l := &line{end: end, name: other.Name()}
	// Making the terminal may leave this end blocking; a blocked write would not heed its deadline.
	var failed error
	if err := l.onDescriptor(func(fd int) { failed = unix.SetNonblock(fd, true) }); err != nil || failed != nil {
		return nil, errors.Join(fmt.Errorf("pseudo-terminal %s: %w", l.name, errors.Join(err, failed)), end.Close())
	}
	return l, nil
}

// onDescriptor calls do with this end's descriptor, which stays open for as long.
func (l *line) onDescriptor(do func(fd int)) error {
	raw, err := l.end.SyscallConn()
	if err != nil {
		return err
	}
	return raw.Control(func(fd uintptr) { do(int(fd)) })
}

// open tells whether a program has the other end open.
func (l *line) open() bool {
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

// send writes a whole frame within the wait, or none of it or a beginning whose rest goes before the next frame.
func (l *line) send(frame []byte, wait time.Duration) error {
	if !l.open() {
		l.rest = nil
		return ErrNobody
	}
	if err := l.end.SetWriteDeadline(time.Now().Add(wait)); err != nil {
		return fmt.Errorf("pseudo-terminal %s: %w", l.name, err)
	}
	if len(l.rest) > 0 {
		n, err := l.end.Write(l.rest)
		l.rest = l.rest[n:]
		if err != nil {
			return l.translate(err)
		}
	}
	n, err := l.end.Write(frame)
	if err == nil {
		return nil
	}
	if n > 0 {
		l.rest = append([]byte(nil), frame[n:]...)
	}
	return l.translate(err)
}

func (l *line) translate(err error) error {
	if errors.Is(err, os.ErrDeadlineExceeded) {
		return ErrFull
	}
	return fmt.Errorf("pseudo-terminal %s: %w", l.name, err)
}

func (l *line) close() error { return l.end.Close() }
