package trend

import (
	"fmt"
	"time"

	"sagitta/batch"
)

// monthWords is a month for people: "October 2026".
func monthWords(m batch.Month) string { return m.Start().Format("January 2006") }

// monthShort is a month for the axis of a chart: "Oct 2026".
func monthShort(m batch.Month) string { return m.Start().Format("Jan 2006") }

// parseMonth reads a month of an address; anything else is no month.
func parseMonth(text string) batch.Month {
	t, err := time.Parse("2006-01", text)
	if err != nil {
		return 0
	}
	return batch.MonthOf(t)
}

// monthsAway is the month so many months later.
func monthsAway(m batch.Month, months int) batch.Month {
	return batch.MonthOf(m.Start().AddDate(0, months, 0))
}

// monthsWords says which months are meant: "in October 2026", "from May to October 2026", "" for all.
func monthsWords(from, to batch.Month) string {
	switch {
	case from == 0 && to == 0:
		return ""
	case from == to:
		return "in " + monthWords(from)
	case from == 0:
		return "until " + monthWords(to)
	case to == 0:
		return "since " + monthWords(from)
	case from/100 == to/100:
		return fmt.Sprintf("from %s to %s", from.Start().Month(), monthWords(to))
	}
	return fmt.Sprintf("from %s to %s", monthWords(from), monthWords(to))
}
