package bench

import (
	"fmt"

	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// trouble is one line of what is not well: a gauge, or an alarm.
type trouble struct {
	State, Words, ToDo string
	Gauge              string // its ID
	Alarm              string // its ID
	Due                bool   // a check would let the gauge in again
}

// troubles fills the strip's line of gauges and alarms: gauges first, for without them nothing can be measured.
func (v *benchView) troubles() {
	for _, g := range v.Gauges {
		if site.WellGauge(g) {
			v.Well = append(v.Well, g.Words)
			continue
		}
		words := g.Words
		if since := site.TroubleSince(g); !g.Locked && !since.IsZero() {
			words += ", since " + show.When(since, v.now)
		}
		v.Troubles = append(v.Troubles, trouble{State: g.State, Words: words, ToDo: g.ToDo, Gauge: g.ID, Due: g.Due})
	}
	for _, a := range v.Alarms {
		v.Troubles = append(v.Troubles, trouble{State: "alarm", Words: a.Words, ToDo: a.LookAt, Alarm: a.ID})
	}
	if more := len(v.Troubles) - 1; more > 0 {
		v.MoreTroubles = fmt.Sprintf("and %d more", more)
	}
}
