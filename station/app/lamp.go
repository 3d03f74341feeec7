package app

import (
	"context"

	"sagitta/devices"
	"sagitta/station/bench"
)

// lightOf is what a lamp shows of what was heard last: green for what may go on, red for what may not, amber where somebody must answer or
// decide; of anything else nothing.
func lightOf(s bench.Sound) devices.Light {
	switch s {
	case bench.Passed, bench.CheckPassed:
		return devices.Green
	case bench.ToRework, bench.ToRepair, bench.Refused, bench.CheckFailed, bench.Lost:
		return devices.Red
	case bench.Asked, bench.Undecided:
		return devices.Amber
	}
	return devices.Dark
}

// shine has the lamps follow the bench until ctx ends; of a bench where nothing was heard since it was started they show nothing.
func (a *App) shine(ctx context.Context) {
	changed, stop := a.Bench.Watch()
	defer stop()
	for {
		light := devices.Dark
		if heard := a.Bench.Snapshot().Sounds; len(heard) > 0 {
			light = lightOf(heard[len(heard)-1].Sound)
		}
		a.light.Store(int32(light))
		a.lines.shine(light)
		select {
		case <-changed:
		case <-ctx.Done():
			return
		}
	}
}
