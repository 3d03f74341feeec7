package spc

import (
	"encoding/json"
	"math"
	"testing"
)

// series turns bytes into values: origin plus steps of a unit.
func series(data []byte, origin, unit float64) []float64 {
	x := make([]float64, len(data))
	for i, b := range data {
		x[i] = origin + unit*float64(b)
	}
	return x
}

// FuzzCharts: any values are either refused or give charts without NaN among what must be numbers, whose signals lie within
// the points, in order, with words; and a chart in another unit about another origin fires the same.
func FuzzCharts(f *testing.F) {
	f.Add([]byte{1, 2, 3, 4, 5, 6, 7, 8, 9, 200, 1, 1, 1}, 0.0, 0.5, uint8(2))
	f.Add([]byte{7, 7, 7, 7}, 0.1, 1e-300, uint8(3))
	f.Add([]byte{0, 255, 0, 255}, 1e150, 1e149, uint8(4))
	f.Fuzz(func(t *testing.T, data []byte, origin, unit float64, size uint8) {
		x := series(data, origin, unit)
		n := int(size%6) + 1
		var groups [][]float64
		for i := 0; i+n <= len(x); i += n {
			groups = append(groups, x[i:i+n])
		}
		whole := series(data, 0, 1)
		sizes := make([]float64, len(whole))
		for i := range sizes {
			sizes[i] = 255 + float64(i%n)
		}
		for _, made := range []struct {
			chart Chart
			err   error
		}{
			pair(Individuals(x, Options{})), pair(XbarR(groups, Options{})), pair(XbarS(groups, Options{})),
			pair(EWMA(x, Average{0.2, 3}, Options{})), pair(EWMAOfSubgroups(groups, Average{0.4, 2}, Options{})),
			pair(CUSUM(x, Sums{K: 0.5, H: 4, HeadStart: 0.5}, Options{})), pair(P(whole, sizes, Options{})), pair(U(whole, sizes, Options{})),
		} {
			if made.err != nil {
				continue
			}
			c := made.chart
			for _, p := range append(c.Points[:len(c.Points):len(c.Points)], c.Spread...) {
				if math.IsNaN(p.Value) || math.IsNaN(p.Center) || p.High < 0 || p.Low < 0 || p.Lower > p.Upper || p.Lower > p.Center || p.Upper < p.Center {
					t.Fatalf("%s: point %+v", c.Kind, p)
				}
			}
			last := 0
			for _, s := range c.Signals() {
				if s.From < 1 || s.From > s.At || s.At > s.To || s.To > len(c.Points) || s.At < last || math.IsNaN(s.Furthest) {
					t.Fatalf("%s: signal %+v after one at %d of %d points", c.Kind, s, last, len(c.Points))
				}
				last = s.At
			}
			for _, s := range c.SpreadSignals() {
				if s.From < 1 || s.From > s.To || s.To > len(c.Points) || math.IsNaN(s.Furthest-s.Limit) {
					t.Fatalf("%s: signal of the spread %+v", c.Kind, s)
				}
			}
		}
	})
}

func pair(c Chart, err error) struct {
	chart Chart
	err   error
} {
	return struct {
		chart Chart
		err   error
	}{c, err}
}

// FuzzCapability: any values and limits are either refused or give a result that JSON can hold, with ordered intervals about
// their index, a p from 0 to 1 and no more counted than there are.
func FuzzCapability(f *testing.F) {
	f.Add([]byte{1, 2, 3, 4, 5, 6, 7, 8, 9, 200, 1, 1, 1}, 0.0, 0.5, -1.0, 50.0)
	f.Add([]byte{7, 7, 7, 7}, 0.1, 1e-300, 0.0, 1.0)
	f.Add([]byte{0, 255, 0, 255, 9, 9, 9, 9, 9}, 1e150, 1e149, math.Inf(-1), 1e151)
	f.Add([]byte{1, 2, 3, 4, 5, 6, 7, 8, 9}, 1e-150, 1e-151, -1e-150, 1e-149)
	f.Add([]byte{48, 49}, 1e-150, 2.5e-153, 24.0, 96.0) // the square of the index is beyond all numbers
	f.Fuzz(func(t *testing.T, data []byte, origin, unit, lower, upper float64) {
		x := series(data, origin, unit)
		for _, limits := range []Limits{{&lower, &upper}, {nil, &upper}, {&lower, nil}} {
			r, err := Capability(x, CapabilityOptions{Limits: limits, Target: &origin})
			if err != nil {
				continue
			}
			if _, err := json.Marshal(r); err != nil {
				t.Fatal(err)
			}
			if r.Below+r.Above > r.N || r.Expected != nil && !(*r.Expected >= 0 && *r.Expected <= 1e6) {
				t.Fatalf("%d below, %d above, %v expected of %d", r.Below, r.Above, r.Expected, r.N)
			}
			for _, i := range []struct {
				index    *float64
				interval *Interval
			}{{r.CP, r.CI.CP}, {r.CPK, r.CI.CPK}, {r.PP, r.CI.PP}, {r.PPK, r.CI.PPK}} {
				if i.index != nil && math.Abs(*i.index) < 1e300 && (i.interval == nil || !(i.interval[0] <= i.interval[1])) {
					t.Fatalf("index %v in %v", *i.index, i.interval)
				}
			}
			if r.Normality != nil && !(r.Normality.P >= 0 && r.Normality.P <= 1) {
				t.Fatalf("normality %+v", *r.Normality)
			}
		}
		if s, err := Summarize(x); err == nil {
			if _, err := json.Marshal(s); err != nil || s.Min > s.Median || s.Median > s.Max || s.Mean < s.Min-1e-9*math.Abs(s.Min) || s.Mean > s.Max+1e-9*math.Abs(s.Max) {
				t.Fatalf("%+v, %v", s, err)
			}
		}
	})
}

// FuzzWeibull: the shape found solves the likelihood equation: nearby shapes are less likely.
func FuzzWeibull(f *testing.F) {
	f.Add([]byte{1, 2, 3, 4, 5, 6, 7, 8, 9, 200}, 0.5)
	f.Add([]byte{1, 1, 1, 1, 1, 1, 1, 1, 1, 255}, 1e-9)
	f.Add([]byte{254, 255}, 1e100)
	f.Fuzz(func(t *testing.T, data []byte, unit float64) {
		x := series(data, 0, unit)
		w, err := FitWeibull(x)
		if err != nil {
			return
		}
		y, _ := logarithms(x)
		likelihood := func(k float64) float64 { // at the best scale for k, over the number of values; the constant left out
			mean, sum := meanOf(y), 0.0
			for _, v := range y {
				sum += math.Exp(k * (v - mean))
			}
			return math.Log(k) - math.Log(sum/float64(len(y)))
		}
		best := likelihood(w.Shape)
		for _, other := range []float64{0.99, 1.01} {
			if near := likelihood(w.Shape * other); near > best+1e-9 {
				t.Fatalf("shape %v: %v is likelier (%v, not %v)", w.Shape, w.Shape*other, near, best)
			}
		}
	})
}
