package tell

import (
	"testing"

	"sagitta/batch"
)

// What a check says of the zero: how far it moved, what is allowed, and whether that was judged, or why not.
func TestCheckFoundSaysWhatWasJudged(t *testing.T) {
	master := []batch.MasterReading{{NominalMM: 1, LimitMM: 0.02, ReadMM: 1.004}}
	for _, c := range []struct {
		loses, after string
		zero, limit  float64
		first        bool
		want         string
	}{
		{"", batch.CheckShift, 0.012, 0.02, false, "zero moved by +0.012 mm, within the 0.020 mm allowed, +0.004 mm on the 1 mm master (allowed 0.020)"},
		{"", batch.CheckDrop, 0.012, 0.02, false, "as found: zero moved by +0.012 mm, within the 0.020 mm allowed, +0.004 mm on the 1 mm master (allowed 0.020)"},
		{"", batch.CheckDrop, -0.08, 0.02, false, "as found: zero moved by −0.080 mm, more than the 0.020 mm allowed, +0.004 mm on the 1 mm master (allowed 0.020)"},
		{"", batch.CheckPowerUp, 0.08, 0.02, false, "zero moved by +0.080 mm, more than the 0.020 mm allowed, +0.004 mm on the 1 mm master (allowed 0.020)"},
		{batch.LosesWithPower, batch.CheckPowerUp, 0.08, 0.02, false, "zero moved by +0.080 mm, not judged: it loses its zero without power, and it had lost power, +0.004 mm on the 1 mm master (allowed 0.020)"},
		{"", batch.CheckShift, 0.08, 0, false, "zero moved by +0.080 mm, not judged: the gauge's page allows any shift, +0.004 mm on the 1 mm master (allowed 0.020)"},
		{"", batch.CheckFirstUse, 0.08, 0.02, true, "first zero: there is none before to compare it with, +0.004 mm on the 1 mm master (allowed 0.020)"},
	} {
		g := &batch.Gauge{ZeroLimitMM: c.limit, LosesZero: c.loses, Sense: 1}
		check := batch.GaugeCheck{ZeroMM: c.zero, After: c.after, Masters: master}
		before := &batch.GaugeCheck{}
		if c.first {
			before = nil
		}
		check.Judge(g, before)
		if got := CheckFound(g, check, c.first); got != c.want {
			t.Errorf("after %s:\n%q, want\n%q", c.after, got, c.want)
		}
		if c.first && check.ZeroJudged {
			t.Error("a first zero was judged")
		}
	}
}
