package simulate

import "golang.org/x/sys/unix"

// setting is how the program at the other end has set the line: its rate and parity. A pseudo-terminal keeps eight data
// bits whatever it is told, so those of the gauge stand.
func (l *Line) setting(gauge Setting) Setting {
	var t *unix.Termios
	var failed error
	if err := l.onDescriptor(func(fd int) { t, failed = unix.IoctlGetTermios(fd, unix.TCGETS2) }); err != nil || failed != nil {
		return gauge
	}
	s := Setting{Baud: int(t.Ospeed), DataBits: gauge.DataBits, Parity: "none", StopBits: 1}
	if t.Cflag&unix.CSTOPB != 0 {
		s.StopBits = 2
	}
	if t.Iflag&unix.INPCK != 0 { // parity is checked: PARENB is one of the flags that a pseudo-terminal drops
		s.Parity = map[[2]bool]string{{false, false}: "even", {false, true}: "odd", {true, false}: "space", {true, true}: "mark"}[[2]bool{
			t.Cflag&unix.CMSPAR != 0, t.Cflag&unix.PARODD != 0}]
	}
	return s
}
