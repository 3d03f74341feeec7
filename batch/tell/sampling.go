package tell

import (
	"fmt"
	"strings"

	"sagitta/batch/sampling"
)

// Change says why the severity of a lot's inspection changes.
func Change(c sampling.Change) string {
	last := c.Lots[len(c.Lots)-1]
	switch c.Reason {
	case sampling.TwoRejected:
		return fmt.Sprintf("Lots %s were rejected, two of five in a row or fewer: inspection becomes tightened.", List(c.Lots))
	case sampling.TenAccepted:
		return fmt.Sprintf("Ten lots in a row or more up to %s were accepted and the other conditions hold: inspection becomes reduced.", last)
	case sampling.RejectedReduced:
		return fmt.Sprintf("Lot %s was rejected: inspection becomes normal.", last)
	case sampling.AboveAcceptance:
		return fmt.Sprintf("Lot %s was accepted above the acceptance number: inspection becomes normal.", last)
	case sampling.UnsteadyLot:
		return fmt.Sprintf("Production was not steady at lot %s: inspection becomes normal.", last)
	case sampling.FiveRejected:
		return fmt.Sprintf("Lots %s were rejected under tightened inspection, five in all: inspection is discontinued.", List(c.Lots))
	case sampling.FiveAccepted:
		return fmt.Sprintf("Five lots in a row up to %s were accepted: inspection becomes normal.", last)
	case sampling.CauseCorrected:
		return fmt.Sprintf("The cause was put right after lot %s: inspection is resumed, tightened.", last)
	}
	return string(c.Reason)
}

// Severity says how the next lot is inspected: "normal inspection", "no inspection by sampling".
func Severity(s sampling.Severity) string {
	if s == sampling.Discontinued {
		return "no inspection by sampling"
	}
	return string(s) + " inspection"
}

// Standing says why the next lot is inspected as it is, and what would change that.
func Standing(st sampling.Standing) string {
	why := "Inspection began normal."
	if n := len(st.Changes); n > 0 {
		why = Change(st.Changes[n-1])
	}
	return why + " " + ahead(st)
}

// ahead says what would change the severity.
func ahead(st sampling.Standing) string {
	are := Plural(st.Run, "is", "are")
	switch {
	case st.Next == sampling.Discontinued:
		return "No lot is accepted by sampling until the cause is put right; inspection is then resumed, tightened."
	case st.Next == sampling.Reduced:
		return "It stays reduced until a lot is rejected or accepted above the acceptance number, or production is not steady."
	case st.Next == sampling.Tightened:
		return fmt.Sprintf("Of five lots accepted in a row, which make it normal, there %s %d; of five rejected, which end inspection by sampling, %d.", are, st.Run, st.Rejected)
	case st.Left > 0:
		return fmt.Sprintf("Lot %s was rejected: another rejected one among the next %d makes inspection tightened.", st.LastRejected, st.Left)
	}
	return fmt.Sprintf("Two lots rejected of five in a row make it tightened; ten accepted in a row, of which there %s %d, may make it reduced where the other conditions hold.", are, st.Run)
}

// Plan says what a plan at an AQL asks for of a lot, and when it accepts; noun is what is looked at, one of it.
func Plan(p sampling.Plan, aql float64, lot int, noun string) string {
	sample := fmt.Sprintf("Look at %d of %s", p.N, Count(lot, noun))
	if p.CheckAll {
		sample = fmt.Sprintf("Look at all %s: the plan's sample of %d is not smaller than the lot", Count(lot, noun), p.N)
	}
	found := func(n int) string { return Count(n, "nonconforming "+noun) }
	none := "no nonconforming " + noun
	if aql > sampling.MostPercent {
		found = func(n int) string { return Counted(n, "nonconformity", "nonconformities") }
		none = "no nonconformity"
	}
	most := fmt.Sprintf("at most %s", found(p.Accept))
	if p.Accept == 0 {
		most = none
	}
	words := fmt.Sprintf("%s. Accept the lot with %s, reject it from %d on.", sample, most, p.Reject)
	if p.Reject > p.Accept+1 {
		words += " Between the two it is accepted, and the next lot is inspected normally."
	}
	return words
}

// CodeLetter says which row of the tables a plan is from.
func CodeLetter(p sampling.Plan, aql float64) string {
	if p.Letter != p.Code {
		return fmt.Sprintf("Code letter %s has no plan at AQL %v: the table's arrow leads to letter %s and its sample size.", p.Code, aql, p.Letter)
	}
	return fmt.Sprintf("Code letter %s.", p.Code)
}

// History words the changes after one lot of a history.
func History(st sampling.Standing, lot int) string {
	var why []string
	for _, c := range st.Changes {
		if c.After == lot {
			why = append(why, Change(c))
		}
	}
	return strings.Join(why, " ")
}
