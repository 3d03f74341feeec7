package tell

import (
	"fmt"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// Work says in one sentence what was judged in a span of time.
func Work(w batch.Work) string {
	if w.Judged == 0 {
		return "No neck was judged."
	}
	s := Counted(w.Judged, "inspection", "inspections") + " judged"
	if w.First > 0 {
		s += fmt.Sprintf("; %d of %s passed at the first inspection", w.FirstPass, Counted(w.First, "neck", "necks"))
	} else {
		s += ", none of them a neck's first"
	}
	return s + "."
}

// WorkEnds lists how the judged inspections ended: "12 pass, 2 rework".
func WorkEnds(w batch.Work) string {
	s := ""
	for _, d := range []inspect.Disposition{inspect.Pass, inspect.Concession, inspect.Rework, inspect.Repair, inspect.Scrap} {
		if n := w.Dispositions[d]; n > 0 {
			s += fmt.Sprintf(", %d %s", n, d)
		}
	}
	if s == "" {
		return ""
	}
	return s[2:]
}

// Takt writes how long an inspection takes, in minutes and seconds; "" where nothing tells.
func Takt(d time.Duration) string {
	if d < time.Second {
		return ""
	}
	d = d.Round(time.Second)
	return fmt.Sprintf("%d:%02d min", int(d.Minutes()), int(d.Seconds())%60)
}

// YieldAgainstPlan is a batch's first-pass yield and what the shop plans with; whether they differ by more than chance is an alarm's to
// say. "" before the first inspection.
func YieldAgainstPlan(c batch.Counts, plan *inspect.Plan) string {
	y, ok := c.FirstPassYield()
	if !ok {
		return ""
	}
	words := fmt.Sprintf("%.0f %% passed at the first inspection", 100*y)
	if plan != nil && plan.FirstPassPercent != nil {
		words += fmt.Sprintf("; the plan is %g %%", *plan.FirstPassPercent)
	}
	return words + "."
}
