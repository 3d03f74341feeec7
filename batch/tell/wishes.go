package tell

import (
	"fmt"
	"strings"

	"sagitta/batch"
)

// WishSource says where the limits of a set-up are from; moved says that the player's wishes moved some, again that the others are those of the
// visit before.
func WishSource(moved, again bool) string {
	switch {
	case moved && again:
		return "What is wished has the trade's ranges (common practice, no source), all else is as at the last visit; to be changed below."
	case moved:
		return "The trade's ranges for what is wished (common practice, no source), to be changed below."
	case again:
		return "As at the last visit, to be changed below."
	}
	return "Usual for the kind (common practice, no source), to be changed below."
}

// HardlyTold says of wishes what a tool that is coarse for their limits can tell.
func HardlyTold(of []string) string {
	return "Judged, but your tool is coarse for it: " + strings.Join(of, ", ") + ". What is well outside is found; near a limit, or where the limits are closer together than the tool tells, the result says how probable it is."
}

// OnFile says that an instrument that is entered as new was here before.
func OnFile(last batch.Visit) string {
	words := fmt.Sprintf("%s is on file: it was here last in visit %d, %s", last.Serial, last.Number, Day(last.OpenedAt))
	if last.Number == 0 {
		words = fmt.Sprintf("%s is on file: it was inspected when it was built, %s", last.Serial, Day(last.OpenedAt))
	}
	return words + ". Begin a new visit of it, which has its wishes and strings; or give this one another number"
}

// BenchTaken says that something else lies on the bench.
func BenchTaken(serial string) string {
	if serial == "" {
		return "The bench is taken. When it is free, take this one to it here."
	}
	return "On the bench lies " + serial + ". Finish it or park it there; then take this one to the bench here."
}

// NextVisit says what the wishes of a visit begin with.
func NextVisit(last batch.Visit) string {
	words := "Its wishes begin as they were"
	if last.Number > 0 {
		words += fmt.Sprintf(" at visit %d, %s", last.Number, Day(last.OpenedAt))
	} else {
		words += " when it was built, " + Day(last.OpenedAt)
	}
	if last.Wishes != "" {
		words += ": " + strings.TrimRight(last.Wishes, ". ")
	}
	return words + "."
}

// VisitsSoFar says how often an instrument was here, and whether it is now.
func VisitsSoFar(visits []batch.Visit) string {
	count, open := 0, ""
	for _, v := range visits {
		if v.Number == 0 {
			continue
		}
		if count++; v.EndedAt.IsZero() {
			open = fmt.Sprintf("visit %d, since %s", v.Number, Day(v.OpenedAt))
		}
	}
	switch {
	case open != "":
		return "It is here: " + open + "."
	case count == 0:
		return "It has not been here yet."
	}
	return "It was here " + Counted(count, "time", "times") + ", last in visit " + fmt.Sprint(count) + "."
}

// InstrumentsHere counts instruments, and those that are in the shop.
func InstrumentsHere(rows []batch.InstrumentRow) string {
	here := 0
	for _, r := range rows {
		if r.Newest.Number > 0 && r.Newest.EndedAt.IsZero() {
			here++
		}
	}
	return Counted(len(rows), "instrument", "instruments") + "; " + Counted(here, "is", "are") + " here now."
}
