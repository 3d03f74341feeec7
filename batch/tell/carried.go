package tell

import (
	"fmt"
	"slices"
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

// RestCarried says in few words that what is not asked for is carried over, and when that was judged: "The rest was measured by 10:42 today and is
// still true"; "" where nothing is carried. now is the moment of reading.
func RestCarried(all []inspect.Characteristic, now time.Time) string {
	var times []time.Time
	for _, c := range all {
		if c.CarriedFrom != nil && !slices.ContainsFunc(times, c.CarriedFrom.At.Equal) {
			times = append(times, c.CarriedFrom.At)
		}
	}
	if len(times) == 0 {
		return ""
	}
	slices.SortFunc(times, time.Time.Compare)
	var words []string
	for _, at := range times {
		words = append(words, whenMeasured(at, now))
	}
	return fmt.Sprintf("The rest was measured by %s and is still true", List(words))
}

// whenMeasured is "10:42 today", or the date with the time.
func whenMeasured(at, now time.Time) string {
	if words := dayAndTime(at, now, ""); len(words) > len("15:04") {
		return words
	}
	return dayAndTime(at, now, "") + " today"
}

// CarriedFrom says where a value is from: "carried from attempt 1, 14:02"; "" where it was measured.
func CarriedFrom(c inspect.Characteristic, now time.Time) string {
	if c.CarriedFrom == nil {
		return ""
	}
	return fmt.Sprintf("carried from attempt %d, %s", c.CarriedFrom.Attempt, dayAndTime(c.CarriedFrom.At, now, ""))
}

// StillTrue says in few words when a value was measured that is carried over: "measured by 10:42 today"; "" where it was measured anew.
func StillTrue(c inspect.Characteristic, now time.Time) string {
	if c.CarriedFrom == nil {
		return ""
	}
	return "measured by " + whenMeasured(c.CarriedFrom.At, now)
}

// dayAndTime is a time with its date, or with a word of its own for today.
func dayAndTime(at, now time.Time, today string) string {
	at, now = at.Local(), now.Local()
	if at.Year() == now.Year() && at.YearDay() == now.YearDay() {
		return today + at.Format("15:04")
	}
	return at.Format("2006-01-02 15:04")
}
