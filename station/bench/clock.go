package bench

import (
	"context"
	"fmt"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
)

// setBack is how far the clock may go back, all corrections together, before the ages of the gauges' checks count as
// unknown. A clock that is kept by the network is corrected by less.
const setBack = time.Minute

// startClock takes the record's newest entry as the latest time known.
func (b *Bench) startClock(ctx context.Context) error {
	last, err := b.rec.LastSeen(ctx)
	if err != nil {
		return err
	}
	b.latest = last
	return b.watchClock(ctx)
}

// watchClock looks whether the clock was set back. A check's age is the time of day now less the time of day then, so
// that a clock set back would let a check hold for longer than it may: every gauge has to be checked again.
func (b *Bench) watchClock(ctx context.Context) error {
	now := b.now().Round(0) // the time of day, whatever the time since the program's start
	before := b.latest
	if b.latest.Before(now) {
		b.latest = now
	}
	if before.Sub(now) <= setBack {
		return nil
	}
	b.latest = now
	words := fmt.Sprintf("the clock was set back from %s to %s", before.Local().Format("2006-01-02 15:04"), now.Local().Format("2006-01-02 15:04"))
	b.say(true, tell.Upper(words)+", so that nobody knows how old the gauges' checks are: check each gauge again. What was taken so far stays in the record.")
	for i := range b.gauges {
		e := batch.GaugeEvent{What: batch.CheckNotWatched, Detail: "has a check of unknown age, because " + words + ","}
		if err := b.happened(ctx, &b.gauges[i], e); err != nil {
			return err
		}
	}
	return nil
}

// HourOf is the beginning of the hour by the shop's clock, whose zone may lie half an hour off.
func HourOf(now time.Time) time.Time {
	here := now.Local()
	return time.Date(here.Year(), here.Month(), here.Day(), here.Hour(), 0, 0, 0, here.Location())
}
