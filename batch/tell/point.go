package tell

import (
	"cmp"
	"fmt"
	"strings"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// BudgetPart names what has a part in an uncertainty: a reading by its point, or a string's mass.
func BudgetPart(ref inspect.PointRef) string {
	if ref.Kind == inspect.PointMass {
		return fmt.Sprintf("mass of string %d in g/m, estimated from its diameter", ref.String)
	}
	return Point(batch.PointOf(ref))
}

// Point names a measuring point as the inspector would, the side or string first, then the fret: "bass side, fret 7"; "string 6,
// fret 12, open"; "string 6, fret 12, pressed at fret 1".
func Point(p batch.Point) string {
	place := inspect.Place(p.Track, p.String, p.Fret)
	switch p.Kind {
	case batch.Crown:
		return place
	case batch.BeamReading:
		return inspect.Side(p.Track) + ", beam on two feet"
	case batch.LeafPasses:
		return place + ", thickest leaf that passes under the string"
	case batch.LeafStops:
		return place + ", thinnest leaf that does not pass"
	case batch.NutHeight:
		return inspect.Place("", p.String, 1) + ", open"
	case batch.ActionHeight:
		return place + ", " + inspect.Pressed(p.HeldFret)
	case batch.Pitch:
		return fmt.Sprintf("pitch of string %d, cents from its target", p.String)
	case batch.PitchDeclared:
		return "every string at pitch"
	case batch.Closing:
		return place + ", once more"
	case batch.ShapeStep:
		return inspect.Side(p.Track) + fmt.Sprintf(", step between frets %d and %d", p.Fret, p.HeldFret)
	case batch.Sweep:
		return "sweep along the " + inspect.Side(p.Track)
	}
	return string(p.Kind)
}

// ReworkStep says what was done to a neck: "truss rod, tighten 3/16 turn"; an amount in the unit, with its sign.
func ReworkStep(a batch.ReworkAction, in unit.Unit) string {
	words := []string{a.What}
	if a.Turns != 0 {
		words = append(words, a.Direction+" "+inspect.TurnsWords(a.Turns))
	}
	if place := inspect.Place(a.Track, a.String, a.Fret); place != "" {
		words = append(words, place)
	}
	if a.AmountMM != 0 {
		words = append(words, inspect.Number(in.From(a.AmountMM), in.Digits(0.001), true)+" "+in.String())
	}
	return strings.Join(words, ", ")
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

// Taken counts points by their kind.
func Taken(points []batch.Point) string {
	var kinds []batch.Kind
	n := map[batch.Kind]int{}
	for _, p := range points {
		if n[p.Kind] == 0 {
			kinds = append(kinds, p.Kind)
		}
		n[p.Kind]++
	}
	words := make([]string, len(kinds))
	for i, k := range kinds {
		words[i] = fmt.Sprintf("%s: %d", cmp.Or(Kinds[k], string(k)), n[k])
	}
	return strings.Join(words, "; ")
}

// Kinds names the kinds of readings as people would.
var Kinds = map[batch.Kind]string{
	batch.Crown: "crown heights", batch.ActionHeight: "action", batch.NutHeight: "nut heights", batch.Pitch: "pitch",
	batch.BeamReading: "beam on two feet", batch.LeafPasses: "leaf that passes", batch.LeafStops: "leaf that does not pass",
	batch.Position: "position along the neck",
}
