package tell

import (
	"fmt"
	"slices"
	"strconv"
	"time"

	"sagitta/inspect"
)

// mostCarried are named in a sentence; the others are counted.
const mostCarried = 3

// CarriedOver says what limited characteristics a result carries over from inspections before: "hump, twist and 4 others carried from
// attempt 1 (today 14:02)"; "" where it carries none. now is the moment of reading.
func CarriedOver(all []inspect.Characteristic, now time.Time) string {
	var sources []inspect.CarriedFrom
	names := map[int][]string{}
	for _, c := range all {
		if c.CarriedFrom == nil || c.Zone == inspect.NoLimit {
			continue
		}
		n := c.CarriedFrom.Attempt
		if names[n] == nil {
			sources = append(sources, *c.CarriedFrom)
		}
		if name := inspect.Name(c.Name); !slices.Contains(names[n], name) {
			names[n] = append(names[n], name)
		}
	}
	words := ""
	for i, from := range sources {
		if i > 0 {
			words += "; "
		}
		some := names[from.Attempt]
		if len(some) > mostCarried {
			some = append(slices.Clone(some[:mostCarried-1]), Counted(len(some)-mostCarried+1, "other", "others"))
		}
		words += fmt.Sprintf("%s carried from attempt %d (%s)", List(some), from.Attempt, dayAndTime(from.At, now, "today "))
	}
	return words
}

// RestCarried says in few words that what is not asked for is carried over: "The rest is carried from attempt 1"; "" where nothing is.
func RestCarried(all []inspect.Characteristic) string {
	var attempts []int
	for _, c := range all {
		if c.CarriedFrom != nil && !slices.Contains(attempts, c.CarriedFrom.Attempt) {
			attempts = append(attempts, c.CarriedFrom.Attempt)
		}
	}
	if len(attempts) == 0 {
		return ""
	}
	slices.Sort(attempts)
	var words []string
	for _, n := range attempts {
		words = append(words, strconv.Itoa(n))
	}
	return fmt.Sprintf("The rest is carried from %s %s", Plural(len(words), "attempt", "attempts"), List(words))
}

// CarriedFrom says where a value is from: "carried from attempt 1, 14:02"; "" where it was measured.
func CarriedFrom(c inspect.Characteristic, now time.Time) string {
	if c.CarriedFrom == nil {
		return ""
	}
	return fmt.Sprintf("carried from attempt %d, %s", c.CarriedFrom.Attempt, dayAndTime(c.CarriedFrom.At, now, ""))
}

// FromAttempt says in three words where a value is from: "from attempt 1"; "" where it was measured.
func FromAttempt(c inspect.Characteristic) string {
	if c.CarriedFrom == nil {
		return ""
	}
	return fmt.Sprintf("from attempt %d", c.CarriedFrom.Attempt)
}

// dayAndTime is a time with its date, or with a word of its own for today.
func dayAndTime(at, now time.Time, today string) string {
	at, now = at.Local(), now.Local()
	if at.Year() == now.Year() && at.YearDay() == now.YearDay() {
		return today + at.Format("15:04")
	}
	return at.Format("2006-01-02 15:04")
}
