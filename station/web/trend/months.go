package trend

import (
	"time"

	"sagitta/batch"
)

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
