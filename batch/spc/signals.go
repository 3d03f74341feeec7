package spc

import "math"

// Plotted is what a point of a chart is.
type Plotted int

// What the points of the charts are: single values, means of subgroups, samples of items or units; and of the spread's charts.
const (
	Values Plotted = iota
	Subgroups
	Samples
	Ranges
	Deviations
	MovingRanges
)

// Signal is one run of points at which a test fired.
type Signal struct {
	Chart   Kind
	Plotted Plotted
	Test    int // number in ISO 7870-2; 1 for a point outside on an EWMA or CUSUM chart
	From    int // first point of the pattern, from 1; of a CUSUM, where the sum left zero
	At      int // point at which the test first fired
	To      int // last point at which it fired
	Side    int // +1 above or rising, -1 below or falling, 0 where the pattern has no side

	Furthest float64 // from At to To, the point furthest from the centre line; of a CUSUM, the sum at At
	Limit    float64 // at that point, on the signal's side; of a CUSUM, its decision interval
	Every    float64 // points of a steady process, after the base, in which chance gives one such signal
}

// Signals are the chart's signals by the point where they began to fire. Firings of one test on one side whose patterns
// touch are one signal.
func (c Chart) Signals() []Signal { return c.signals(c.Points, c.Plotted()) }

// SpreadSignals are those of the spread's chart: points outside its limits.
func (c Chart) SpreadSignals() []Signal { return c.signals(c.Spread, c.SpreadPlotted()) }

func (c Chart) signals(points []Point, plotted Plotted) []Signal {
	var signals []Signal
	var newest [9][3]int // by test and side + 1: place of the newest signal in signals, from 1
	for i, p := range points {
		for test := 1; p.Signals != 0 && test <= 8; test++ {
			if !p.Signals.Has(test) {
				continue
			}
			for _, side := range c.sides(points, i, test) {
				place := &newest[test][side+1]
				before := 0 // last point of the newest such signal
				if *place > 0 {
					before = signals[*place-1].To
				}
				from := p.Index
				if before < p.Index-1 {
					from = c.from(points, i, test, side, before)
				}
				if before > 0 && from <= before+1 {
					signals[*place-1].To = p.Index
					continue
				}
				signals = append(signals, Signal{Chart: c.Kind, Plotted: plotted, Test: test, From: from, At: p.Index, To: p.Index, Side: side})
				*place = len(signals)
			}
		}
	}
	c.describe(signals, points)
	return signals
}

// describe fills in how far signals went and how often chance gives one like them.
func (c Chart) describe(signals []Signal, points []Point) {
	every := map[int]float64{}
	for i, s := range signals {
		if every[s.Test] == 0 {
			every[s.Test] = c.every(s)
		}
		signals[i].Every = every[s.Test]
		signals[i].Furthest, signals[i].Limit = c.furthest(s, points)
	}
}

// sides are the sides on which a test fired at points[i]: one, or on a CUSUM chart one for each sum outside.
func (c Chart) sides(points []Point, i, test int) []int {
	p := points[i]
	switch {
	case c.Kind == CUSUMKind && p.High > c.Interval && p.Low > c.Interval:
		return []int{1, -1}
	case c.Kind == CUSUMKind && p.High > c.Interval:
		return []int{1}
	case c.Kind == CUSUMKind:
		return []int{-1}
	case test == 3:
		return []int{sign(p.Value - points[i-1].Value)}
	case test == 4, test == 7, test == 8:
		return []int{0}
	}
	return []int{sign(p.Value - p.Center)}
}

// from is the first point of a pattern that ends at points[i]; no search goes further back than the point before.
func (c Chart) from(points []Point, i, test, side, before int) int {
	offset := points[0].Index
	away := func(p Point) bool { return float64(side)*(p.Value-p.Center) > 0 } // an EWMA's average, since it crossed the target
	if c.Kind == CUSUMKind {                                                   // a sum, since it left zero
		away = func(p Point) bool { return side > 0 && p.High > 0 || side < 0 && p.Low > 0 }
	}
	if c.Kind == CUSUMKind || c.Kind == EWMAKind {
		for i > 0 && points[i].Index > before && away(points[i-1]) {
			i--
		}
		return i + offset
	}
	switch test {
	case 2:
		i -= 8
	case 3:
		i -= 5
	case 4:
		i -= 13
	case 5:
		i = earliest(points, i, 3, 2*c.zone)
	case 6:
		i = earliest(points, i, 5, c.zone)
	case 7:
		i -= 14
	case 8:
		i -= 7
	}
	return i + offset
}

// earliest is the first of the last n points up to points[i] that lies further than away from the centre line, on the same side.
func earliest(points []Point, i, n int, away float64) int {
	side := float64(sign(points[i].Value - points[i].Center))
	for first := max(0, i-n+1); first < i; first++ {
		p := points[first]
		if side*(p.Value-p.Center) > away {
			return first
		}
	}
	return i
}

// furthest is a signal's point furthest from the centre line and the limit it passed; of a CUSUM the sum that passed its
// interval.
func (c Chart) furthest(s Signal, points []Point) (value, limit float64) {
	offset := points[0].Index
	far := points[s.At-offset]
	switch {
	case c.Kind == CUSUMKind && s.Side > 0:
		return far.High, c.Interval
	case c.Kind == CUSUMKind:
		return far.Low, c.Interval
	}
	for _, p := range points[s.At-offset : s.To-offset+1] {
		if math.Abs(p.Value-p.Center) > math.Abs(far.Value-far.Center) {
			far = p
		}
	}
	if s.Side < 0 {
		return far.Value, far.Lower
	}
	return far.Value, far.Upper
}

// Plotted is what a point of the chart is.
func (c Chart) Plotted() Plotted {
	switch {
	case c.Kind == PKind || c.Kind == UKind:
		return Samples
	case c.Size > 1 || c.Kind == XbarRKind || c.Kind == XbarSKind:
		return Subgroups
	}
	return Values
}

// SpreadPlotted is what a point of the spread's chart is.
func (c Chart) SpreadPlotted() Plotted {
	switch c.Kind {
	case XbarRKind:
		return Ranges
	case XbarSKind:
		return Deviations
	}
	return MovingRanges
}
