package tell

import (
	"fmt"
	"strings"
	"time"

	"sagitta/batch"
)

// Day is a date, local.
func Day(t time.Time) string { return t.Local().Format(time.DateOnly) }

// Hold says why a neck is held by a finding of an outgoing audit and what to do, without a full stop.
func Hold(f batch.OutgoingFinding) string {
	words := "found nonconforming in the outgoing audit of " + Day(f.At)
	if f.Note != "" {
		words += ", " + strings.TrimRight(f.Note, ". ")
	}
	return words + "; inspect it again"
}

// Outgoing says in a sentence how an outgoing audit stands.
func Outgoing(a batch.OutgoingAudit) string {
	lot := fmt.Sprintf("The lot of %s", Count(a.LotSize, "neck"))
	found := fmt.Sprintf("%d of %s looked at nonconforming", a.Nonconforming, Count(a.Found, "neck"))
	switch a.State {
	case batch.OutgoingAccepted:
		return fmt.Sprintf("%s is accepted: %s, at most %d allowed.", lot, found, a.Plan.Accept)
	case batch.OutgoingBetween:
		return fmt.Sprintf("%s is accepted: %s, more than %d and fewer than %d; the next lot is inspected normally.", lot, found, a.Plan.Accept, a.Plan.Reject)
	case batch.OutgoingRejected:
		words := fmt.Sprintf("%s is rejected: %s, %d or more reject it.", lot, found, a.Plan.Reject)
		if a.Release != nil {
			words += " " + Upper(released(*a.Release)) + "."
		}
		return words
	case batch.OutgoingGivenUp:
		return fmt.Sprintf("Given up: %s.", strings.TrimSuffix(a.Note, "."))
	}
	return fmt.Sprintf("%d of %s looked at, %d nonconforming so far.", a.Found, Count(a.Size(), "neck"), a.Nonconforming)
}

// rejectedToDo is what to do with a rejected lot.
const rejectedToDo = "Hold all of it, inspect every neck of it again and rework what does not conform, or have a quality manager state what was done with it; then draw another sample. The local quality rules decide."

// Rejected says how far a rejected lot is on its way to another draw, without a full stop.
func Rejected(c batch.Counts) string {
	switch {
	case c.Audit.Release != nil:
		return released(*c.Audit.Release)
	case c.Left == 0:
		return "all of it is scrap"
	case c.LeftAgain == 0:
		return fmt.Sprintf("none of %d inspected again since", c.Left)
	case c.LeftAgain < c.Left:
		return fmt.Sprintf("%d of %d inspected again since", c.LeftAgain, c.Left)
	}
	return fmt.Sprintf("all %d inspected again since, ready for another draw", c.Left)
}

func released(r batch.LotRelease) string {
	return fmt.Sprintf("released for another draw by %s: %s", r.By, strings.TrimRight(r.Done, ". "))
}

// toRedraw is what a rejected lot asks for before it ships.
func toRedraw(c batch.Counts) string {
	if c.MayDraw() {
		return "Draw another sample: nothing of it ships before that audit accepts it."
	}
	return rejectedToDo
}

// OutgoingToDo is what an outgoing audit asks for, "" for nothing; c are its batch's counts.
func OutgoingToDo(a batch.OutgoingAudit, c batch.Counts) string {
	switch {
	case a.State == batch.OutgoingRejected && (c.Audit == nil || c.Audit.ID != a.ID):
		return "" // the lot was drawn from again
	case a.State == batch.OutgoingRejected:
		return toRedraw(c)
	case a.State == batch.OutgoingOpen && a.Found == a.Size():
		ends := "accepts"
		if a.Judge() == batch.OutgoingRejected {
			ends = "rejects"
		}
		return "Every neck of the sample has been looked at: sign the result below. It " + ends + " the lot."
	case a.State == batch.OutgoingOpen && a.Nonconforming >= a.Plan.Reject:
		return "The lot will be rejected; look at the rest of the sample all the same, it says how bad the lot is. Hold the lot meanwhile."
	case a.State != batch.OutgoingGivenUp && a.Nonconforming > 0:
		return Plural(a.Nonconforming, "The neck found nonconforming is held and inspected again before it ships.", "The necks found nonconforming are held and inspected again before they ship.")
	}
	return ""
}

// Lot says what the outgoing audit that a batch's lot stands under means for shipping, "" where there is none.
func Lot(c batch.Counts) string {
	if c.Audit == nil {
		return ""
	}
	a := *c.Audit
	lot := Count(a.LotSize, "neck")
	words := ""
	switch a.State {
	case batch.OutgoingOpen:
		words = "The outgoing audit is open: " + strings.TrimSuffix(Lower(Outgoing(a)), ".") + "; ship nothing before it is signed."
	case batch.OutgoingRejected:
		words = fmt.Sprintf("The outgoing audit of %s rejected the lot of %s: nothing of it may ship. %s. %s", Day(a.EndedAt), lot, Upper(Rejected(c)), toRedraw(c))
	case batch.OutgoingAccepted, batch.OutgoingBetween:
		words = strings.TrimSpace(fmt.Sprintf("The outgoing audit of %s accepted the lot of %s. %s", Day(a.EndedAt), lot, OutgoingToDo(a, c)))
	}
	if c.Uncovered > 0 {
		words += fmt.Sprintf(" %s judged since and not covered by it.", Counted(c.Uncovered, "neck that may ship was", "necks that may ship were"))
	}
	return words
}
