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
	if bare, sent, ok := withoutParity(line, all); ok {
		var without []decode.Chunk
		for _, c := range chunks {
			n := len(c.Bytes)
			without = append(without, decode.Chunk{At: c.At, Bytes: bare[:n:n]})
			bare = bare[n:]
		}
		return sent, without, true
	}
	return line, chunks, isText(all)
}

// withoutParity takes the highest bit away where that leaves text and the bits agree with one parity, or are all stop bits.
func withoutParity(line decode.Line, all []byte) (bare []byte, sent decode.Line, ok bool) {
	if line.DataBits != 8 || line.Parity != "none" {
		return nil, line, false
	}
	even, high := 0, 0
	for _, b := range all {
		bare = append(bare, b&0x7F)
		even += 1 - bits.OnesCount8(b)%2
		high += int(b >> 7)
	}
	if high == 0 || !isText(bare) {
		return nil, line, false
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
		return nil, line, false
	}
	return bare, line, true
}

// Printable tells whether what was heard is text, with numbers or without.
func Printable(chunks []decode.Chunk) bool {
	printable, all := 0, 0
	for _, c := range chunks {
		n, _ := counts(c.Bytes)
		printable, all = printable+n, all+len(c.Bytes)
	}
	return 4*printable >= 3*all
}

// isText tells whether three of four bytes are printable or end a line, and two at least are digits.
func isText(b []byte) bool {
	printable, digits := counts(b)
	return digits >= 2 && 4*printable >= 3*len(b) && 8*digits >= len(b)
}

// counts counts printable characters, line ends and marks among them, and digits.
func counts(b []byte) (printable, digits int) {
	for _, v := range b {
		if !isControl(v) && v < 0x80 || v == '\r' || v == '\n' || v == 2 || v == 3 {
			printable++
		}
		if isDigit(v) {
			digits++
		}
	}
	return printable, digits
}
