//go:build unix

// Package terminal tells tests how far a program has read a pseudo-terminal.
package terminal

import (
	"os"

	"golang.org/x/sys/unix"
)

// Unread is how many bytes lie ready at the terminal of a name.
func Unread(name string) (int, error) {
	f, err := os.OpenFile(name, os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		return 0, err
	}
	defer f.Close()
	return unix.IoctlGetInt(int(f.Fd()), fionread)
}
