package tell

import (
	"math"

	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// plain are the words for characteristics at the bench, where their names in the handbook are not the trade's own.
var plain = map[string]string{
	inspect.SideDifference: "bass side less treble side", inspect.Straightness: "run of the frets", inspect.Flatness: "all frets together",
	inspect.LevelZone: "frets before the joint", inspect.LevelDeviation: "off the curve", inspect.Rocker: "stands",
	inspect.Hump: "rise past joint", inspect.FallAway: "drop at the end", inspect.NutHeight: "nut",
	inspect.LeastClearance: "gap when pressed", inspect.ClearanceMargin: "room when plucked", inspect.Pitch: "tuning",
}

// Worker names a characteristic as whoever holds the neck would: "relief, bass side"; "bass side, fret 9 stands", before its value. Its
// name in the handbook is inspect.Words.
func Worker(c inspect.Characteristic) string {
	if c.Name == inspect.Relief {
		c.Fret = 0 // the specification's, the same for every neck
	}
	word, place := plain[c.Name], inspect.Place(c.Track, c.String, c.Fret)
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
	words, value, bound := wrong(&c, above), *c.Value, 0.0
	if words == "" || limit == nil {
		return inspect.FailingWords(s, c, lengths)
	}
	if bound = *limit; c.Name == inspect.SideDifference {
		value, bound = math.Abs(value), math.Abs(bound)
	}
	if in == "mm" {
		in = lengths.String()
	}
	r := c.Rounded(s.Uncertainty.ResolutionMM, lengths.MM())
	return words + ": " + r.Value(value, k.Signed && c.Name != inspect.SideDifference) + " " + in + " (limit " + r.Limit(bound) + " " + in + ")"
}

// wrong is what a value beyond its upper limit, or below its lower, is in words; "" where there are none that are sure to be true.
func wrong(c *inspect.Characteristic, above bool) string {
	side, fret, str := at(inspect.Place(c.Track, 0, 0)), at(inspect.Place("", 0, c.Fret)), inspect.Place("", c.String, 0)
	held := ""
	if c.HeldFret > 0 {
		held = ", " + inspect.Pressed(c.HeldFret)
	}
	pick := func(high, low string) string {
		if above {
			return high
		}
		return low
	}
	switch c.Name {
	case inspect.Relief, inspect.ReliefMax:
		if !above && *c.Value < 0 {
			return "back-bow" + side
		}
		return pick("too much relief", "too little relief") + side
	case inspect.SideDifference:
		switch {
		case above && *c.Upper >= 0:
			return "the bass side has too much more relief than the treble side"
		case !above && *c.Lower <= 0:
			return "the treble side has too much more relief than the bass side"
		}
	case inspect.Straightness:
		return pick("the frets do not run straight"+side, "")
	case inspect.Flatness:
		return pick("the frets are not level with one another", "")
	case inspect.LevelZone:
		return pick("the frets before the joint are not level", "")
	case inspect.Hump:
		return pick("the board rises past the joint"+side, "")
	case inspect.FallAway:
		return pick("the board drops too far at its end", "the board drops too little at its end") + side
	case inspect.Twist:
		return "the neck is twisted"
	case inspect.BoardRadius:
		if *c.Value > 0 {
			return pick("the board is too flat", "the board is too round") + fret
		}
	case inspect.Action:
		return str + pick(" stands too high", " stands too low") + fret + held
	case inspect.NutHeight:
		return str + pick(" stands too high", " stands too low") + " at the nut"
	case inspect.LeastClearance:
		return pick("", str+" comes too near the frets")
	case inspect.ClearanceMargin:
		if *c.Value < 0 {
			return pick("", str+" is likely to buzz when plucked")
		}
		return pick("", str+" has too little room when plucked")
	case inspect.Pitch:
		return str + pick(" is too sharp", " is too flat")
	}
	return ""
}

// at is a place after a comma.
func at(place string) string {
	if place == "" {
		return ""
	}
	return ", " + place
}
