package sampling

import "fmt"

// Outcome is what became of a lot at its first inspection; lots shown again after sorting do not count.
type Outcome string

// A lot is accepted or rejected, or under reduced inspection accepted between the two numbers.
const (
	Accepted   Outcome = "accepted"
	Rejected   Outcome = "rejected"
	Marginally Outcome = "accepted above the acceptance number" // reduced inspection only
)

// Lot is one lot of a product's history, in order of inspection.
type Lot struct {
	Outcome Outcome
	// MayReduce: after this lot the other conditions for reduced inspection hold: the total of nonconforming units is
	// within the limit number (Table VIII), production is steady, and reduced inspection is wanted.
	MayReduce bool
	// Unsteady: production became irregular, or something else speaks against reduced inspection; ends it.
	Unsteady bool
	// Corrected: the cause was put right after this lot; a discontinued inspection is resumed, tightened.
	Corrected bool
}

// Switch runs the switching rules over a product's lots, starting with normal inspection. It returns the severity that
// applied to each lot and the one for the next. Counts start afresh at each change of severity (the standard is silent).
//
//	normal to tightened: 2 of 5 or fewer consecutive lots rejected
//	tightened to normal: 5 consecutive lots accepted
//	normal to reduced: 10 consecutive lots accepted, and MayReduce
//	reduced to normal: a lot rejected, or accepted above the acceptance number, or Unsteady
//	tightened to discontinued: 5 lots rejected in all while tightened; then Corrected to tightened
//
// Errors: an outcome that the severity cannot have. Source: MIL-STD-105E 4.7.1 to 4.7.4 and 4.8.
func Switch(history []Lot) (applied []Severity, next Severity, err error) {
	now := inspection{severity: Normal}
	for i, lot := range history {
		applied = append(applied, now.severity)
		if err := now.check(lot); err != nil {
			return nil, "", fmt.Errorf("lot %d: %w", i+1, err)
		}
		now.take(lot)
	}
	return applied, now.severity, nil
}

// inspection is where the rules stand, with what was seen since the severity last changed.
type inspection struct {
	severity Severity
	lots     int   // lots seen
	run      int   // lots accepted since the last rejected one
	rejected []int // which were rejected, counted from 1
}

// check refuses what cannot have happened.
func (s *inspection) check(lot Lot) error {
	switch {
	case lot.Outcome != Accepted && lot.Outcome != Rejected && lot.Outcome != Marginally:
		return fmt.Errorf("outcome: found %q; allowed: %s, %s, %s", lot.Outcome, Accepted, Rejected, Marginally)
	case s.severity == Discontinued:
		return fmt.Errorf("was inspected although inspection is discontinued; needed: the lot before it marked as corrected")
	case lot.Outcome == Marginally && s.severity != Reduced:
		return fmt.Errorf("outcome: found %q under %s inspection; allowed: %s, %s", lot.Outcome, s.severity, Accepted, Rejected)
	}
	return nil
}

// take moves on by one lot.
func (s *inspection) take(lot Lot) {
	s.lots++
	s.run++
	if lot.Outcome == Rejected {
		s.run = 0
		s.rejected = append(s.rejected, s.lots)
	}
	n := len(s.rejected)
	switch {
	case s.severity == Normal && n > 1 && s.rejected[n-1]-s.rejected[n-2] < 5:
		s.become(Tightened)
	case s.severity == Normal && s.run >= 10 && lot.MayReduce && !lot.Unsteady:
		s.become(Reduced)
	case s.severity == Reduced && (lot.Outcome != Accepted || lot.Unsteady):
		s.become(Normal)
	case s.severity == Tightened && n >= 5:
		s.become(Discontinued)
	case s.severity == Tightened && s.run >= 5:
		s.become(Normal)
	}
	if s.severity == Discontinued && lot.Corrected {
		s.become(Tightened)
	}
}

func (s *inspection) become(severity Severity) { *s = inspection{severity: severity} }
