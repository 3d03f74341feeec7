package history

import (
	"math/rand/v2"
	"time"
)

// The two shifts of a working day, each of eight hours with half an hour's break in the middle.
const (
	early = iota
	late
)

var shiftStarts = [2]int{6, 14} // o'clock, local time

const (
	shiftWork = 7*time.Hour + 30*time.Minute
	half      = 4 * time.Hour // before the break
	pause     = 30 * time.Minute
	dayWork   = 2 * shiftWork
)

// calendar knows the days on which the shop works: Monday to Friday, but for two weeks in August and the turn of the year.
type calendar struct {
	first time.Time   // midnight of day 0
	span  int         // days, open or not
	open  []time.Time // midnights of the working days
	works map[int]bool
}

func newCalendar(start, end time.Time) calendar {
	c := calendar{first: time.Date(start.Year(), start.Month(), start.Day(), 0, 0, 0, 0, start.Location()), works: map[int]bool{}}
	for d := c.first; !d.After(end.AddDate(0, 0, 1)); d = d.AddDate(0, 0, 1) {
		shut := d.Weekday() == time.Saturday || d.Weekday() == time.Sunday || d.Month() == time.August && d.Day() >= 4 && d.Day() < 18 ||
			d.Month() == time.December && d.Day() >= 24 || d.Month() == time.January && d.Day() == 1
		if !shut {
			c.works[c.span] = true
			if d.Before(end) {
				c.open = append(c.open, d)
			}
		}
		c.span++
	}
	return c
}

// number is how many days after the first a moment's day is.
func (c *calendar) number(at time.Time) int {
	at = at.In(c.first.Location())
	utc := func(t time.Time) time.Time { return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC) }
	return int(utc(at).Sub(utc(c.first)) / (24 * time.Hour))
}

// at is the moment at which so much has been worked since the first day; after the last working day the time runs on there.
func (c *calendar) at(worked time.Duration) time.Time {
	n := min(int(worked/dayWork), len(c.open)-1)
	in := worked - time.Duration(n)*dayWork
	shift := min(int(in/shiftWork), late)
	in -= time.Duration(shift) * shiftWork
	if in >= half {
		in += pause
	}
	return clock(c.open[n], shiftStarts[shift]).Add(in)
}

// clock is a full hour of a day.
func clock(day time.Time, hour int) time.Time {
	return time.Date(day.Year(), day.Month(), day.Day(), hour, 0, 0, 0, day.Location())
}

// shiftOf is the shift of a moment, and whether the shop works then.
func (c *calendar) shiftOf(at time.Time) (shift int, works bool) {
	if at.Hour() >= shiftStarts[late] {
		shift = late
	}
	return shift, c.works[c.number(at)] && at.Hour() >= shiftStarts[early] && at.Hour() < shiftStarts[late]+8
}

// pair is who works the early and the late shift, numbers of inspectors.
type pair [2]int

// roster deals the inspectors out: by weeks in turn over benches and shifts, with shifts swapped on some days, and somebody
// standing in now and then.
func roster(days, benches int, random *rand.Rand) [][]pair {
	all := make([][]pair, days)
	for d := range all {
		all[d] = make([]pair, benches)
		turn := func(i int) int { return (d/7 + i) % len(inspectors) }
		spare := 2 * benches
		for b := range all[d] {
			p := pair{turn(2 * b), turn(2*b + 1)}
			if random.IntN(4) == 0 {
				p[early], p[late] = p[late], p[early]
			}
			if random.IntN(15) == 0 && spare < len(inspectors) {
				p[random.IntN(2)] = turn(spare)
				spare++
			}
			all[d][b] = p
		}
	}
	return all
}
