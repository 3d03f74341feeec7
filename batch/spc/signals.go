package spc

import (
	"fmt"
	"math"
	"strings"
)

// Signal is one run of points at which a test fired, with what it says to people.
type Signal struct {
	Test  int    // number in ISO 7870-2; 1 for a point outside on an EWMA or CUSUM chart
	From  int    // first point of the pattern, from 1; of a CUSUM, where the sum left zero
	At    int    // point at which the test first fired
	To    int    // last point at which it fired
	Side  int    // +1 above or rising, -1 below or falling, 0 where the pattern has no side
	Words string // sentences: what pattern, since which point, what to look at
}

// Signals are the chart's signals by the point where they began to fire. Firings of one test on one side whose patterns
// touch are one signal.
func (c Chart) Signals() []Signal { return c.signals(c.Points, c.noun(), c.words) }

// SpreadSignals are those of the spread's chart: points outside its limits.
func (c Chart) SpreadSignals() []Signal { return c.signals(c.Spread, c.spreadNoun(), c.spreadWords) }

func (c Chart) signals(points []Point, noun string, words func(s Signal, points []Point, noun string) string) []Signal {
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
				signals = append(signals, Signal{Test: test, From: from, At: p.Index, To: p.Index, Side: side})
				*place = len(signals)
			}
		}
	}
	for i := range signals {
		signals[i].Words = words(signals[i], points, noun)
	}
	return signals
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
		i = earliest(points, i, 3, 2)
	case 6:
		i = earliest(points, i, 5, 1)
	case 7:
		i -= 14
	case 8:
		i -= 7
	}
	return i + offset
}

// earliest is the first of the last n points up to points[i] that lies beyond k sigma on the same side.
func earliest(points []Point, i, n int, k float64) int {
	side := float64(sign(points[i].Value - points[i].Center))
	for first := max(0, i-n+1); first < i; first++ {
		p := points[first]
		if side*(p.Value-p.Center) > k*(p.Upper-p.Center)/3 {
			return first
		}
	}
	return i
}

// noun is what the chart calls a point.
func (c Chart) noun() string {
	switch c.Kind {
	case XbarRKind, XbarSKind:
		return "subgroup"
	case PKind, UKind:
		return "sample"
	}
	if c.Size > 1 {
		return "subgroup"
	}
	return "value"
}

// spreadNoun is what a point of the spread's chart is.
func (c Chart) spreadNoun() string {
	switch c.Kind {
	case XbarRKind:
		return "range"
	case XbarSKind:
		return "standard deviation"
	}
	return "moving range"
}

// words are the sentences of a signal of the chart itself.
func (c Chart) words(s Signal, points []Point, noun string) string {
	where, many := places(s, noun), s.To-s.From+1
	side := [...]string{"below", "on", "above"}[s.Side+1]
	switch {
	case c.Kind == CUSUMKind:
		return c.sumWords(s, side)
	case c.Kind == EWMAKind:
		return fmt.Sprintf("The average lies %s its limits at %s (%s). It has been %s the target since %s %d: the level has moved a little and stays there; look for what changed at or before that (setting, tool, material, gauge zero).",
			side, places(Signal{From: s.At, To: s.To}, noun), furthest(s, points), side, noun, s.From)
	}
	switch s.Test {
	case 1:
		return fmt.Sprintf("%s %s %s the limits (%s). Something out of the ordinary: look first how %s measured (seating, gauge zero, keying in), then what was different there.",
			upperFirst(where), verb(s, "lies", "lie"), side, furthest(s, points), verb(s, "it was", "they were"))
	case 2:
		return fmt.Sprintf("%d in a row lie %s the centre line, %s. The level has shifted: look for what changed at or just before %s %d (setting, tool, material, gauge zero, person).",
			many, side, where, noun, s.From)
	case 3:
		way := [...]string{"fall", "stand", "rise"}[s.Side+1]
		return fmt.Sprintf("%d in a row %s steadily, %s. The process drifts: look for something that wears, loosens, warms or dries since %s %d, or a gauge that creeps.",
			many, way, where, noun, s.From)
	case 4:
		return fmt.Sprintf("%d in a row go up and down by turns, %s. Two sources take turns or somebody corrects too much: look whether fixtures, gauges or people alternate, and whether a setting is changed after every %s.",
			many, where, noun)
	case 5:
		return fmt.Sprintf("Two of three lie more than 2 sigma %s the centre line, %s. A shift is likely: look at the setting and the gauge zero since %s %d, and take the next ones with care.",
			side, where, noun, s.From)
	case 6:
		return fmt.Sprintf("Four of five lie more than 1 sigma %s the centre line, %s. The level has probably moved a little: look for what changed since %s %d (setting, tool, material, gauge zero).",
			side, where, noun, s.From)
	case 7:
		return fmt.Sprintf("%d in a row lie within 1 sigma of the centre line, %s. They spread less than the limits expect: look whether the process has become better since the base period (then set new limits), whether the base mixed several sources, or whether readings are repeated or rounded.",
			many, where)
	}
	return fmt.Sprintf("%d in a row lie more than 1 sigma from the centre line, on both sides, %s. Two streams are mixed: chart them apart, by fixture, tool, material or person.", many, where)
}

// sumWords are the sentences of a CUSUM's signal, with the shift it suggests: (the slack + the sum / the points it took),
// NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3 after D. C. Montgomery, Introduction to Statistical Quality Control.
func (c Chart) sumWords(s Signal, side string) string {
	p := c.Points[s.At-1]
	name, total := "upper", p.High
	if s.Side < 0 {
		name, total = "lower", p.Low
	}
	ends := ""
	if s.To > s.At {
		ends = fmt.Sprintf(" and stays outside until value %d", s.To)
	}
	return fmt.Sprintf("The %s sum leaves zero at value %d and passes its interval at value %d (%s, interval %s)%s. The level lies %s the target since about value %d: look for what changed there (setting, tool, material, gauge zero).",
		name, s.From, s.At, short(total), short(c.Interval), ends, side, s.From)
}

// spreadWords are the sentences of a signal of the spread's chart.
func (c Chart) spreadWords(s Signal, points []Point, noun string) string {
	if s.Side < 0 {
		return fmt.Sprintf("%s %s below the lower limit (%s): more alike than the limits expect. Look whether readings are repeated or rounded.",
			upperFirst(places(s, noun)), verb(s, "lies", "lie"), furthest(s, points))
	}
	if c.Kind == IndividualsKind {
		return fmt.Sprintf("%s %s above the upper limit (%s): a jump from one value to the next. Look what changed between the two.",
			upperFirst(places(s, noun)), verb(s, "lies", "lie"), furthest(s, points))
	}
	return fmt.Sprintf("%s %s above the upper limit (%s): the spread has grown. Look at this before the means, whose limits rest on it: a single odd value, worn or loose fixture, mixed material.",
		upperFirst(places(s, noun)), verb(s, "lies", "lie"), furthest(s, points))
}

// places names a signal's points: value 4, values 4 to 6.
func places(s Signal, noun string) string {
	if s.From == s.To {
		return fmt.Sprintf("%s %d", noun, s.From)
	}
	return fmt.Sprintf("%ss %d to %d", noun, s.From, s.To)
}

// furthest is the signal's point furthest from the centre line, with the limit it passed.
func furthest(s Signal, points []Point) string {
	offset := points[0].Index
	far := points[s.At-offset]
	for i := s.At; i <= s.To; i++ {
		if p := points[i-offset]; math.Abs(p.Value-p.Center) > math.Abs(far.Value-far.Center) {
			far = p
		}
	}
	limit := far.Upper
	if s.Side < 0 {
		limit = far.Lower
	}
	words := fmt.Sprintf("%s, limit %s", short(far.Value), short(limit))
	if s.To > s.At {
		return "furthest " + words
	}
	return words
}

func verb(s Signal, one, many string) string {
	if s.From == s.To {
		return one
	}
	return many
}

func upperFirst(text string) string { return strings.ToUpper(text[:1]) + text[1:] }

// short is a number for people, five digits.
func short(v float64) string { return fmt.Sprintf("%.5g", v) }
