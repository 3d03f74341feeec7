package show

import (
	"strings"
	"testing"

	"sagitta/inspect/unit"
)

func TestReliefArc(t *testing.T) {
	for _, c := range []struct {
		relief float64
		unit   unit.Unit
		want   []string
	}{
		{0.3, unit.Millimetre, []string{"q31 13.2 62 0", "+0.30"}},
		{0.3048, unit.Inch, []string{"+0.0120"}},
		{-0.1, unit.Millimetre, []string{"q31 -4.4 62 0", "−0.10"}}, // over the chord
		{5, unit.Millimetre, []string{"q31 39.6 62 0", "+5.00"}},    // no further than there is room
	} {
		got := string(ReliefArc(&c.relief, c.unit))
		for _, w := range c.want {
			if !strings.Contains(got, w) {
				t.Errorf("%g mm in %s: %s lacks %q", c.relief, c.unit, got, w)
			}
		}
	}
	if got := ReliefArc(nil, unit.Millimetre); got != "" {
		t.Errorf("a neck without relief: %s", got)
	}
}
