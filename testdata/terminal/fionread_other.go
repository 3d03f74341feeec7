//go:build unix && !linux

package terminal

// fionread is FIONREAD of macOS and the BSDs, _IOR('f', 127, int).
const fionread = 0x4004667f
