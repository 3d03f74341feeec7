package devices

import (
	"os"

	"golang.org/x/sys/unix"
)

// waiting is how many bytes lie ready at a terminal.
func waiting(terminal *os.File) (int, error) {
	return unix.IoctlGetInt(int(terminal.Fd()), unix.TIOCINQ)
}
