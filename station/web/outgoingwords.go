package web

import (
	"fmt"
	"strings"

	"sagitta/batch"
	"sagitta/station/web/show"
)

// outgoingResult says in a sentence how an audit stands.
func outgoingResult(a batch.OutgoingAudit) string {
	found := fmt.Sprintf("%d of %d necks looked at nonconforming", a.Nonconforming, a.Found)
	switch a.State {
	case batch.OutgoingAccepted:
		return fmt.Sprintf("The lot of %d necks is accepted: %s, at most %d allowed.", a.LotSize, found, a.Plan.Accept)
	case batch.OutgoingBetween:
		return fmt.Sprintf("The lot of %d necks is accepted: %s, more than %d and fewer than %d; the next lot is inspected normally.", a.LotSize, found, a.Plan.Accept, a.Plan.Reject)
	case batch.OutgoingRejected:
		return fmt.Sprintf("The lot of %d necks is rejected: %s, %d or more reject it.", a.LotSize, found, a.Plan.Reject)
	case batch.OutgoingGivenUp:
		return fmt.Sprintf("Given up: %s.", strings.TrimSuffix(a.Note, "."))
	}
	return fmt.Sprintf("%d of %d necks looked at, %d nonconforming so far.", a.Found, a.Size(), a.Nonconforming)
}

// rejectedToDo is what to do with a rejected lot.
const rejectedToDo = "Hold all of it, check every neck of it and rework what does not conform, then audit it again; the local quality rules decide."

// outgoingToDo is what an audit's outcome asks for, "" for nothing.
func outgoingToDo(a batch.OutgoingAudit) string {
	switch {
	case a.State == batch.OutgoingRejected:
		return rejectedToDo
	case a.State == batch.OutgoingOpen && a.Found == a.Size():
		return "Every neck of the sample has been looked at: sign the result below. It " + show.Pick(a.Judge() == batch.OutgoingRejected, "rejects", "accepts") + " the lot."
	case a.State == batch.OutgoingOpen && a.Nonconforming >= a.Plan.Reject:
		return "The lot will be rejected; look at the rest of the sample all the same, it says how bad the lot is. Hold the lot meanwhile."
	case a.State != batch.OutgoingGivenUp && a.Nonconforming > 0:
		return fmt.Sprintf("%s nonconforming %s held and inspected again before %s.", show.Pick(a.Nonconforming == 1, "The neck found", "The necks found"),
			show.Pick(a.Nonconforming == 1, "is", "are"), show.Pick(a.Nonconforming == 1, "it ships", "they ship"))
	}
	return ""
}

// outgoingShipping says what an audit means for shipping its batch.
func outgoingShipping(a batch.OutgoingAudit) string {
	switch a.State {
	case batch.OutgoingOpen:
		return "The outgoing audit is open: " + strings.TrimSuffix(show.LowerFirst(outgoingResult(a)), ".") + "; ship nothing before it is signed."
	case batch.OutgoingRejected:
		return fmt.Sprintf("The outgoing audit of %s rejected the lot of %d necks: nothing of it may ship. %s", show.Day(a.EndedAt), a.LotSize, rejectedToDo)
	case batch.OutgoingAccepted, batch.OutgoingBetween:
		words := fmt.Sprintf("The outgoing audit of %s accepted the lot of %d necks.", show.Day(a.EndedAt), a.LotSize)
		if todo := outgoingToDo(a); todo != "" {
			words += " " + todo
		}
		return words
	}
	return ""
}

// outgoingShape is the word whose shape stands before an audit's state.
func outgoingShape(state batch.OutgoingState) string {
	switch state {
	case batch.OutgoingAccepted, batch.OutgoingBetween:
		return "pass"
	case batch.OutgoingRejected:
		return "rework"
	case batch.OutgoingOpen:
		return "undecided"
	}
	return "not measured"
}
