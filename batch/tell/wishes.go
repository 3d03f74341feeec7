package tell

import (
	"fmt"
	"math"
	"strings"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/inspect/unit"
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

// HardlyTold says what a tool can tell of wishes whose limits it is coarse for, judged by guarded acceptance; u is its standard uncertainty, mm.
func HardlyTold(tool string, u float64, of []inspect.Limit, in unit.Unit) string {
	guard := inspect.Decision{}.Guard() * u
	var shown, never []string
	for _, l := range of {
		lower, upper := math.Ceil((*l.LowerMM+guard)*100-1e-6)/100, math.Floor((*l.UpperMM-guard)*100+1e-6)/100
		if lower > upper {
			never = append(never, LimitName(l))
			continue
		}
		shown = append(shown, LimitName(l)+", from "+Nominal(lower, in)+" to "+Nominal(upper, in))
	}
	words := fmt.Sprintf("What the %s can tell, ±%s: ", tool, Nominal(2*u, in))
	if len(shown) > 0 {
		words += "as wished is what it reads as " + strings.Join(shown, "; ") + ". "
	}
	if len(never) > 0 {
		words += "one reading cannot show that " + List(never) + either(len(never) == 1, " is", " are") + " as wished. "
	}
	return words + "Outside the limits it is not as wished. Between the two the " + tool + " cannot tell: it is read up to three times, the mean tells more, and then you decide."
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
