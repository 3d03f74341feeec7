package app

import (
	"context"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/station/bench"
	"sagitta/station/copies"
	"sagitta/station/web/site"
)

// careEvery is how soon the bench shows that the record is lost, or that something is due for its copies.
const careEvery = time.Second

// careFor shows the bench how its record and the copies are, until ctx ends.
func (a *App) careFor(ctx context.Context) {
	every := time.NewTicker(careEvery)
	defer every.Stop()
	for {
		a.Bench.Concerned(a.concerns(ctx, time.Now()))
		select {
		case <-every.C:
		case <-ctx.Done():
			return
		}
	}
}

// concerns lists what is the matter with the record and its copies, the gravest first, and then what was promised and is due.
func (a *App) concerns(ctx context.Context, now time.Time) []bench.Concern {
	var all []bench.Concern
	if err := a.Record.Lost(); err != nil {
		all = append(all, bench.Concern{What: "record", Words: err.Error(), Lost: true})
	}
	for _, d := range a.keeper.Due(now, care{a}.Free()) {
		all = append(all, bench.Concern{What: d.What, Words: d.Says, ToDo: d.Do, Since: d.Since, Grave: d.Grave})
	}
	for _, d := range a.signer.Due() {
		all = append(all, bench.Concern{What: "anchor", Words: d.Says, ToDo: d.Do, Since: d.Since})
	}
	return append(all, a.promised(ctx, batch.DayOf(now))...)
}

// promised lists what was promised for instruments and is due. Of a record that cannot be read that alone is said.
func (a *App) promised(ctx context.Context, today batch.Day) (all []bench.Concern) {
	due, err := a.Record.PromisesDue(ctx, today)
	if err != nil {
		return nil
	}
	for _, p := range due {
		all = append(all, bench.Concern{What: tell.PromisedFor(p), Words: tell.PromisedWhat(p, today), ToDo: "Say on its page whether it is kept.", Page: site.InstrumentPath(p.Serial) + "#promises"})
	}
	return all
}

// care tells the page of the record how it is cared for.
type care struct{ *App }

func (c care) State() copies.State { return c.keeper.State() }

// Free is how many bytes are left on the record's disk, negative where that is not known.
func (c care) Free() int64 {
	free, err := c.free(c.dir)
	if err != nil {
		return -1
	}
	return free
}

// Saw notes that somebody looked at what the last verification found.
func (c care) Saw(ctx context.Context, by, note string) error { return c.keeper.Saw(ctx, by, note) }
