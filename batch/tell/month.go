package tell

import (
	"fmt"

	"sagitta/batch"
	"sagitta/batch/spc"
)

// Month names a month: "October 2026".
func Month(m batch.Month) string { return m.Start().Format("January 2006") }

// Months says which months are meant: "in October 2026", "from May to October 2026", "" for all.
func Months(from, to batch.Month) string {
	switch {
	case from == 0 && to == 0:
		return ""
	case from == to:
		return "in " + Month(from)
	case from == 0:
		return "until " + Month(to)
	case to == 0:
		return "since " + Month(from)
	case from/100 == to/100:
		return fmt.Sprintf("from %s to %s", from.Start().Month(), Month(to))
	}
	return fmt.Sprintf("from %s to %s", Month(from), Month(to))
}

// MonthSignals words the months that lie beyond the limits of the p chart of first inspections that failed, by month, and what to look at.
func MonthSignals(c spc.Chart, months []batch.Month) (all []string) {
	for i, p := range c.Points {
		if p.Signals == 0 {
			continue
		}
		worse, limit, side := p.Value > p.Center, p.Upper, "above"
		if !worse {
			limit, side = p.Lower, "below"
		}
		all = append(all, fmt.Sprintf("%s: %.1f %% failed at the first inspection, %s the limit of %.1f %%. %s", Month(months[i]), 100*p.Value, side, 100*limit,
			either(worse, "Look what was different in this month: model, material, gauge, people.", "Find out why it went so well, and keep it.")))
	}
	return all
}

// MonthsBeyond says how many months lie beyond the limits of such a chart, and how many would by chance alone.
func MonthsBeyond(c spc.Chart, tests spc.Tests) string {
	n := len(c.Points)
	if n < 2 {
		return ""
	}
	outside := 0
	for _, p := range c.Points {
		if p.Signals != 0 {
			outside++
		}
	}
	words := fmt.Sprintf("%s of %s %s beyond the limits; chance alone would give %s.", either(outside == 0, "None", fmt.Sprint(outside)), Count(n, "month"), Plural(max(1, outside), "lies", "lie"), ByChance(c.Chance(tests)))
	if 2*outside > n {
		words += " From so many necks a month even small differences are real: ask how large they are."
	}
	return words
}

// either chooses between two words.
func either(first bool, a, b string) string {
	if first {
		return a
	}
	return b
}
