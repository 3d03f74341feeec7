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
	Page               string // where it is done, "" for none
	Due                bool   // a check would let the gauge in again
}

// troubles fills the strip's line: a record that is lost first, for nothing is recorded then, gauges, for without them nothing can be
// measured, alarms, and what is due for the record's copies.
func (v *benchView) troubles() {
	v.concerns(true)
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
	v.concerns(false)
	if more := len(v.Troubles) - 1; more > 0 {
		v.MoreTroubles = fmt.Sprintf("and %d more", more)
	}
}

// concerns adds what is the matter with the record: that it is lost, or all else.
func (v *benchView) concerns(lost bool) {
	for _, c := range v.Concerns {
		if c.Lost != lost {
			continue
		}
		words := site.ConcernWords(c)
		if !c.Since.IsZero() {
			words += ", since " + show.When(c.Since, v.now)
		}
		v.Troubles = append(v.Troubles, trouble{State: site.ConcernState(c), Words: words, ToDo: c.ToDo, Page: c.Page})
	}
}
