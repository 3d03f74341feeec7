package infer

import (
	"math/bits"

	"sagitta/devices/decode"
)

// Readable tells whether what was heard looks like lines with numbers, and with which setting they were sent. What was sent with seven
// data bits and a parity bit is heard with eight as text whose highest bit is the parity: the setting is then the one its bits agree
// with, and the chunks are returned without it. Another rate gives bytes that are no text.
func Readable(line decode.Line, chunks []decode.Chunk) (decode.Line, []decode.Chunk, bool) {
	var all []byte
	for _, c := range chunks {
		all = append(all, c.Bytes...)
	}
	if isText(all) {
		return line, chunks, true
	}
	if line.DataBits != 8 || line.Parity != "none" {
		return line, chunks, false
	}
	bare := make([]byte, len(all))
	even, high := 0, 0
	for i, b := range all {
		bare[i] = b & 0x7F
		even += 1 - bits.OnesCount8(b)%2
		high += int(b >> 7)
	}
	if !isText(bare) {
		return line, chunks, false
	}
	line.DataBits = 7
	switch n := len(all); {
	case even == n:
		line.Parity = "even"
	case even == 0:
		line.Parity = "odd"
	case high == n:
		line.StopBits = 2 // the second stop bit was heard as the highest
	default:
		return line, chunks, false
	}
	var without []decode.Chunk
	for _, c := range chunks {
		n := len(c.Bytes)
		without = append(without, decode.Chunk{At: c.At, Bytes: bare[:n:n]})
		bare = bare[n:]
	}
	return line, without, true
}

// isText tells whether three of four bytes are printable or end a line, and two at least are digits.
func isText(b []byte) bool {
	printable, digits := 0, 0
	for _, v := range b {
		if !isControl(v) && v < 0x80 || v == '\r' || v == '\n' || v == 2 || v == 3 {
			printable++
		}
		if isDigit(v) {
			digits++
		}
	}
	return digits >= 2 && 4*printable >= 3*len(b) && 8*digits >= len(b)
}
