package tell

import (
	"strings"
	"time"

	"sagitta/batch"
)

// Promised says what was promised for an instrument, and when it is due or how it ended: "Promised for OAK-31: check relief after winter, due 3
// December.".
func Promised(p batch.Promise, today batch.Day) string {
	return Upper(PromisedFor(p)) + ": " + PromisedWhat(p, today) + "."
}

// PromisedFor says for which instrument something was promised.
func PromisedFor(p batch.Promise) string { return "promised for " + p.Serial }

// PromisedWhat says what was promised, and when it is due or how it ended, without a full stop.
func PromisedWhat(p batch.Promise, today batch.Day) string {
	what := oneLine(p.What)
	switch {
	case !p.EndedAt.IsZero():
		return what + "; " + oneLine(p.Ended)
	case today.Until(p.Due) < 0:
		return what + ", was due " + Due(p.Due, today)
	}
	return what + ", due " + Due(p.Due, today)
}

// Due names the day on which something is due as it is seen from another: "today", "tomorrow", "3 December", "3 March 2027", "29 November, 2 days ago".
func Due(due, today batch.Day) string {
	days := today.Until(due)
	switch days {
	case 0:
		return "today"
	case 1:
		return "tomorrow"
	}
	at, err := time.Parse(time.DateOnly, string(due))
	if err != nil {
		return string(due)
	}
	words := at.Format("2 January")
	if string(due)[:4] != string(today)[:4] {
		words = at.Format("2 January 2006")
	}
	if days < 0 {
		words += ", " + Count(-days, "day") + " ago"
	}
	return words
}

// oneLine is what somebody wrote as a part of a sentence.
func oneLine(text string) string {
	return strings.TrimRight(strings.Join(strings.Fields(text), " "), ". ")
}
