package inspect

import (
	"math"
	"slices"
)

// stringLine is what the readings say about one string: its heights and the crowns under it.
type stringLine struct {
	*neck
	number int
	line   Line
	crowns []crown // under the string, one per fret
	first  *HeightReading
	over   *HeightReading // the action that gives the line: fret 12, else the highest measured
	tight  float64        // tension at the target pitch, N
	uTight float64        // its standard uncertainty

	envelopes [][]float64 // of a pluck under 1 N, see newEnvelopes
}

// crown is a crown height under a string as a mixture of the two tracks beside it: developed heights interpolated in y,
// the radius put back. Both nil where the string lies outside the measured tracks.
type crown struct {
	low, high *track
	share     float64 // of high
	offset    float64 // from the mixture of developed heights to the crown
}

// onTrack is how far from a track, mm, a string still counts as on it: rounding only.
const onTrack = 1e-9

// newStringLines prepares every string of the specification, in the order of their numbers.
func (n *neck) newStringLines() []stringLine {
	s := n.spec
	lines := make([]stringLine, 0, len(s.Strings))
	crowns := make([]crown, len(s.Strings)*n.frets)
	for _, number := range s.StringNumbers() {
		t := s.FindString(number)
		l := stringLine{neck: n, number: number, line: n.fan.Line(t.YNutMM, t.YSaddleMM), crowns: crowns[:n.frets]}
		l.tight, l.uTight = t.tension(l.line.Scale())
		crowns = crowns[n.frets:]
		for i := range l.crowns {
			l.crowns[i] = n.crownAt(i, l.line.X[i], l.line.Y[i])
		}
		if len(lines) > 0 && n.fan.even {
			l.envelopes = lines[0].envelopes
		} else {
			l.envelopes = l.newEnvelopes()
		}
		for i := range n.readings.NutHeight {
			if h := &n.readings.NutHeight[i]; h.String == number {
				l.first = h
			}
		}
		for i := range n.readings.Action {
			h := &n.readings.Action[i]
			if h.String != number || h.HeldFret != 0 || h.Fret < 2 {
				continue
			}
			if l.over == nil || l.over.Fret != DefaultActionFret && (h.Fret == DefaultActionFret || h.Fret > l.over.Fret) {
				l.over = h
			}
		}
		lines = append(lines, l)
	}
	return lines
}

// crownAt finds the tracks measured at entry i on either side of y, for the crown there and at x along the neck.
func (n *neck) crownAt(i int, x, y float64) crown {
	var c crown
	for _, t := range n.tracks {
		if math.IsNaN(t.z[i]) {
			continue
		}
		if t.y[i] <= y+onTrack && (c.low == nil || t.y[i] > c.low.y[i]) {
			c.low = t
		}
		if t.y[i] >= y-onTrack && (c.high == nil || t.y[i] < c.high.y[i]) {
			c.high = t
		}
	}
	if c.low == nil || c.high == nil {
		return crown{}
	}
	if d := c.high.y[i] - c.low.y[i]; d > onTrack {
		c.share = (y - c.low.y[i]) / d
	}
	c.offset = -Developed(0, y, n.fan.Radius(x))
	return c
}

// height is the crown under a string at entry i; NaN where there is none.
func (c *crown) height(i int) float64 {
	if c.low == nil {
		return math.NaN()
	}
	return (1-c.share)*(c.low.z[i]+c.low.sagitta[i]) + c.share*(c.high.z[i]+c.high.sagitta[i]) + c.offset
}

// stringOf returns what the readings say about a string of the specification.
func (n *neck) stringOf(number int) *stringLine {
	return &n.strings[slices.IndexFunc(n.strings, func(l stringLine) bool { return l.number == number })]
}

// complete reports that a string has a crown under it at every fret.
func (l *stringLine) complete() bool {
	for i := range l.crowns {
		if l.crowns[i].low == nil {
			return false
		}
	}
	return true
}
