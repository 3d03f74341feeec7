package bench

import (
	"context"

	"sagitta/batch"
)

// ReloadAlarms reads which alarms stand; they are shown until they are acknowledged.
func (b *Bench) ReloadAlarms(ctx context.Context) error {
	return b.do(func() error {
		all, err := b.rec.OpenAlarms(ctx)
		if err == nil {
			b.alarms = all
		}
		return err
	})
}

// alarmsHere are those of the batch on the bench and of gauges.
func (b *Bench) alarmsHere() []batch.Alarm {
	var here []batch.Alarm
	for _, a := range b.alarms {
		if a.BatchID == "" || (b.batch != nil && a.BatchID == b.batch.ID) {
			here = append(here, a)
		}
	}
	return here
}
