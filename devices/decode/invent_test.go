package decode

import (
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"regexp"
	"regexp/syntax"
	"strconv"
	"strings"
	"testing"
)

// inventor makes whole frames of a decoder, whichever it is: from its pattern, its marks and its checksum. It also knows
// whether bytes are a whole frame. Neither uses the code under test beyond the decoder's fields.
type inventor struct {
	d       *Decoder
	r       *rand.Rand
	shape   *syntax.Regexp // family text
	whole   *regexp.Regexp // family text and scpi: the frame without marks and checksum
	unit    byte           // family modbus-rtu
	command byte
}

func newInventor(t testing.TB, d *Decoder, seed uint64) *inventor {
	t.Helper()
	in := &inventor{d: d, r: rand.New(rand.NewPCG(seed, 7))}
	switch reads := d.reader.(type) {
	case *text:
		shape, err := syntax.Parse(reads.pattern.String(), syntax.Perl)
		if err != nil {
			t.Fatal(err)
		}
		in.shape = shape
		words := []string{reads.pattern.String()}
		for word := range reads.status {
			words = append(words, `\A`+regexp.QuoteMeta(word)+`\z`)
		}
		in.whole = regexp.MustCompile(strings.Join(words, "|"))
	case *scpi:
		in.whole = regexp.MustCompile(`\A(?:[+-]?[0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]{1,3})?|[+-]?[0-9]{1,5}, ?".*"|[^,]+,[^,]+,[^,]+,[^,]+)\r?\z`)
	case *modbus:
		in.unit, in.command = d.Request.Bytes[0], d.Request.Bytes[1]
	default:
		t.Fatalf("%s: the suite knows no frames of family %q", d.Name, d.Family)
	}
	return in
}

// frame is a whole frame that holds a number, or a status word now and then where the pattern has one.
func (in *inventor) frame() []byte {
	var inner []byte
	switch in.d.reader.(type) {
	case *modbus:
		words := int(binary.BigEndian.Uint16(in.d.Request.Bytes[4:]))
		inner = []byte{in.unit, in.command, byte(2 * words)}
		if words == 2 {
			inner = binary.BigEndian.AppendUint32(inner, uint32(in.r.IntN(400_001)-200_000))
		} else {
			inner = binary.BigEndian.AppendUint16(inner, uint16(in.r.IntN(65536)))
		}
		return binary.LittleEndian.AppendUint16(inner, longDivision(inner))
	case *scpi:
		x := float64(in.r.IntN(400_001)-200_000) / 1e4
		inner = fmt.Appendf(nil, []string{"%+.0f", "%.4f", "%+.6E"}[in.r.IntN(3)], x)
	default:
		for inner == nil || !in.shown(string(inner)) {
			var b strings.Builder
			in.write(&b, in.shape)
			inner = []byte(b.String())
		}
	}
	out := append([]byte{}, in.d.Frame.Start...)
	out = append(out, inner...)
	out = append(out, proof(in.d.Checksum, inner)...)
	return append(out, in.d.Frame.End...)
}

// shown tells whether a gauge may show a frame's number: at most 10 m, taken as inches.
func (in *inventor) shown(inner string) bool {
	reads := in.d.reader.(*text)
	m := reads.pattern.FindStringSubmatch(inner)
	if m == nil {
		return true
	}
	x, err := strconv.ParseFloat(strings.NewReplacer(" ", "", ",", ".").Replace(m[reads.pattern.SubexpIndex("digits")]), 64)
	return err != nil || 25.4*x*reads.scale.float() <= 10_000
}

// write writes a random text that fits a regular expression.
func (in *inventor) write(b *strings.Builder, re *syntax.Regexp) {
	repeat := func(low, high int) {
		if high < 0 {
			high = low + 3
		}
		for range low + in.r.IntN(high-low+1) {
			in.write(b, re.Sub[0])
		}
	}
	switch re.Op {
	case syntax.OpLiteral:
		b.WriteString(string(re.Rune))
	case syntax.OpCharClass:
		pair := 2 * in.r.IntN(len(re.Rune)/2)
		b.WriteRune(re.Rune[pair] + rune(in.r.IntN(int(re.Rune[pair+1]-re.Rune[pair])+1)))
	case syntax.OpAlternate:
		in.write(b, re.Sub[in.r.IntN(len(re.Sub))])
	case syntax.OpQuest:
		repeat(0, 1)
	case syntax.OpStar:
		repeat(0, -1)
	case syntax.OpPlus:
		repeat(1, -1)
	case syntax.OpRepeat:
		repeat(re.Min, re.Max)
	default: // a group, a sequence, an anchor
		for _, sub := range re.Sub {
			in.write(b, sub)
		}
	}
}

// is tells whether bytes are one whole frame of the format, marks and checksum included.
func (in *inventor) is(raw []byte) bool {
	if _, ok := in.d.reader.(*modbus); ok {
		words := int(binary.BigEndian.Uint16(in.d.Request.Bytes[4:]))
		n := len(raw) - 2
		if n < 3 || raw[0] != in.unit || longDivision(raw[:n]) != binary.LittleEndian.Uint16(raw[n:]) {
			return false
		}
		return n == 3+2*words && raw[1] == in.command && int(raw[2]) == 2*words || n == 3 && raw[1] == in.command|0x80
	}
	s, started := strings.CutPrefix(string(raw), string(in.d.Frame.Start))
	s, ended := strings.CutSuffix(s, string(in.d.Frame.End))
	if n := in.d.Frame.Length; !started || !ended || n > 0 && len(raw) != n {
		return false
	}
	if in.d.Checksum.Kind != "" {
		size := len(proof(in.d.Checksum, nil))
		if len(s) < size {
			return false
		}
		sum := s[len(s)-size:]
		s = s[:len(s)-size]
		want := string(proof(in.d.Checksum, []byte(s)))
		if sum != want && !(in.d.Checksum.Encoding == "hex" && strings.EqualFold(sum, want)) {
			return false
		}
	}
	return in.whole.MatchString(s)
}

// proof is a frame's checksum as sent, computed apart from the code under test.
func proof(c Checksum, of []byte) []byte {
	sum, x := 0, 0
	for _, b := range of {
		sum += int(b)
		x ^= int(b)
	}
	n, value := 1, 0
	switch c.Kind {
	case "":
		return nil
	case "xor":
		value = x
	case "sum8":
		value = sum % 256
	case "lrc":
		value = (256 - sum%256) % 256
	case "crc16-modbus":
		n, value = 2, int(longDivision(of))
	}
	if n == 2 && c.Order == "low-first" {
		value = value&0xFF<<8 | value>>8
	}
	if c.Encoding == "hex" {
		return fmt.Appendf(nil, "%0*X", 2*n, value)
	}
	return []byte{byte(value >> 8), byte(value)}[2-n:]
}

// longDivision is the CRC of MODBUS over Serial Line V1.02, 6.2.2, as the remainder of a division of polynomials over
// two elements: the bytes' bits, lowest first, the first sixteen inverted, divided by x^16 + x^15 + x^2 + 1.
func longDivision(of []byte) uint16 {
	rest := uint32(0) // the newest 16 bits, the oldest on top
	for i := range len(of)*8 + 16 {
		bit := uint32(0)
		if i < len(of)*8 {
			bit = uint32(of[i/8]) >> (i % 8) & 1
		}
		if i < 16 {
			bit ^= 1
		}
		rest = rest<<1 | bit
		if rest&0x10000 != 0 {
			rest ^= 0x18005
		}
	}
	crc := uint16(0)
	for i := range 16 {
		crc |= uint16(rest>>(15-i)&1) << i
	}
	return crc
}
