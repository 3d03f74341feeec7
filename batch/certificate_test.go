package batch

import (
	"math"
	"strings"
	"testing"
	"time"
)

// A check proves a gauge better than a laboratory found it only where, in the state found, it would have failed.
func TestProvesBetter(t *testing.T) {
	found := func(points ...Deviation) []MasterReading {
		c := Certificate{LimitMM: 0.01, Found: CalibrationState{Points: points}}
		return c.Errors(c.Found, nil)
	}
	one := []MasterReading{{NominalMM: 1, LimitMM: 0.01, ReadMM: 1.002}}
	for name, c := range map[string]struct {
		check GaugeCheck
		found []MasterReading
		want  bool
	}{
		"its master would have been off":     {GaugeCheck{Good: true, Masters: one}, found(Deviation{0, 0}, Deviation{2, 0.03}), true},
		"within what the check allows there": {GaugeCheck{Good: true, Masters: one}, found(Deviation{0, 0}, Deviation{2, 0.016}), false},
		"off only beyond its masters":        {GaugeCheck{Good: true, Masters: one}, found(Deviation{0, 0}, Deviation{1, 0.002}, Deviation{5, 0.06}), false},
		"its master beyond the points":       {GaugeCheck{Good: true, Masters: one}, found(Deviation{0, 0}, Deviation{0.5, 0.03}), false},
		"the same error at the zero":         {GaugeCheck{Good: true, Masters: one}, found(Deviation{0, 0.03}, Deviation{2, 0.03}), false},
		"nothing said of the zero":           {GaugeCheck{Good: true, Masters: one}, found(Deviation{1, 0.03}), true},
		"no master":                          {GaugeCheck{Good: true}, found(Deviation{0, 0}, Deviation{2, 0.03}), false},
		"it failed":                          {GaugeCheck{Masters: one}, found(Deviation{0, 0}, Deviation{2, 0.03}), false},
		"no figures":                         {GaugeCheck{Good: true, Masters: one}, nil, false},
	} {
		if got := c.check.ProvesBetter(c.found); got != c.want {
			t.Errorf("%s: %v", name, got)
		}
	}
}

// What readings were off by is the deviation less the correction that was made: a known error that was corrected is none, and a
// correction of an error that is not there is one. Without figures the laboratory's word counts.
func TestStateIsJudgedCorrected(t *testing.T) {
	table := []CalibrationPoint{{IndicatedMM: 0}, {IndicatedMM: 1, ErrorMM: 0.03}}
	c := Certificate{LimitMM: 0.01}
	for name, k := range map[string]struct {
		state   CalibrationState
		table   []CalibrationPoint
		outside bool
		off     float64
	}{
		"a known error":        {CalibrationState{Points: []Deviation{{1, 0.031}}}, table, false, 0.001},
		"the same uncorrected": {CalibrationState{Points: []Deviation{{1, 0.031}}}, nil, true, 0.031},
		"corrected wrongly":    {CalibrationState{Points: []Deviation{{1, 0}}}, table, true, -0.03},
		"figures before words": {CalibrationState{Points: []Deviation{{1, 0}}, Word: OutsideLimits}, nil, false, 0},
		"its word, outside":    {CalibrationState{Word: OutsideLimits}, nil, true, 0},
		"its word, within":     {CalibrationState{Word: WithinLimits}, nil, false, 0},
		"nothing said":         {CalibrationState{}, nil, false, 0},
	} {
		if got := c.Outside(k.state, k.table); got != k.outside {
			t.Errorf("%s: outside %v", name, got)
		}
		if all := c.Errors(k.state, k.table); len(all) > 0 && math.Abs(all[0].ErrorMM()-k.off) > 1e-9 {
			t.Errorf("%s: off by %g", name, all[0].ErrorMM())
		}
	}
	c = Certificate{Number: "1", Issued: time.Unix(1, 0), Due: time.Unix(2, 0), Found: CalibrationState{Points: []Deviation{{1, 0}, {1, 0}}, Word: "fine"}}
	var said []string
	for _, f := range c.Check() {
		said = append(said, f.Error())
	}
	for _, want := range []string{"as found: found \"fine\"", "no largest deviation", "as found[2]: found 1"} {
		if !strings.Contains(strings.Join(said, "\n"), want) {
			t.Errorf("the entry's faults lack %q: %q", want, said)
		}
	}
}
