package show

import (
	"fmt"
	"net/url"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/station/bench"
)

// WaitGroup is what waits for one reason.
type WaitGroup struct {
	State string // as stateShape draws it
	Title string
	Necks bool // else gauges
	Waits []Wait
	All   string // page that lists all of them, "" where all are here
}

// Wait is a neck or a gauge that waits.
type Wait struct {
	Name  string // serial number, or the gauge's name
	Path  string // its page
	Here  bool   // a neck of the batch on the bench: its serial number brings it there
	Batch string // the neck's
	Words string
}

// Waiting says what waits to be dealt with, in the order in which it is: gauges that may not judge, necks that are called back, held,
// parked. here is the batch on the bench, nil without one; scope picks the same necks in a path, "" for all.
func Waiting(w *bench.Waiting, here *batch.Batch, scope string, now time.Time) []WaitGroup {
	var groups []WaitGroup
	add := func(g WaitGroup) {
		if len(g.Waits) > 0 {
			groups = append(groups, g)
		}
	}
	neck := func(serial, number, words string) Wait {
		return Wait{Name: serial, Path: "/necks/" + url.PathEscape(serial), Here: here != nil && here.Number == number, Batch: number, Words: words}
	}
	locked := WaitGroup{State: "locked out", Title: tell.Counted(len(w.Locked), "gauge may", "gauges may") + " not judge"}
	for _, g := range w.Locked {
		locked.Waits = append(locked.Waits, Wait{Name: g.Name, Path: "/gauges/" + url.PathEscape(g.ID), Words: g.LockedWhy + ". " + g.ToDo})
	}
	add(locked)
	doubt := WaitGroup{State: "in doubt", Title: fmt.Sprintf("Called back: %s in doubt", tell.Counted(w.InDoubt.Total, "neck is", "necks are")), Necks: true}
	for _, r := range w.InDoubt.Necks {
		doubt.Waits = append(doubt.Waits, neck(r.Serial, r.BatchNumber, "what is in doubt is measured again, the whole neck where it has no readings, or it is cleared on its page"))
	}
	if w.InDoubt.Total > len(w.InDoubt.Necks) {
		doubt.All = "/callback" + scope
	}
	add(doubt)
	held := WaitGroup{State: "held", Title: "Held by an outgoing audit: " + tell.Counted(w.Held.Total, "neck", "necks"), Necks: true}
	for _, r := range w.Held.Necks {
		held.Waits = append(held.Waits, neck(r.Serial, r.BatchNumber, "it is inspected again"))
	}
	add(held)
	parked := WaitGroup{State: "parked", Title: "Parked: " + tell.Counted(len(w.Parked), "neck", "necks"), Necks: true}
	for _, p := range w.Parked {
		parked.Waits = append(parked.Waits, neck(p.Serial, p.BatchNumber,
			fmt.Sprintf("attempt %d, %d of %d points, %s, %s", p.Attempt, p.Taken, p.Of, p.Reason, Lasting(now.Sub(p.Since)))))
	}
	add(parked)
	return groups
}
