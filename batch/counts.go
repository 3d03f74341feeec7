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
	Imported    int // registered necks that came with their past and have no readings; see Import
	Closed      bool
	Audit       *OutgoingAudit // that the lot stands under: the newest that was not given up, without lot and sample; nil: none
	Left        int            // necks of a lot that stands rejected, without those that are scrap
	LeftAgain   int            // of them, necks that were inspected again since it was rejected
	Uncovered   int            // ready necks judged after the draw of the audit that accepted the lot, and not drawn: it does not speak for them
	Reasons     []Reason
}

// Released says whether a neck of this disposition goes out of the door, as far as the verdict is concerned: it passed, or a
// person let it go by concession.
func Released(d inspect.Disposition) bool { return d == inspect.Pass || d == inspect.Concession }

// Through says whether a neck of this disposition needs no further inspection: it is released, or scrap.
func Through(d inspect.Disposition) bool { return Released(d) || d == inspect.Scrap }

// Of counts the necks whose latest disposition it is.
func (c Counts) Of(d inspect.Disposition) int {
	return map[inspect.Disposition]int{inspect.Pass: c.Passed, inspect.Concession: c.Concession, inspect.Rework: c.Rework, inspect.Repair: c.Repair,
		inspect.Scrap: c.Scrap, inspect.Remeasure: c.Undecided}[d]
}

// Ready counts the necks that are released, not in doubt and not held: those that may ship as far as they themselves are
// concerned. A lot is drawn from them.
func (c Counts) Ready() int { return c.Passed + c.Concession - c.Withheld - c.Held }

// Lot is how the batch stands as a lot: the state of the outgoing audit that it stands under, "" without one.
func (c Counts) Lot() OutgoingState {
	if c.Audit == nil {
		return ""
	}
	return c.Audit.State
}

// MayShip counts the necks that may ship: the ready ones, and none while the lot's outgoing audit is open or has rejected it.
func (c Counts) MayShip() int {
	if c.Lot().Stops() {
		return 0
	}
	return c.Ready()
}

// MayDraw says whether a sample may be drawn from the batch's lot: from a rejected one only after every neck left of it was
// inspected again, or a quality manager stated what was done with it.
func (c Counts) MayDraw() bool {
	return c.Lot() != OutgoingRejected || c.Audit.Release != nil || c.LeftAgain == c.Left
}

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
	ReliefMM     *float64 // mean relief of the newest counting verdict that has one, mm
	InDoubt      bool     // an inspection of it is in doubt; see Doubt
	Held         bool     // the newest finding of an outgoing audit holds it; see OutgoingFinding
}

// BatchRow is one line of the table of batches.
type BatchRow struct {
	Batch
	Counts Counts
}
