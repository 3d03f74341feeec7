package sampling

import (
	"cmp"
	"fmt"
	"strconv"
)

// Outcome is what became of a lot at its first inspection; lots shown again after sorting do not count.
type Outcome string

// A lot is accepted or rejected, or under reduced inspection accepted between the two numbers: above the acceptance number
// and below the rejection number.
const (
	Accepted   Outcome = "accepted"
	Rejected   Outcome = "rejected"
	Marginally Outcome = "between" // reduced inspection only
)

// Lot is one lot of a product's history, in order of inspection.
type Lot struct {
	Name    string // as the reasons name it; its number in the history unless given
	Outcome Outcome
	// MayReduce: after this lot the other conditions for reduced inspection hold: the total of nonconforming units is
	// within the limit number (Table VIII), production is steady, and reduced inspection is wanted.
	MayReduce bool
	// Unsteady: production became irregular, or something else speaks against reduced inspection; ends it.
	Unsteady bool
	// Corrected: the cause was put right after this lot; a discontinued inspection is resumed, tightened.
	Corrected bool
}

// Reason is why the severity changes.
type Reason string

// The rules of [Switch].
const (
	TwoRejected     Reason = "two of five or fewer in a row rejected"
	TenAccepted     Reason = "ten in a row accepted, and the other conditions hold"
	RejectedReduced Reason = "a lot rejected under reduced inspection"
	AboveAcceptance Reason = "a lot accepted above the acceptance number"
	UnsteadyLot     Reason = "production not steady"
	FiveRejected    Reason = "five rejected in all under tightened inspection"
	FiveAccepted    Reason = "five in a row accepted under tightened inspection"
	CauseCorrected  Reason = "the cause of the rejections corrected"
)

// Change is a lot after which another severity applies.
type Change struct {
	After  int      `json:"after"` // the lot's number, from 1
	To     Severity `json:"to"`
	Reason Reason   `json:"-"`
	Lots   []string `json:"-"` // names of the lots that it rests on: those rejected, or the last
}

// Standing is where the switching rules stand after a history.
type Standing struct {
	Applied []Severity `json:"applied"` // to each lot
	Next    Severity   `json:"next"`    // for the next lot
	Changes []Change   `json:"changes"`

	Run          int    `json:"-"` // lots accepted since the last rejected one, since the severity last changed
	Rejected     int    `json:"-"` // lots rejected since the severity last changed
	LastRejected string `json:"-"` // name of the newest of these
	// Left, under normal inspection: among so many lots from here on another rejected one makes inspection tightened; 0 where
	// none does.
	Left int `json:"-"`
}

// LotError is a lot that the rules cannot take.
type LotError struct {
	Lot     int // number in the history, from 1
	Problem string
}

func (e LotError) Error() string { return fmt.Sprintf("lot %d: %s", e.Lot, e.Problem) }

// Switch runs the switching rules over a product's lots, starting with normal inspection. Counts start afresh at each change
// of severity (the standard is silent).
//
//	normal to tightened: 2 of 5 or fewer consecutive lots rejected
//	tightened to normal: 5 consecutive lots accepted
//	normal to reduced: 10 consecutive lots accepted, and MayReduce
//	reduced to normal: a lot rejected, or accepted above the acceptance number, or Unsteady
//	tightened to discontinued: 5 lots rejected in all while tightened; then Corrected to tightened
//
// The error is a [LotError]: an outcome that the severity cannot have. Source: MIL-STD-105E 4.7.1 to 4.7.4 and 4.8.
func Switch(history []Lot) (Standing, error) {
	now := inspection{severity: Normal}
	st := Standing{Applied: []Severity{}, Changes: []Change{}}
	for i, lot := range history {
		st.Applied = append(st.Applied, now.severity)
		if problem := now.check(lot); problem != "" {
			return Standing{}, LotError{i + 1, problem}
		}
		lot.Name = cmp.Or(lot.Name, strconv.Itoa(i+1))
		for _, c := range now.take(lot) {
			c.After = i + 1
			st.Changes = append(st.Changes, c)
		}
	}
	st.Next, st.Run, st.Rejected = now.severity, now.run, len(now.rejected)
	if n := len(now.rejected); n > 0 {
		st.LastRejected = now.names[n-1]
		if now.severity == Normal {
			st.Left = max(0, now.rejected[n-1]+4-now.lots)
		}
	}
	return st, nil
}

// inspection is where the rules stand, with what was seen since the severity last changed.
type inspection struct {
	severity Severity
	lots     int   // lots seen
	run      int   // lots accepted since the last rejected one
	rejected []int // which were rejected, counted from 1
	names    []string
}

// check says what cannot have happened.
func (s *inspection) check(lot Lot) string {
	switch {
	case lot.Outcome != Accepted && lot.Outcome != Rejected && lot.Outcome != Marginally:
		return fmt.Sprintf("found %q; allowed: %s, %s, %s", lot.Outcome, Accepted, Rejected, Marginally)
	case s.severity == Discontinued:
		return "was inspected although inspection is discontinued; needed: the lot before it marked as corrected"
	case lot.Outcome == Marginally && s.severity != Reduced:
		return fmt.Sprintf("found %q under %s inspection; allowed: %s, %s", lot.Outcome, s.severity, Accepted, Rejected)
	}
	return ""
}

// take moves on by one lot and returns what changed, After left out.
func (s *inspection) take(lot Lot) []Change {
	s.lots++
	s.run++
	if lot.Outcome == Rejected {
		s.run = 0
		s.rejected, s.names = append(s.rejected, s.lots), append(s.names, lot.Name)
	}
	var changes []Change
	become := func(severity Severity, why Reason, lots ...string) {
		*s = inspection{severity: severity}
		changes = append(changes, Change{To: severity, Reason: why, Lots: lots})
	}
	n := len(s.rejected)
	switch {
	case s.severity == Normal && n > 1 && s.rejected[n-1]-s.rejected[n-2] < 5:
		become(Tightened, TwoRejected, s.names[n-2:]...)
	case s.severity == Normal && s.run >= 10 && lot.MayReduce && !lot.Unsteady:
		become(Reduced, TenAccepted, lot.Name)
	case s.severity == Reduced && lot.Outcome == Rejected:
		become(Normal, RejectedReduced, lot.Name)
	case s.severity == Reduced && lot.Outcome == Marginally:
		become(Normal, AboveAcceptance, lot.Name)
	case s.severity == Reduced && lot.Unsteady:
		become(Normal, UnsteadyLot, lot.Name)
	case s.severity == Tightened && n >= 5:
		become(Discontinued, FiveRejected, s.names...)
	case s.severity == Tightened && s.run >= 5:
		become(Normal, FiveAccepted, lot.Name)
	}
	if s.severity == Discontinued && lot.Corrected {
		become(Tightened, CauseCorrected, lot.Name)
	}
	return changes
}
