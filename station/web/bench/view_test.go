package bench

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/draw"
	"sagitta/station/web/webtest"
)

// TestUOnTheBench checks what stands behind ± against twice the standard uncertainty (JCGM 100:2008, 6.2, with coverage factor
// 2), as the neck's page writes it.
func TestUOnTheBench(t *testing.T) {
	_, s := storybook(t)
	snap := decided(s, crowned{relief: 0.46})
	for _, lengths := range []unit.Unit{unit.Millimetre, unit.Inch} {
		v := &benchView{Snapshot: &snap, Unit: lengths, Spec: s.Spec.Spec.WithDefaults()}
		seen := 0
		for _, c := range snap.Result.Characteristics {
			if c.Value == nil || c.U == nil || *c.U == 0 {
				continue
			}
			seen++
			webtest.WantsU(t, c, strings.TrimPrefix(v.row(c, 0).U, "± "), lengths)
		}
		if seen < 5 {
			t.Errorf("only %d values have a U", seen)
		}
	}
}

// TestBarsOfOneSidedLimits checks that marks of one characteristic stand in proportion to their values.
func TestBarsOfOneSidedLimits(t *testing.T) {
	mark := func(value float64, lower, upper *float64, largest float64) float64 {
		t.Helper()
		m := regexp.MustCompile(`class="value" d="M([\d.]+) `).FindStringSubmatch(string(draw.ToleranceBar(value, 0, lower, nil, upper, largest, false)))
		if m == nil {
			t.Fatal("the bar has no mark")
		}
		x, err := strconv.ParseFloat(m[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		return x - 30 // zero stands at 30 of 200
	}
	zero, limit := 0.0, 0.12
	for name, marks := range map[string][2]float64{
		"at least 0":    {mark(0.067, &zero, nil, 0.106), mark(0.106, &zero, nil, 0.106)},
		"at least 0.12": {mark(0.067, &limit, nil, 0.106), mark(0.106, &limit, nil, 0.106)},
		"at most 0.12":  {mark(0.067, nil, &limit, 0.106), mark(0.106, nil, &limit, 0.106)},
	} {
		if ratio := marks[0] / marks[1]; math.Abs(ratio-0.067/0.106) > 0.005 {
			t.Errorf("%s: marks at %v, want them as 0.067 to 0.106", name, marks)
		}
	}
	if bar := string(draw.ToleranceBar(0.05, 0, nil, nil, &limit, 0, false)); !strings.Contains(bar, fmt.Sprintf(`class="limit" d="M%.1f `, 30+140/2.5)) {
		t.Errorf("one limit does not stand at 1/2.5 of the span: %s", bar)
	}
}

// TestRowsOfOneNameShareAScale checks that two margins over the same limit are drawn apart.
func TestRowsOfOneNameShareAScale(t *testing.T) {
	_, s := storybook(t)
	snap := decided(s, crowned{relief: 0.3})
	zero, a, b := 0.0, 0.067, 0.106
	snap.Result = &inspect.Result{Characteristics: []inspect.Characteristic{
		{Name: "clearance_margin", String: 1, Unit: "mm", Value: &a, Lower: &zero, Zone: inspect.Conforming},
		{Name: "clearance_margin", String: 2, Unit: "mm", Value: &b, Lower: &zero, Zone: inspect.Conforming},
	}}
	v := &benchView{Snapshot: &snap, Unit: unit.Millimetre, Spec: s.Spec.Spec.WithDefaults()}
	v.characteristics()
	if len(v.Rows) != 2 || v.Rows[0].Bar == v.Rows[1].Bar {
		t.Errorf("0.067 and 0.106 are drawn alike: %v", v.Rows)
	}
}
