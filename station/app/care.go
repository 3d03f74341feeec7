package app

import (
	"context"
	"time"

	"sagitta/station/bench"
)

// careEvery is how soon the bench shows that the record is lost, or that something is due for its copies.
const careEvery = time.Second

// careFor shows the bench how its record and the copies are, until ctx ends.
func (a *App) careFor(ctx context.Context) {
	every := time.NewTicker(careEvery)
	defer every.Stop()
	for {
		a.Bench.Concerned(a.concerns(time.Now()))
		select {
		case <-every.C:
		case <-ctx.Done():
			return
		}
	}
}

// concerns lists what is the matter with the record and its copies, the gravest first.
func (a *App) concerns(now time.Time) []bench.Concern {
	var all []bench.Concern
	if err := a.Record.Lost(); err != nil {
		all = append(all, bench.Concern{What: "record", Words: err.Error(), Lost: true})
	}
	free, err := a.free(a.dir)
	if err != nil {
		free = -1
	}
	for _, d := range a.keeper.Due(now, free) {
		all = append(all, bench.Concern{What: d.What, Words: d.Says, ToDo: d.Do, Since: d.Since})
	}
	for _, d := range a.signer.Due() {
		all = append(all, bench.Concern{What: "anchor", Words: d.Says, ToDo: d.Do, Since: d.Since})
	}
	return all
}
