//go:build unix && !linux

package simulate

// setting cannot be asked for on this operating system: the line counts as set like the gauge.
func (l *Line) setting(gauge Setting) Setting { return gauge }
