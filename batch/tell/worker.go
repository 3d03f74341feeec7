package tell

import (
	"math"
	"strings"

	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// Worker names a characteristic as whoever holds the neck would: "relief, bass side"; "bass side, fret 9 stands", before its value. Its
// name in the handbook is inspect.Words.
func Worker(c inspect.Characteristic) string {
	if c.Name == inspect.Relief {
		c.Fret = 0 // the specification's, the same for every neck
	}
	word, place := inspect.KindOf(c.Name).Plain, inspect.Place(c.Track, c.String, c.Fret)
	switch {
	case word == "":
		word = inspect.Name(c.Name)
	case inspect.KindOf(c.Name).Stands && place != "":
		return place + " " + word
	}
	if place == "" {
		return word
	}
	return word + ", " + place
}

// Wrong says what is wrong with a nonconforming value as whoever holds the neck would: "too much relief, bass side: +0.46 mm (limit
// 0.36 mm)"; "bass side, fret 9, stands 0.08 mm high". Where the trade has no word for it, inspect.FailingWords says it.
func Wrong(s *inspect.Spec, c inspect.Characteristic, lengths unit.Unit) string {
	k, in := inspect.KindOf(c.Name), c.Unit
	if c.Value == nil || k.Stands {
		return inspect.FailingWords(s, c, lengths)
	}
	above, limit := c.Upper != nil && *c.Value > *c.Upper, c.Lower
	if above {
		limit = c.Upper
	}
	words, value, bound := wrong(&k, &c, above), *c.Value, 0.0
	if words == "" || limit == nil {
		return inspect.FailingWords(s, c, lengths)
	}
	if bound = *limit; k.OfZero {
		value, bound = math.Abs(value), math.Abs(bound)
	}
	if in == "mm" {
		in = lengths.String()
	}
	r := c.Rounded(s.Uncertainty.ResolutionMM, lengths.MM())
	return words + ": " + r.Value(value, k.Signed && !k.OfZero) + " " + in + " (limit " + r.Limit(bound) + " " + in + ")"
}

// wrong is what a value beyond its upper limit, or below its lower, is in words; "" where there are none that are sure to be true.
func wrong(k *inspect.Kind, c *inspect.Characteristic, above bool) string {
	words := k.TooLittle
	switch {
	case above:
		words = k.TooMuch
	case *c.Value < 0 && k.Negative != "":
		words = k.Negative
	}
	if k.OfZero && (above && *c.Upper < 0 || !above && *c.Lower > 0) {
		return ""
	}
	held := ""
	if c.HeldFret > 0 {
		held = ", " + inspect.Pressed(c.HeldFret)
	}
	return strings.NewReplacer("{side}", at(inspect.Place(c.Track, 0, 0)), "{string}", inspect.Place("", c.String, 0), "{fret}", at(inspect.Place("", 0, c.Fret)), "{held}", held).Replace(words)
}

// at is a place after a comma.
func at(place string) string {
	if place == "" {
		return ""
	}
	return ", " + place
}
