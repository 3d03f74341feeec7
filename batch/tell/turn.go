package tell

import (
	"fmt"
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

// AfterRod says what is asked for after a turn of the rod; strings says that heights of strings are too.
func AfterRod(strings bool) string {
	if strings {
		return "relief is asked for, and the strings once it is right"
	}
	return "relief alone is asked for"
}

// ReliefFirst says after a turn of the rod that relief comes first, and which strings follow; begun says that it was told why.
func ReliefFirst(following []int, begun bool) string {
	switch {
	case len(following) == 0:
		return "The rod was turned: only relief is asked for now."
	case begun:
		return "Relief first, then " + Strings(following) + "."
	}
	return "The rod was turned: relief first. Once it is right, " + Strings(following) + " again, for the rod moved them too."
}

// Strings names strings by their numbers: "string 6", "strings 6 and 1", "strings 6 to 1".
func Strings(numbers []int) string {
	if len(numbers) == 1 {
		return fmt.Sprintf("string %d", numbers[0])
	}
	if first, last := numbers[0], numbers[len(numbers)-1]; len(numbers) > 2 && len(numbers) == max(first, last)-min(first, last)+1 {
		return fmt.Sprintf("strings %d to %d", first, last)
	}
	words := make([]string, len(numbers))
	for i, n := range numbers {
		words[i] = fmt.Sprint(n)
	}
	return "strings " + List(words)
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
