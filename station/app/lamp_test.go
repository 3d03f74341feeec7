package app

import (
	"slices"
	"testing"

	"sagitta/devices"
	"sagitta/station/bench"
)

// TestLightOf: every sound of the bench has its light; green, red and amber are what they say.
func TestLightOf(t *testing.T) {
	lit := map[devices.Light][]bench.Sound{}
	for _, s := range bench.Sounds {
		lit[lightOf(s)] = append(lit[lightOf(s)], s)
	}
	for light, want := range map[devices.Light][]bench.Sound{
		devices.Green: {bench.CheckPassed, bench.Passed},
		devices.Red:   {bench.Refused, bench.CheckFailed, bench.ToRework, bench.ToRepair, bench.Lost},
		devices.Amber: {bench.Asked, bench.Undecided},
		devices.Dark:  {bench.Taken, bench.TakenBack, bench.Skipped, bench.Accepted},
	} {
		if !slices.Equal(lit[light], want) {
			t.Errorf("light %d for %q, want %q", light, lit[light], want)
		}
	}
}
