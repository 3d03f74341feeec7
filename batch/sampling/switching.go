package sampling

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"
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

// Change is a lot after which another severity applies.
type Change struct {
	After int      `json:"after"` // the lot's number, from 1
	To    Severity `json:"to"`
	Why   string   `json:"why"` // sentence
}

// Standing is where the switching rules stand after a history.
type Standing struct {
	Applied []Severity `json:"applied"` // to each lot
	Next    Severity   `json:"next"`    // for the next lot
	Why     string     `json:"why"`     // sentences: why it applies, and what would change it
	Changes []Change   `json:"changes"`
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
	why := "Inspection began normal."
	for i, lot := range history {
		st.Applied = append(st.Applied, now.severity)
		if problem := now.check(lot); problem != "" {
			return Standing{}, LotError{i + 1, problem}
		}
		lot.Name = cmp.Or(lot.Name, strconv.Itoa(i+1))
		for _, c := range now.take(lot) {
			why = c.Why
			st.Changes = append(st.Changes, Change{i + 1, c.To, c.Why})
		}
	}
	st.Next, st.Why = now.severity, why+" "+now.ahead()
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

// take moves on by one lot and returns what changed.
func (s *inspection) take(lot Lot) []Change {
	s.lots++
	s.run++
	if lot.Outcome == Rejected {
		s.run = 0
		s.rejected, s.names = append(s.rejected, s.lots), append(s.names, lot.Name)
	}
	var changes []Change
	become := func(severity Severity, why string) {
		*s = inspection{severity: severity}
		changes = append(changes, Change{To: severity, Why: why})
	}
	n := len(s.rejected)
	switch {
	case s.severity == Normal && n > 1 && s.rejected[n-1]-s.rejected[n-2] < 5:
		become(Tightened, fmt.Sprintf("Lots %s and %s were rejected, two of five in a row or fewer: inspection becomes tightened.", s.names[n-2], s.names[n-1]))
	case s.severity == Normal && s.run >= 10 && lot.MayReduce && !lot.Unsteady:
		become(Reduced, fmt.Sprintf("Ten lots in a row or more up to %s were accepted and the other conditions hold: inspection becomes reduced.", lot.Name))
	case s.severity == Reduced && lot.Outcome == Rejected:
		become(Normal, fmt.Sprintf("Lot %s was rejected: inspection becomes normal.", lot.Name))
	case s.severity == Reduced && lot.Outcome == Marginally:
		become(Normal, fmt.Sprintf("Lot %s was accepted above the acceptance number: inspection becomes normal.", lot.Name))
	case s.severity == Reduced && lot.Unsteady:
		become(Normal, fmt.Sprintf("Production was not steady at lot %s: inspection becomes normal.", lot.Name))
	case s.severity == Tightened && n >= 5:
		become(Discontinued, fmt.Sprintf("Lots %s were rejected under tightened inspection, five in all: inspection is discontinued.", strings.Join(s.names, ", ")))
	case s.severity == Tightened && s.run >= 5:
		become(Normal, fmt.Sprintf("Five lots in a row up to %s were accepted: inspection becomes normal.", lot.Name))
	}
	if s.severity == Discontinued && lot.Corrected {
		become(Tightened, fmt.Sprintf("The cause was put right after lot %s: inspection is resumed, tightened.", lot.Name))
	}
	return changes
}

// ahead says what would change the severity.
func (s *inspection) ahead() string {
	n := len(s.rejected)
	switch s.severity {
	case Discontinued:
		return "No lot is accepted by sampling until the cause is put right; inspection is then resumed, tightened."
	case Reduced:
		return "It stays reduced until a lot is rejected or accepted above the acceptance number, or production is not steady."
	case Tightened:
		return fmt.Sprintf("Of five lots accepted in a row, which make it normal, there %s %d; of five rejected, which end inspection by sampling, %d.", verb(s.run), s.run, n)
	}
	if n > 0 {
		if left := s.rejected[n-1] + 4 - s.lots; left > 0 {
			return fmt.Sprintf("Lot %s was rejected: another rejected one among the next %d makes inspection tightened.", s.names[n-1], left)
		}
	}
	return fmt.Sprintf("Two lots rejected of five in a row make it tightened; ten accepted in a row, of which there %s %d, may make it reduced where the other conditions hold.", verb(s.run), s.run)
}

// verb is what goes with a number.
func verb(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}
