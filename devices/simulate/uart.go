package simulate

import "math/bits"

// Setting is how one end of a serial line is set: bits per second, 5 to 8 data bits, parity "none", "even", "odd",
// "mark" or "space", 1, 1.5 or 2 stop bits. The zero Setting says nothing.
type Setting struct {
	Baud     int
	DataBits int
	Parity   string
	StopBits float64
}

// Garble gives the bytes that a receiver set one way makes of bytes that a sender set another way sends one right after
// the other. It samples the line as an asynchronous receiver does: a falling edge begins a character, each bit is
// sampled in its middle as the receiver counts time, and a start bit that is not low in its middle is none. The
// character is handed on even where the stop bit is low; where parity is checked and wrong it is handed on as 0, as
// POSIX has it (IEEE Std 1003.1, 11.2.2, INPCK). With the same setting on both sides it gives back what was sent.
func Garble(sent []byte, from, to Setting) []byte {
	line := wave(sent, from)
	step := 2 * float64(from.Baud) / float64(to.Baud) // the receiver's bit in halves of the sender's
	level := func(t float64) bool { return int(t) >= len(line) || line[int(t)] }
	var got []byte
	at := 0.0
	for {
		edge := fallingEdge(line, at)
		if edge < 0 {
			return got
		}
		middle := float64(edge) + step/2
		if level(middle) { // too short for a start bit
			at = middle
			continue
		}
		char, ones := byte(0), 0
		for i := range to.DataBits {
			middle += step
			if level(middle) {
				char |= 1 << i
				ones++
			}
		}
		if to.Parity != "none" {
			middle += step
			if level(middle) != parityBit(to.Parity, ones) {
				char = 0
			}
		}
		got = append(got, char)
		at = middle + step // the middle of the stop bit
	}
}

// wave is the line's level while bytes are sent, two entries a bit; it rests high.
func wave(sent []byte, s Setting) []bool {
	line := []bool{true, true}
	put := func(high bool, halves int) {
		for range halves {
			line = append(line, high)
		}
	}
	for _, b := range sent {
		b &= byte(1<<s.DataBits - 1)
		put(false, 2)
		for i := range s.DataBits {
			put(b>>i&1 == 1, 2)
		}
		if s.Parity != "none" {
			put(parityBit(s.Parity, bits.OnesCount8(b)), 2)
		}
		put(true, int(2*s.StopBits))
	}
	return line
}

// fallingEdge is the index where the line next goes from high to low at or after a time, -1 when it stays high.
func fallingEdge(line []bool, from float64) int {
	for i := int(from) + 1; i < len(line); i++ {
		if line[i-1] && !line[i] {
			return i
		}
	}
	return -1
}

// parityBit is the level of the parity bit after so many ones.
func parityBit(parity string, ones int) bool {
	switch parity {
	case "even":
		return ones%2 == 1
	case "odd":
		return ones%2 == 0
	}
	return parity == "mark"
}
