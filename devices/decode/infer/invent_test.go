package infer

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"sagitta/devices/decode"
)

// invented is a line as some gauge may write it: framing, channel, sign, digits, unit and checksum taken at random.
type invented struct {
	start, end string
	prefix     string
	count      bool   // the prefix is a number that grows with every line
	sign       string // "always", "minus", "blank", "behind"
	form       string // "free", "zeros", "blanks", "column", "bare"
	point      string
	places     int
	unit       string // as sent, with its blank
	mm         float64
	suffix     string
	sum        decode.Checksum
	seq        int
}

func pick[T any](r *rand.Rand, of ...T) T { return of[r.IntN(len(of))] }

// invent takes a line at random.
func invent(r *rand.Rand) *invented {
	v := &invented{
		end:    pick(r, "\r\n", "\r\n", "\r", "\n", "\n\r", "\x03", "\x03\r\n", "", ";"),
		prefix: pick(r, "", "", "", " ", "A:", "1 ", "01A", "DIA ", "#", "n="),
		sign:   pick(r, "always", "always", "minus", "blank", "behind"),
		form:   pick(r, "free", "free", "zeros", "blanks", "column", "bare"),
		point:  pick(r, ".", ".", ".", ","),
		suffix: pick(r, "", "", "", " ", " N", ",0", " OK"),
	}
	if strings.HasPrefix(v.end, "\x03") {
		v.start = "\x02"
	}
	unit := pick(r, "mm", "mm", "MM", "in", "inch", `"`, "um", "µm", "mil", "")
	v.mm, v.places = 1, pick(r, 2, 3, 3, 4)
	switch unit {
	case "in", "inch", `"`:
		v.mm, v.places = 25.4, pick(r, 4, 5)
	case "um", "µm":
		v.mm, v.places = 0.001, pick(r, 0, 1)
	case "mil":
		v.mm, v.places = 0.0254, pick(r, 1, 2)
	case "":
		v.places = pick(r, 2, 3)
	}
	if v.places == 0 {
		v.point = ""
	}
	if unit != "" {
		v.unit = pick(r, "", " ") + unit
	}
	if v.form == "bare" && v.places < 3 {
		v.form = "free"
	}
	if v.prefix == "" && r.IntN(12) == 0 {
		v.count = true
	}
	if r.IntN(3) == 0 && v.end != "" {
		kinds := []string{"xor", "sum8", "lrc", "crc16-modbus"}
		v.sum = decode.Checksum{Kind: pick(r, kinds...), Encoding: pick(r, "hex", "hex", "byte"), Order: pick(r, "high-first", "low-first")}
	}
	return v
}

// line writes a number of steps of the last digit, and says what it is in mm.
func (v *invented) line(steps int) (raw []byte, mm float64) {
	v.seq++
	size := math.Abs(float64(steps)) / math.Pow(10, float64(v.places))
	digits := fmt.Sprintf("%.*f", v.places, size)
	whole, behind, _ := strings.Cut(digits, ".")
	if v.form == "bare" && whole == "0" {
		whole = ""
	}
	sign := map[bool]string{true: "-", false: "+"}[steps < 0]
	if v.sign != "always" && v.sign != "behind" && steps >= 0 {
		sign = map[string]string{"minus": "", "blank": " "}[v.sign]
	}
	switch v.form {
	case "zeros":
		whole = strings.Repeat("0", max(0, 4-len(whole))) + whole
	}
	number := sign + whole
	switch {
	case v.sign == "behind":
		number = whole
	case v.form == "blanks":
		number = fmt.Sprintf("%6s", sign+whole)
	case v.form == "column":
		if sign == "" {
			sign = " "
		}
		number = sign + fmt.Sprintf("%5s", whole)
	}
	if v.point != "" {
		number += v.point + behind
	}
	if v.sign == "behind" {
		number += sign
	}
	prefix := v.prefix
	if v.count {
		prefix = fmt.Sprintf("%04d ", v.seq)
	}
	inner := []byte(prefix + number + v.unit + v.suffix)
	raw = append([]byte(v.start), inner...)
	raw = append(raw, sumOf(v.sum, inner)...)
	value := size
	if steps < 0 {
		value = -size
	}
	return append(raw, v.end...), value * v.mm
}

// sumOf is a checksum as sent, worked out apart from the code under test.
func sumOf(c decode.Checksum, of []byte) []byte {
	sum, x, crc := 0, 0, uint16(0xFFFF)
	for _, b := range of {
		sum += int(b)
		x ^= int(b)
		crc ^= uint16(b)
		for range 8 {
			carry := crc & 1
			if crc >>= 1; carry == 1 {
				crc ^= 0xA001
			}
		}
	}
	bytes := []byte{byte(x)}
	switch c.Kind {
	case "":
		return nil
	case "sum8":
		bytes = []byte{byte(sum)}
	case "lrc":
		bytes = []byte{byte(-sum)}
	case "crc16-modbus":
		bytes = []byte{byte(crc >> 8), byte(crc)}
		if c.Order == "low-first" {
			bytes[0], bytes[1] = bytes[1], bytes[0]
		}
	}
	if c.Encoding == "hex" {
		return fmt.Appendf(nil, "%X", bytes)
	}
	return bytes
}
