package batch

import (
	"fmt"
	"strconv"
	"strings"

	"sagitta/inspect"
)

// PointOf is the measuring point that inspect names.
func PointOf(ref inspect.PointRef) Point {
	p := Point{Kind: Kind(ref.Kind), Track: ref.Track, Fret: ref.Fret, String: ref.String, HeldFret: ref.HeldFret}
	if p.Kind == NutHeight {
		p.Fret = 0 // over fret 1 always
	}
	return p
}

// Words names a point as the inspector would: "fret 7, bass side".
func (p Point) Words() string {
	switch p.Kind {
	case Crown:
		return fmt.Sprintf("fret %d, %s", p.Fret, inspect.Side(p.Track))
	case BeamReading:
		return "two-foot beam, " + inspect.Side(p.Track)
	case LeafPasses:
		return fmt.Sprintf("thickest leaf that passes under the string at fret %d, %s", p.Fret, inspect.Side(p.Track))
	case LeafStops:
		return fmt.Sprintf("thinnest leaf that does not pass at fret %d, %s", p.Fret, inspect.Side(p.Track))
	case NutHeight:
		return "string " + strconv.Itoa(p.String) + " over fret 1, open"
	case ActionHeight:
		held := "open"
		if p.HeldFret > 0 {
			held = fmt.Sprintf("held at fret %d", p.HeldFret)
		}
		return fmt.Sprintf("string %d over fret %d, %s", p.String, p.Fret, held)
	case Pitch:
		return fmt.Sprintf("pitch of string %d, cents from its target", p.String)
	case PitchDeclared:
		return "every string at pitch"
	case Sweep:
		return "sweep along the " + inspect.Side(p.Track)
	}
	return string(p.Kind)
}

// Words says what was done: "truss rod, tighten 3/16 turn". length writes an amount given in mm, its sign and unit with it.
func (a ReworkAction) Words(length func(mm float64) string) string {
	words := a.What
	if a.Turns != 0 {
		words += ", " + a.Direction + " " + inspect.TurnsWords(a.Turns)
	}
	if a.String > 0 {
		words += fmt.Sprintf(", string %d", a.String)
	}
	if a.Fret > 0 {
		words += fmt.Sprintf(", fret %d", a.Fret)
	}
	if a.Track != "" {
		words += ", " + inspect.Side(a.Track)
	}
	if a.AmountMM != 0 {
		words += ", " + length(a.AmountMM)
	}
	return words
}

// Printable writes a gauge's bytes as text: printing ASCII as it is, the rest as \r, \n, \t or \xNN.
func Printable(raw []byte) string {
	var b strings.Builder
	for _, c := range raw {
		switch {
		case c == '\r':
			b.WriteString(`\r`)
		case c == '\n':
			b.WriteString(`\n`)
		case c == '\t':
			b.WriteString(`\t`)
		case c == '\\':
			b.WriteString(`\\`)
		case c < ' ' || c > '~':
			fmt.Fprintf(&b, `\x%02x`, c)
		default:
			b.WriteByte(c)
		}
	}
	return b.String()
}
