package trend

import (
	"fmt"

	"sagitta/batch"
	"sagitta/station/web/show"
)

// total is first inspections added up.
type total struct {
	batch.Share
	near    int
	reasons map[string]int
}

func (t *total) add(r batch.TrendRow) {
	t.Inspected, t.FirstPass, t.FinalPass = t.Inspected+r.Inspected, t.FirstPass+r.FirstPass, t.FinalPass+r.FinalPass
	t.near += r.Near
	if t.reasons == nil {
		t.reasons = map[string]int{}
	}
	for _, reason := range r.Reasons {
		t.reasons[reason.Name] += reason.Necks
	}
}

// list are the reasons of a total.
func (t *total) list() []batch.Reason {
	all := make([]batch.Reason, 0, len(t.reasons))
	for name, n := range t.reasons {
		all = append(all, batch.Reason{Name: name, Necks: n})
	}
	return all
}

// nearShare is the share of verdicts near a limit, percent.
func (t *total) nearShare() float64 {
	if t.Inspected == 0 {
		return 0
	}
	return 100 * float64(t.near) / float64(t.Inspected)
}

// commonest names the commonest reason with its number, "" without rejections.
func (t *total) commonest() string {
	if rows := show.ParetoOf(t.list(), nil); len(rows) > 0 {
		return fmt.Sprintf("%s, %d", rows[0].Name, rows[0].Necks)
	}
	return ""
}

// monthTotal is the first inspections of one month.
type monthTotal struct {
	month batch.Month
	total
}

// totalsByMonth adds rows up by month, without gaps from the first month to the last.
func totalsByMonth(rows []batch.TrendRow) []monthTotal {
	var months []monthTotal
	if len(rows) == 0 {
		return nil
	}
	first, last := rows[0].Month, rows[0].Month
	for _, r := range rows {
		first, last = min(first, r.Month), max(last, r.Month)
	}
	place := map[batch.Month]int{}
	for m := first; m <= last; m = monthsAway(m, 1) {
		place[m] = len(months)
		months = append(months, monthTotal{month: m})
	}
	for _, r := range rows {
		months[place[r.Month]].add(r)
	}
	return months
}
