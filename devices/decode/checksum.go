package decode

import (
	"encoding/binary"
	"encoding/hex"
	"fmt"
)

// xor8 is the exclusive or of all bytes.
func xor8(b []byte) byte {
	var x byte
	for _, v := range b {
		x ^= v
	}
	return x
}

// sum8 is the sum of all bytes modulo 256.
func sum8(b []byte) byte {
	var s byte
	for _, v := range b {
		s += v
	}
	return s
}

// lrc8 is the two's complement of the sum of all bytes modulo 256 (MODBUS over Serial Line V1.02, 6.2.1).
func lrc8(b []byte) byte { return -sum8(b) }

// crc16Modbus is the CRC with polynomial 0xA001 (reflected 0x8005) and start 0xFFFF (MODBUS over Serial Line
// V1.02, 6.2.2).
func crc16Modbus(b []byte) uint16 {
	crc := uint16(0xFFFF)
	for _, v := range b {
		crc ^= uint16(v)
		for range 8 {
			if crc&1 != 0 {
				crc = crc>>1 ^ 0xA001
			} else {
				crc >>= 1
			}
		}
	}
	return crc
}

// size is how many bytes of a frame the checksum takes.
func (c Checksum) size() int {
	n := 1
	switch c.Kind {
	case "":
		return 0
	case "crc16-modbus":
		n = 2
	}
	if c.Encoding == "hex" {
		n *= 2
	}
	return n
}

// Strip checks the last bytes of a frame (start and end marks already taken off) against the checksum of those
// before them and takes them off. why is "" when the frame proves itself.
func (c Checksum) Strip(frame []byte) (rest []byte, why string) {
	n := c.size()
	if n == 0 {
		return frame, ""
	}
	if len(frame) < n {
		return nil, fmt.Sprintf("too short for its checksum of %d bytes", n)
	}
	rest, sent := frame[:len(frame)-n], frame[len(frame)-n:]
	if c.Encoding == "hex" {
		raw := make([]byte, n/2)
		if _, err := hex.Decode(raw, sent); err != nil {
			return nil, fmt.Sprintf("checksum %q is not %d hex digits", sent, n)
		}
		sent = raw
	}
	var want, got uint16
	switch c.Kind {
	case "xor":
		want, got = uint16(xor8(rest)), uint16(sent[0])
	case "sum8":
		want, got = uint16(sum8(rest)), uint16(sent[0])
	case "lrc":
		want, got = uint16(lrc8(rest)), uint16(sent[0])
	case "crc16-modbus":
		want = crc16Modbus(rest)
		if c.Order == lowFirst {
			got = binary.LittleEndian.Uint16(sent)
		} else {
			got = binary.BigEndian.Uint16(sent)
		}
	}
	if want != got {
		return nil, fmt.Sprintf("checksum is %02X, the bytes give %02X", got, want)
	}
	return rest, ""
}
