package batch

import (
	"time"

	"sagitta/inspect"
)

// Counts are a batch's numbers. A remeasure before a verdict is not an inspection.
type Counts struct {
	Planned     int
	Registered  int
	Inspected   int // necks with at least one verdict other than remeasure
	FirstPass   int // passed at the first inspection
	Passed      int // latest disposition pass
	Concession  int
	Rework      int // latest disposition rework
	Repair      int
	Scrap       int
	Undecided   int // latest verdict remeasure
	InProgress  int // open or parked inspection
	Inspections int // finished attempts
	InDoubt     int // necks with an inspection in doubt that stands; see Doubt
	Withheld    int // of them, necks whose latest disposition is pass or concession: they may not ship
	Held        int // necks not in doubt that passed or were released and are held; see OutgoingFinding
	Reasons     []Reason
}

// MayShip counts the necks that passed or were released, are not in doubt and are not held.
func (c Counts) MayShip() int { return c.Passed + c.Concession - c.Withheld - c.Held }

// Reason counts the necks whose first inspection failed, by the first failing characteristic in the order of rework.
type Reason struct {
	Name  string // characteristic
	Necks int
}

// NeckRow is one line of a batch's table of necks.
type NeckRow struct {
	Neck
	Attempts     int
	First        time.Time           // start of the first inspection
	Last         time.Time           // newest verdict, or start of the newest inspection
	Inspector    string              // of the newest inspection
	Disposition  inspect.Disposition // "" before a verdict
	State        InspectionState     // of the newest inspection, "" if none
	FirstFailing string              // characteristic's words at the first inspection, "" if none
	FirstPass    bool
	InDoubt      bool // an inspection of it rests on a gauge that failed its next check; see Doubt
	Held         bool // the newest finding of an outgoing audit holds it; see OutgoingFinding
}

// BatchRow is one line of the table of batches.
type BatchRow struct {
	Batch
	Counts Counts
}
