package decode

import (
	"encoding/binary"
	"fmt"
	"math"
	"strconv"
	"time"
)

// modbusFile is the table [modbus] as written.
type modbusFile struct {
	Unit      *int     `toml:"unit"`
	Function  *int     `toml:"function"`
	Register  *int     `toml:"register"`
	Type      *string  `toml:"type"`
	WordOrder *string  `toml:"word_order"`
	Scale     *float64 `toml:"scale"`
	InUnit    *string  `toml:"in_unit"`
}

// modbus reads the answers of the family "modbus-rtu": unit, function, count of bytes, registers, CRC (MODBUS
// Application Protocol V1.1b3, 6.3 and 6.4; MODBUS over Serial Line V1.02, 2.5.1). An answer is known by its address,
// length and CRC, so that nothing else is needed to find it. Where the gauge refuses, it answers with the function's
// high bit set and a code (7 of the first document); that is a status without a number.
//
// The standard ends a frame by a silence of 3.5 characters and breaks one by a silence of 1.5 (2.5.1.1). A program behind
// an adapter cannot measure that: adapters and systems hand bytes on in lumps, many milliseconds apart. So no silence
// shorter than 200 ms means anything on the way in, and CRC, address and length decide; on the way out a request waits
// until the line has been quiet for 3.5 characters.
type modbus struct {
	unit, function byte
	kind           string // of the number: "int16" ...
	lowFirst       bool   // the low register comes first
	scale          number
	inUnit         string
}

// modbusTypes holds how many registers each type of number takes.
var modbusTypes = map[string]int{"int16": 1, "uint16": 1, "int32": 2, "uint32": 2, "float32": 2}

// exceptionLength is the bytes of a refusal: unit, function, code, CRC.
const exceptionLength = 5

func (c *check) modbus(f *file, d *Decoder) {
	w := f.Modbus
	c.notHere(f, "frame", "checksum")
	m := &modbus{scale: exactFactor(c.scale("modbus.scale", w.Scale))}
	m.unit = byte(c.within("modbus.unit", w.Unit, 1, 247))
	m.function = byte(c.within("modbus.function", w.Function, 3, 4))
	register := c.within("modbus.register", w.Register, 0, 65535)
	if w.Type == nil {
		c.add("modbus.type", "missing; one of \"int16\", \"uint16\", \"int32\", \"uint32\", \"float32\"")
	} else {
		m.kind = *w.Type
		c.word("modbus.type", m.kind, "int16", "uint16", "int32", "uint32", "float32")
	}
	if w.WordOrder != nil {
		m.lowFirst = *w.WordOrder == lowFirst
		c.word("modbus.word_order", *w.WordOrder, highFirst, lowFirst)
	}
	m.inUnit = c.inUnit("modbus.in_unit", w.InUnit)
	registers := modbusTypes[m.kind]
	ask := []byte{m.unit, m.function}
	ask = binary.BigEndian.AppendUint16(ask, uint16(register))
	ask = binary.BigEndian.AppendUint16(ask, uint16(registers))
	c.asks(f, &d.Request, binary.LittleEndian.AppendUint16(ask, crc16Modbus(ask)))
	d.Request.Quiet = d.Line.silence()
	d.Frame = Frame{Length: 5 + 2*registers, MaxBytes: defaultMaxBytes}
	d.shorter, d.reader = exceptionLength, m
}

// silence is 3.5 characters, and 1.75 ms above 19200 bits per second (MODBUS over Serial Line V1.02, 2.5.1.1).
func (l Line) silence() time.Duration {
	if l.Baud > 19200 || l.Baud <= 0 {
		return 1750 * time.Microsecond
	}
	bits := 1 + float64(l.DataBits) + l.StopBits
	if l.Parity != "none" {
		bits++
	}
	return time.Duration(3.5 * bits / float64(l.Baud) * float64(time.Second))
}

func (m *modbus) read(frame []byte) (v *Value, why string) {
	n := len(frame) - 2
	if frame[0] != m.unit || crc16Modbus(frame[:n]) != binary.LittleEndian.Uint16(frame[n:]) {
		return nil, "is no answer of this unit, or its CRC is wrong"
	}
	registers := modbusTypes[m.kind]
	switch {
	case n+2 == exceptionLength && frame[1] == m.function|0x80:
		return noNumber("", fmt.Sprintf("refused with exception %d", frame[2])), ""
	case frame[1] != m.function || int(frame[2]) != 2*registers || n != 3+2*registers:
		return nil, "answers something else than was asked"
	}
	data := frame[3:n]
	if m.lowFirst && registers == 2 {
		data = []byte{data[2], data[3], data[0], data[1]}
	}
	digits := ""
	switch m.kind {
	case "int16":
		digits = strconv.Itoa(int(int16(binary.BigEndian.Uint16(data))))
	case "uint16":
		digits = strconv.Itoa(int(binary.BigEndian.Uint16(data)))
	case "int32":
		digits = strconv.Itoa(int(int32(binary.BigEndian.Uint32(data))))
	case "uint32":
		digits = strconv.FormatUint(uint64(binary.BigEndian.Uint32(data)), 10)
	case "float32":
		number := math.Float32frombits(binary.BigEndian.Uint32(data))
		if f := float64(number); math.IsNaN(f) || math.IsInf(f, 0) {
			return noNumber("", "no reading"), ""
		}
		digits = strconv.FormatFloat(float64(number), 'f', -1, 32)
	}
	v = &Value{}
	_, exact, ok := parseDecimal(digits)
	if !ok {
		return nil, fmt.Sprintf("%q is not a number", digits)
	}
	v.setNumber(digits, exact, m.scale, m.inUnit)
	return v, ""
}

// within checks a required whole number.
func (c *check) within(key string, found *int, low, high int) int {
	if found == nil {
		c.add(key, "missing; allowed: %d to %d", low, high)
		return low
	}
	if *found < low || *found > high {
		c.add(key, "found %d; allowed: %d to %d", *found, low, high)
	}
	return *found
}

// inUnit checks a required unit.
func (c *check) inUnit(key string, found *string) string {
	if found == nil {
		c.add(key, "missing; \"mm\" or \"in\"")
		return ""
	}
	c.word(key, *found, "mm", "in")
	return *found
}
