package spc

import (
	"math"
	"testing"
)

// The patterns of each test, in sigmas about 0, with where the signal begins, fires and ends, its side and its furthest point.
func TestSignals(t *testing.T) {
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
		furthest     float64
	}{
		{[]float64{0.2, -0.4, 0.9, 3.1, -0.3}, 1, 4, 4, 4, 1, 3.1},
		{[]float64{0.2, -3.5, -4, 0.1}, 1, 2, 2, 3, -1, -4},
		{[]float64{-0.2, 0.3, 0.5, 0.1, 0.9, 0.4, 0.2, 0.6, 0.7, 0.3, 0.8, -0.1}, 2, 2, 10, 11, 1, 0.8},
		{[]float64{0.5, 0.9, 0.6, 0.2, -0.3, -0.7, -1.2, 0.3}, 3, 2, 7, 7, -1, -1.2},
		{turns, 4, 1, 14, 16, 0, 0.6},
		{[]float64{0.3, 2.2, 0.1, 2.5, -0.4}, 5, 2, 4, 4, 1, 2.5},
		{[]float64{0.2, -1.3, -1.6, 0.5, -1.2, -1.9, 0.4}, 6, 2, 6, 6, -1, -1.9},
		{quiet, 7, 1, 15, 16, 0, 0.3},
		{[]float64{0.4, 1.3, -1.2, -1.5, 1.1, 1.8, -1.4, -1.1, 1.6, 0.2}, 8, 2, 9, 9, 0, 1.6},
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
		if s.Test != c.test || s.From != c.from || s.At != c.at || s.To != c.to || s.Side != c.side || math.Abs(s.Furthest-c.furthest) > 1e-12 || s.Chart != IndividualsKind || s.Plotted != Values {
			t.Errorf("test %d: %+v, want from %d, at %d, to %d, side %d, furthest %v", c.test, s, c.from, c.at, c.to, c.side, c.furthest)
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
	if len(s) != 1 || s[0].From != 19 || s[0].To != 20 || s[0].Plotted != Deviations || math.Abs(s[0].Furthest-1.9157) > 5e-5 || math.Abs(s[0].Limit-1.7144) > 5e-5 {
		t.Errorf("signals of the standard deviations: %+v", s)
	}
	jump, err := Individuals([]float64{0, 0.5, 5, 4.6}, Options{Center: point(2.0), Sigma: point(1.0)})
	if err != nil {
		t.Fatal(err)
	}
	if s := jump.SpreadSignals(); len(s) != 1 || s[0].At != 3 || s[0].Plotted != MovingRanges || s[0].Furthest != 4.5 || math.Abs(s[0].Limit-3.6859) > 5e-5 {
		t.Errorf("signals of the moving ranges: %+v", s)
	}
	alike, err := XbarS([][]float64{{1, 1, 1, 1, 1, 1, 1, 1}, {1, 2, 3, 4, 5, 6, 7, 8}}, Options{Sigma: point(2.0)})
	if err != nil {
		t.Fatal(err)
	}
	if s := alike.SpreadSignals(); len(s) != 1 || s[0].Side != -1 || !(s[0].Furthest < s[0].Limit) {
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
	if len(s) != 1 || s[0].Side != -1 || s[0].To != 40 || s[0].From < 17 || s[0].From > 22 || !(s[0].Furthest < s[0].Limit) {
		t.Errorf("EWMA: %+v", s)
	}
	sums, err := CUSUM(x, Sums{K: 0.5, H: 4}, o)
	if err != nil {
		t.Fatal(err)
	}
	s = sums.Signals()
	if len(s) != 1 || s[0].Side != -1 || s[0].To != 40 || s[0].From < 20 || s[0].From > 22 || s[0].From != 21 || !(s[0].Furthest > s[0].Limit) || s[0].Limit != 4 {
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
