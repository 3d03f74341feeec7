package tell

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/inspect"
)

// Batch is a batch in one sentence: how many necks may ship, what the others wait for, and what causes it. "22 of 24 may ship;
// 2 wait for rework; 2 failed at the first inspection, both by relief."
func Batch(c batch.Counts) string {
	of := max(c.Planned, c.Registered)
	words := stands(c, of)
	if c.Closed {
		return "Closed: " + Lower(words)
	}
	return words
}

func stands(c batch.Counts, of int) string {
	if c.Inspected == 0 && c.Undecided == 0 {
		switch {
		case c.InProgress > 0:
			return fmt.Sprintf("%d of %d %s on the bench; no verdict yet.", c.InProgress, of, Plural(c.InProgress, "is", "are"))
		case of == 0:
			return "No neck has been inspected yet."
		}
		return fmt.Sprintf("None of %d has been inspected yet.", of)
	}
	parts := []string{shipping(c, of)}
	add := func(n int, one, many string) {
		if n > 0 {
			parts = append(parts, Counted(n, one, many))
		}
	}
	add(c.Uncovered, "was judged after the outgoing audit, which does not speak for it", "were judged after the outgoing audit, which does not speak for them")
	add(c.Withheld, "is in doubt", "are in doubt")
	add(c.Held, "is held after an outgoing audit", "are held after an outgoing audit")
	for _, d := range []inspect.Disposition{inspect.Rework, inspect.Repair, inspect.Remeasure, inspect.Scrap} {
		add(c.Of(d), standing[d][0], standing[d][1])
	}
	add(of-c.Inspected-c.Undecided, "has no verdict yet", "have no verdict yet")
	add(c.Imported, "was imported, without readings", "were imported, without readings")
	if why := Cause(c.Reasons); why != "" {
		parts = append(parts, why)
	}
	return strings.Join(parts, "; ") + "."
}

// shipping says how many necks may ship, or why none may.
func shipping(c batch.Counts, of int) string {
	ready := fmt.Sprintf("%d passed", c.Ready())
	released := ""
	if c.Concession > 0 {
		ready = fmt.Sprintf("%d passed or were released by concession", c.Ready())
		released = fmt.Sprintf(", %d of them by concession", c.Concession)
	}
	switch {
	case c.Lot() == batch.OutgoingRejected:
		return fmt.Sprintf("None of %d may ship, for the lot was rejected; %s; %s", of, Rejected(c), ready)
	case c.Lot() == batch.OutgoingOpen && c.Audit.Again:
		return fmt.Sprintf("None of %d may ship, for the lot was rejected and its new outgoing audit is not signed; %s", of, ready)
	case c.Lot() == batch.OutgoingOpen:
		return fmt.Sprintf("None of %d may ship before the outgoing audit is signed; %s", of, ready)
	case c.MayShip() == 0:
		return fmt.Sprintf("None of %d may ship", of)
	}
	return fmt.Sprintf("%d of %d may ship%s", c.MayShip(), of, released)
}

// Cause says how many failed at the first inspection and by which characteristic most: "5 failed at the first inspection, 3 of them
// by relief"; "" where none failed.
func Cause(reasons []batch.Reason) string {
	rows := Commonest(reasons)
	total := 0
	for _, r := range rows {
		total += r.Necks
	}
	if total == 0 {
		return ""
	}
	top := rows[0].Necks
	var names []string // of those that lead
	for _, r := range rows {
		if r.Necks == top {
			names = append(names, inspect.Name(r.Name))
		}
	}
	by := "by " + List(names)
	switch {
	case total == 1:
	case len(names) > 1:
		by = fmt.Sprintf("%d each %s", top, by)
	case top < total:
		by = fmt.Sprintf("%d of them %s", top, by)
	case total == 2:
		by = "both " + by
	default:
		by = "all " + by
	}
	return fmt.Sprintf("%d failed at the first inspection, %s", total, by)
}

// Commonest sorts reasons, the most frequent first, like ones by their names.
func Commonest(reasons []batch.Reason) []batch.Reason {
	return slices.SortedFunc(slices.Values(reasons), func(a, b batch.Reason) int {
		return cmp.Or(cmp.Compare(b.Necks, a.Necks), cmp.Compare(a.Name, b.Name))
	})
}

// Disposition says what a disposition means for a neck.
func Disposition(d inspect.Disposition) string {
	switch d {
	case inspect.Pass:
		return "conforms to every limit"
	case inspect.Concession:
		return "released though it does not conform, by a named person with a reason"
	case inspect.Rework:
		return "goes back to the bench to be set up again"
	case inspect.Repair:
		return "goes to an experienced repairer"
	case inspect.Scrap:
		return "not to be used"
	case inspect.Remeasure:
		return "nothing fails, but something is undecided or not measured: measure again"
	}
	return ""
}

// Dispositions are all of them, in the order of how far a neck is from shipping.
var Dispositions = []inspect.Disposition{inspect.Pass, inspect.Concession, inspect.Remeasure, inspect.Rework, inspect.Repair, inspect.Scrap}

// OneLimit says what a limit of the specification bounds together.
func OneLimit(names []string) string {
	if most := 6; len(names) > most {
		return fmt.Sprintf("It is one limit of the specification for %d characteristics, from %s to %s; all are moved together.", len(names), names[0], names[len(names)-1])
	}
	return fmt.Sprintf("It is one limit of the specification for %s; they are moved together.", List(names))
}

// OtherLimit compares how many necks pass at the first inspection as specified with how many would with another limit.
func OtherLimit(now, then, of int) string {
	switch more := then - now; {
	case more > 0:
		return fmt.Sprintf("With these limits %d more of %s would have passed at the first inspection: %d instead of %d.", more, Count(of, "neck"), then, now)
	case more < 0:
		return fmt.Sprintf("With these limits %d fewer of %s would have passed at the first inspection: %d instead of %d.", -more, Count(of, "neck"), then, now)
	}
	return fmt.Sprintf("With these limits as many necks pass at the first inspection as now: %d of %d.", then, of)
}

// CheckCharacter names how serial numbers end in a check character.
func CheckCharacter(c batch.CheckSystem) string {
	switch c {
	case batch.Mod37x36:
		return "ISO/IEC 7064 MOD 37,36, a digit or capital"
	case batch.Mod11x10:
		return "ISO/IEC 7064 MOD 11,10, a digit of digits alone"
	}
	return "none"
}
