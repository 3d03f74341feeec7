package gate

import (
	"testing"
	"time"

	"sagitta/batch"
)

// at is a time of day on 2 November 2026, local.
func at(hour, minute int) time.Time { return time.Date(2026, 11, 2, hour, minute, 0, 0, time.Local) }

// TestWhy locks a gauge out for every cause there is, says why and since when.
func TestWhy(t *testing.T) {
	shifts := []time.Duration{6 * time.Hour, 14 * time.Hour}
	passed := &batch.GaugeCheck{At: at(7, 0), By: "Wren Halloway", Good: true}
	for name, c := range map[string]struct {
		gauge     batch.Gauge
		check     *batch.GaugeCheck
		event     *batch.GaugeEvent
		now       time.Time
		inspector string
		why       string
		since     time.Time
	}{
		"in order":               {batch.Gauge{CheckHours: 8, EachShift: true}, passed, nil, at(13, 59), "Wren Halloway", "", time.Time{}},
		"never checked":          {batch.Gauge{}, nil, nil, at(8, 0), "", "it has never been checked", time.Time{}},
		"failed":                 {batch.Gauge{}, &batch.GaugeCheck{At: at(7, 0), Why: "zero moved by +0.100 mm"}, nil, at(8, 0), "", "its last check failed: zero moved by +0.100 mm", at(7, 0)},
		"dropped":                {batch.Gauge{}, passed, &batch.GaugeEvent{At: at(7, 30), What: batch.CheckDrop, Detail: "fell or was knocked at 07:30"}, at(8, 0), "", "it fell or was knocked at 07:30 and has not been checked since", at(7, 30)},
		"another shift":          {batch.Gauge{EachShift: true}, passed, nil, at(14, 0), "Wren Halloway", "a shift began at 14:00 and its last check was at 07:00", at(14, 0)},
		"another inspector":      {batch.Gauge{EachShift: true}, passed, nil, at(8, 0), "Ossian Reed", "Ossian Reed has taken over and its last check was made by Wren Halloway", time.Time{}},
		"nobody yet":             {batch.Gauge{EachShift: true}, passed, nil, at(8, 0), "", "", time.Time{}},
		"run out":                {batch.Gauge{CheckHours: 2}, passed, nil, at(9, 1), "", "its last check was at 2026-11-02 07:00 and holds 2 hours", at(9, 0)},
		"holds to the minute":    {batch.Gauge{CheckHours: 2}, passed, nil, at(9, 0), "", "", time.Time{}},
		"certificate overdue":    {batch.Gauge{CertificateDue: at(0, 0).AddDate(0, 0, -1)}, passed, nil, at(8, 0), "", "its calibration was due on 2026-11-01", at(0, 0)},
		"certificate due today":  {batch.Gauge{CertificateDue: at(0, 0)}, passed, nil, at(8, 0), "", "", time.Time{}},
		"a foot switch":          {batch.Gauge{Capture: "foot"}, nil, nil, at(8, 0), "", "", time.Time{}},
		"a position encoder":     {batch.Gauge{Measures: []batch.Kind{batch.Position}}, nil, nil, at(8, 0), "", "", time.Time{}},
		"failed, and then drop.": {batch.Gauge{}, &batch.GaugeCheck{At: at(7, 0), Why: "too far"}, &batch.GaugeEvent{At: at(7, 30), What: batch.CheckDrop}, at(8, 0), "", "its last check failed: too far", at(7, 0)},
	} {
		s, m := Standing{&c.gauge, c.check, c.event}, Moment{Now: c.now, Inspector: c.inspector, Shifts: shifts}
		if got := Why(s, m); got != c.why {
			t.Errorf("%s: %q, want %q", name, got, c.why)
		}
		if got := Since(s, m); !got.Equal(c.since) {
			t.Errorf("%s: since %s, want %s", name, got, c.since)
		}
	}
}

// TestShiftBegan goes through a day and a night of two shifts, and one without.
func TestShiftBegan(t *testing.T) {
	two := []time.Duration{6 * time.Hour, 14 * time.Hour}
	for _, c := range []struct {
		starts    []time.Duration
		now, want time.Time
	}{
		{two, at(6, 0), at(6, 0)}, {two, at(13, 59), at(6, 0)}, {two, at(14, 0), at(14, 0)}, {two, at(23, 0), at(14, 0)},
		{two, at(5, 59), at(14, 0).AddDate(0, 0, -1)}, {nil, at(5, 0), at(0, 0)},
	} {
		if got := ShiftBegan(c.starts, c.now); !got.Equal(c.want) {
			t.Errorf("at %s the shift began at %s, want %s", c.now, got, c.want)
		}
	}
}

// TestCheck walks through a check of two masters: a reading far off is asked for once more, and counts when it comes again.
func TestCheck(t *testing.T) {
	g := batch.Gauge{ID: "g", Name: "height gauge", Sense: 1, ZeroLimitMM: 0.02, Masters: []batch.Master{{NominalMM: 1, LimitMM: 0.02}, {NominalMM: 2, LimitMM: 0.02}}}
	before := &batch.GaugeCheck{At: at(7, 0), By: "Wren Halloway", Good: true, ZeroMM: 0.01}
	c := Begin(Standing{&g, before, nil}, false, Moment{Now: at(8, 0)})
	if c.After != batch.CheckAskedFor || c.Master() != nil {
		t.Fatalf("after %q, master %v", c.After, c.Master())
	}
	take := func(mm float64, wantDone, wantOdd bool, place int) {
		t.Helper()
		if n, of := c.Place(); n != place || of != 3 {
			t.Errorf("step %d of %d, want %d of 3", n, of, place)
		}
		done, odd := c.Take(mm, []byte("raw"), "mm")
		if done != wantDone || (odd != nil) != wantOdd {
			t.Errorf("%g mm: done %v, odd %+v", mm, done, odd)
		}
	}
	take(0.9, false, true, 1) // not the flat
	take(0.012, false, false, 1)
	take(2.012, false, true, 2) // the wrong master
	take(1.015, false, false, 2)
	take(2.5, false, true, 3)
	take(2.501, true, false, 3) // twice the same: it is the gauge
	out := c.Outcome("Wren Halloway")
	if out.Good || out.After != batch.CheckAskedFor || len(out.Masters) != 2 || out.ZeroMM != 0.012 || out.By != "Wren Halloway" {
		t.Errorf("outcome %+v", out)
	}
	if n, _ := c.Again().Place(); n != 1 {
		t.Errorf("begun again it stands at step %d", n)
	}
}

// TestBegin: what has cost the gauge its zero comes before whatever else is due.
func TestBegin(t *testing.T) {
	g := batch.Gauge{EachShift: true}
	old := &batch.GaugeCheck{At: at(7, 0).AddDate(0, 0, -1), Good: true}
	for want, c := range map[string]struct {
		check *batch.GaugeCheck
		event *batch.GaugeEvent
		low   bool
	}{
		batch.CheckFirstUse:   {nil, nil, true},
		batch.CheckShift:      {old, nil, false},
		batch.CheckBattery:    {old, nil, true},
		batch.CheckDrop:       {old, &batch.GaugeEvent{What: batch.CheckDrop}, true},
		batch.CheckNotWatched: {old, &batch.GaugeEvent{What: batch.CheckNotWatched}, false},
	} {
		if got := Begin(Standing{&g, c.check, c.event}, c.low, Moment{Now: at(8, 0)}).After; got != want {
			t.Errorf("after %q, want %q", got, want)
		}
	}
}
