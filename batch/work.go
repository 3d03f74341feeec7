package batch

import (
	"slices"
	"time"

	"sagitta/inspect"
)

// Work is what was judged in a span of time: an hour, a shift. Only verdicts that count are in it, and remeasure judges nothing.
type Work struct {
	From, To     time.Time
	Judged       int // inspections
	First        int // of them the first of a neck
	FirstPass    int // of them passed
	Dispositions map[inspect.Disposition]int
	By           []Share       // by inspector, by name: Inspected and FirstPass of first inspections
	Reasons      []Reason      // of first inspections that did not pass, the commonest first
	Takt         time.Duration // see TaktOf
}

// longestTakt: an inspection that took longer was parked in between.
const longestTakt = time.Hour

// TaktOf is the median of the times from the start of an inspection to its verdict, without those beyond an hour; 0 where none is left.
func TaktOf(took []time.Duration) time.Duration {
	took = slices.DeleteFunc(slices.Clone(took), func(d time.Duration) bool { return d > longestTakt })
	if len(took) == 0 {
		return 0
	}
	slices.Sort(took)
	n := len(took)
	return (took[(n-1)/2] + took[n/2]) / 2
}

// ShiftNote is what somebody leaves for the next shift. It is never changed.
type ShiftNote struct {
	ID   string
	At   time.Time
	By   string
	Text string
}
