package tell

import (
	"math"

	"sagitta/inspect"
)

// Turn says a turn of a rod's nut as a hand does it: "an eighth turn", "three sixteenths of a turn"; others as 5/16 turn.
func Turn(turns float64) string {
	switch sixteenths := turns * 16; {
	case math.Abs(sixteenths-1) < 1e-9:
		return "a sixteenth turn"
	case math.Abs(sixteenths-2) < 1e-9:
		return "an eighth turn"
	case math.Abs(sixteenths-3) < 1e-9:
		return "three sixteenths of a turn"
	case math.Abs(sixteenths-4) < 1e-9:
		return "a quarter turn"
	}
	return inspect.TurnsWords(turns)
}

// Way is the way that a turn goes as one faces the nut; a right-handed thread is tightened clockwise (common practice, no source).
func Way(direction string) string {
	if direction == "loosen" {
		return "counter-clockwise"
	}
	return "clockwise"
}

// Clock says from where to where a turn goes, as the hour hand of a clock that one faces: "from 12 to 3 o'clock", "from 12 back to half past 10"; "" for
// what is no step of sixteenths up to a quarter.
func Clock(direction string, turns float64) string {
	to := map[float64][2]string{
		1: {"a quarter to 1", "a quarter past 11"}, 2: {"half past 1", "half past 10"}, 3: {"a quarter past 2", "a quarter to 10"}, 4: {"3 o'clock", "9 o'clock"},
	}[math.Round(turns*16*1e9)/1e9]
	switch {
	case to[0] == "":
		return ""
	case direction == "loosen":
		return "from 12 back to " + to[1]
	}
	return "from 12 to " + to[0]
}

// RodNut says where the rod's nut is faced: "its nut at the headstock", "its nut" where nobody said.
func RodNut(n *inspect.NeckSpec) string {
	if n.RodEnd == "" {
		return "its nut"
	}
	return "its nut at the " + n.RodEnd
}
