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
