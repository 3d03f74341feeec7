package spc

import (
	"math"
	"strings"
	"testing"
)

// The patterns of each test, in sigmas about 0, with where the signal begins, fires and ends, and words that must be said.
func TestSignalsSaySinceWhenAndWhatToLookAt(t *testing.T) {
	turns := make([]float64, 16)
	for i := range turns {
		turns[i] = 0.2 + 0.4*float64(i%2)
	}
	quiet := make([]float64, 16)
	for i := range quiet {
		quiet[i] = 0.3 * float64(i%3-1)
	}
	for _, c := range []struct {
		z            []float64
		test         int
		from, at, to int
		side         int
		says         []string
	}{
		{[]float64{0.2, -0.4, 0.9, 3.1, -0.3}, 1, 4, 4, 4, 1, []string{"Value 4 lies above the limits (3.1, limit 3)", "how it was measured"}},
		{[]float64{0.2, -3.5, -4, 0.1}, 1, 2, 2, 3, -1, []string{"Values 2 to 3 lie below the limits (furthest -4, limit -3)", "how they were measured"}},
		{[]float64{-0.2, 0.3, 0.5, 0.1, 0.9, 0.4, 0.2, 0.6, 0.7, 0.3, 0.8, -0.1}, 2, 2, 10, 11, 1, []string{"10 in a row lie above the centre line, values 2 to 11", "just before value 2"}},
		{[]float64{0.5, 0.9, 0.6, 0.2, -0.3, -0.7, -1.2, 0.3}, 3, 2, 7, 7, -1, []string{"6 in a row fall steadily, values 2 to 7"}},
		{turns, 4, 1, 14, 16, 0, []string{"16 in a row go up and down by turns, values 1 to 16"}},
		{[]float64{0.3, 2.2, 0.1, 2.5, -0.4}, 5, 2, 4, 4, 1, []string{"Two of three lie more than 2 sigma above the centre line, values 2 to 4"}},
		{[]float64{0.2, -1.3, -1.6, 0.5, -1.2, -1.9, 0.4}, 6, 2, 6, 6, -1, []string{"Four of five lie more than 1 sigma below the centre line, values 2 to 6"}},
		{quiet, 7, 1, 15, 16, 0, []string{"16 in a row lie within 1 sigma", "new limits"}},
		{[]float64{0.4, 1.3, -1.2, -1.5, 1.1, 1.8, -1.4, -1.1, 1.6, 0.2}, 8, 2, 9, 9, 0, []string{"8 in a row lie more than 1 sigma from the centre line, on both sides, values 2 to 9", "Two streams"}},
	} {
		chart, err := Individuals(c.z, Options{Center: point(0.0), Sigma: point(1.0), Tests: TestsOf(c.test)})
		if err != nil {
			t.Fatal(err)
		}
		signals := chart.Signals()
		if len(signals) != 1 {
			t.Errorf("test %d: %d signals: %+v", c.test, len(signals), signals)
			continue
		}
		s := signals[0]
		if s.Test != c.test || s.From != c.from || s.At != c.at || s.To != c.to || s.Side != c.side {
			t.Errorf("test %d: %+v, want from %d, at %d, to %d, side %d", c.test, s, c.from, c.at, c.to, c.side)
		}
		for _, words := range c.says {
			if !strings.Contains(s.Words, words) {
				t.Errorf("test %d: %q does not say %q", c.test, s.Words, words)
			}
		}
	}
}

// A test that falls silent and fires again elsewhere, or on the other side, is another signal.
func TestSeparatePatternsAreSeparateSignals(t *testing.T) {
	c, err := Individuals([]float64{3.5, 0, 3.6, 3.7, -3.4, 0.2, 0.3}, Options{Center: point(0.0), Sigma: point(1.0), Tests: TestsOf(1)})
	if err != nil {
		t.Fatal(err)
	}
	var got [][3]int
	for _, s := range c.Signals() {
		got = append(got, [3]int{s.From, s.To, s.Side})
	}
	want := [][3]int{{1, 1, 1}, {3, 4, 1}, {5, 5, -1}}
	if len(got) != len(want) || got[0] != want[0] || got[1] != want[1] || got[2] != want[2] {
		t.Errorf("signals %v, want %v", got, want)
	}
}

func TestSpreadSignals(t *testing.T) {
	e := references(t, chartsFile, "X-bar and R / X-bar and s, wafer")[0]
	c, err := XbarS(decode[[][]float64](t, e.Inputs, "subgroups"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	s := c.SpreadSignals()
	if len(s) != 1 || s[0].From != 19 || s[0].To != 20 || !strings.Contains(s[0].Words, "Standard deviations 19 to 20 lie above the upper limit (furthest 1.9157, limit 1.7144)") {
		t.Errorf("signals of the standard deviations: %+v", s)
	}
	jump, err := Individuals([]float64{0, 0.5, 5, 4.6}, Options{Center: point(2.0), Sigma: point(1.0)})
	if err != nil {
		t.Fatal(err)
	}
	if s := jump.SpreadSignals(); len(s) != 1 || s[0].At != 3 || !strings.Contains(s[0].Words, "Moving range 3 lies above the upper limit (4.5, limit 3.6859)") {
		t.Errorf("signals of the moving ranges: %+v", s)
	}
	alike, err := XbarS([][]float64{{1, 1, 1, 1, 1, 1, 1, 1}, {1, 2, 3, 4, 5, 6, 7, 8}}, Options{Sigma: point(2.0)})
	if err != nil {
		t.Fatal(err)
	}
	if s := alike.SpreadSignals(); len(s) != 1 || s[0].Side != -1 || !strings.Contains(s[0].Words, "below the lower limit") {
		t.Errorf("signals of equal values in a subgroup: %+v", s)
	}
}

func TestDriftSignals(t *testing.T) {
	x := make([]float64, 40)
	for i := range x {
		x[i] = math.Sin(float64(i)) / 2
		if i >= 20 {
			x[i] -= 1.5
		}
	}
	o := Options{Center: point(0.0), Sigma: point(1.0)}
	average, err := EWMA(x, Average{0.2, 3}, o)
	if err != nil {
		t.Fatal(err)
	}
	s := average.Signals()
	if len(s) != 1 || s[0].Side != -1 || s[0].To != 40 || s[0].From < 17 || s[0].From > 22 || !strings.Contains(s[0].Words, "The average lies below its limits") {
		t.Errorf("EWMA: %+v", s)
	}
	sums, err := CUSUM(x, Sums{K: 0.5, H: 4}, o)
	if err != nil {
		t.Fatal(err)
	}
	s = sums.Signals()
	if len(s) != 1 || s[0].Side != -1 || s[0].To != 40 || s[0].From < 20 || s[0].From > 22 || !strings.Contains(s[0].Words, "The lower sum leaves zero at value 21") {
		t.Errorf("CUSUM: %+v", s)
	}
	both, err := CUSUM([]float64{30, -60}, Sums{K: 0.5, H: 4}, o) // both sums outside at the second value
	if err != nil {
		t.Fatal(err)
	}
	if s := both.Signals(); len(s) != 2 || s[0].Side != 1 || s[1].Side != -1 {
		t.Errorf("CUSUM on both sides: %+v", s)
	}
}
