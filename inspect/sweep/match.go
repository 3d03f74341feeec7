package sweep

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
)

const (
	// scaleOff is how far an encoder's scale may be off. Fret distances shrink by the same factor 2^(-1/12) from fret to
	// fret, so that with every label shifted by one the pattern fits again, at a scale 5.9 % off: an encoder trusted to
	// 2 % cannot be mistaken for that.
	scaleOff = 0.02
	// near is how far off the formula a top may stand and still be that fret, mm, while labels are sought: frets are
	// within 0.2 mm (common practice, no source); 20 ms of latency at 45 mm/s is 0.9 mm, most of it common.
	near = 0.8
	// leastTops are needed to recognise frets at all: over four spaces 5.9 % is 2.5 mm even where frets are closest.
	leastTops = 5
	// clearly is how much the next best labelling must cost more: one fret and a half that does not fit.
	clearly = 1.5 * near * near
	// ends is how many tops at either end are taken to be known frets in turn: not all of them are scratches.
	ends = 6
)

// unknown labels a top that is no fret. 0 is the nut.
const unknown = -1

// place is the encoder's calibration: position = offset + scale x + latency speed.
type place struct{ offset, scale, latency float64 }

// labelling gives every top a fret, at a cost: the sum of squared misfits, near² for a top that is no fret and for a
// fret in between without a top.
type labelling struct {
	labels []int
	cost   float64
	known  int
}

// match labels the tops by the fret formula. Every pair of tops, one near each end, taken to be two known frets gives
// offset and scale; a pair whose scale cannot be is passed over. The labelling with the least cost wins; it must win
// clearly.
func match(tops []top, o Options) ([]int, error) {
	if len(tops) < leastTops {
		return nil, fmt.Errorf("found %d of the %d frets that are needed to tell which they are: sweep over more of them", len(tops), leastTops)
	}
	frets := make([]float64, len(o.FretsMM)+1)
	for n := range frets {
		frets[n] = o.fretX(n)
	}
	var all []labelling
	for i := range min(ends, len(tops)) {
		for j := max(i+1, len(tops)-ends); j < len(tops); j++ {
			for _, c := range calibrations(tops[i].p, tops[j].p, frets) {
				if l := assign(tops, frets, c); l.known >= leastTops {
					all = append(all, l)
				}
			}
		}
	}
	if len(all) == 0 {
		return nil, errors.New("what was passed over does not stand as this neck's frets do: is it the right neck, and did the encoder run from end to end?")
	}
	best := slices.MinFunc(all, func(a, b labelling) int { return cmp.Compare(a.cost, b.cost) })
	for _, other := range all {
		if other.cost-best.cost < clearly && contradicts(other.labels, best.labels) {
			return nil, errors.New("which frets were passed over cannot be told for certain: sweep over more of them")
		}
	}
	return best.labels, nil
}

// calibrations are those under which two positions of the encoder are two frets.
func calibrations(p, q float64, frets []float64) []place {
	var all []place
	for n := range frets {
		for m := range frets {
			if m == n {
				continue
			}
			scale := (q - p) / (frets[m] - frets[n])
			if math.Abs(math.Abs(scale)-1) <= scaleOff {
				all = append(all, place{offset: p - scale*frets[n], scale: scale})
			}
		}
	}
	return all
}

// assign labels the tops under one calibration.
func assign(tops []top, frets []float64, c place) labelling {
	l := labelling{labels: make([]int, len(tops))}
	off := make([]float64, len(frets))
	owner := make([]int, len(frets))
	for n := range owner {
		owner[n] = -1
	}
	first, last := len(frets), -1
	for i, t := range tops {
		l.labels[i] = unknown
		x := (t.p - c.offset) / c.scale
		n := nearest(frets, x)
		d := math.Abs(x - frets[n])
		if d > near || owner[n] >= 0 && off[n] <= d {
			continue
		}
		if owner[n] >= 0 {
			l.labels[owner[n]] = unknown
		}
		owner[n], off[n], l.labels[i] = i, d, n
		first, last = min(first, n), max(last, n)
	}
	for _, n := range l.labels {
		if n == unknown {
			l.cost += near * near
		}
	}
	for n := first; n <= last; n++ {
		if owner[n] < 0 {
			l.cost += near * near
			continue
		}
		l.known++
		l.cost += off[n] * off[n]
	}
	return l
}

// nearest is the index in rising x of the value closest to v.
func nearest(x []float64, v float64) int {
	i, _ := slices.BinarySearch(x, v)
	if i == len(x) || i > 0 && v-x[i-1] < x[i]-v {
		i--
	}
	return i
}

// contradicts says that two labellings take the same top for different frets.
func contradicts(a, b []int) bool {
	for i := range a {
		if a[i] != b[i] && a[i] != unknown && b[i] != unknown {
			return true
		}
	}
	return false
}

// Weights of the calibration.
const (
	fretScatter  = 0.1  // mm: how far frets stand off the formula (common practice, no source)
	latencyPrior = 0.02 // s: how far the two streams' lateness may differ; decides only where the hand's speed was even
)

// calibrate fits offset, scale and latency to the labelled tops by least squares with Huber's loss: a fret that stands
// off its place pulls no harder than one standard deviation twice.
func calibrate(tops []top, labels []int, o Options) place {
	var c place
	weight := make([]float64, len(tops))
	for i := range weight {
		weight[i] = 1
	}
	for range 10 {
		// The unknowns are taken about their means, which keeps the equations well conditioned.
		var n, mx, mv, mp float64
		for i, t := range tops {
			if labels[i] != unknown {
				w := weight[i]
				n += w
				mx += w * o.fretX(labels[i])
				mv += w * t.speed
				mp += w * t.p
			}
		}
		mx, mv, mp = mx/n, mv/n, mp/n
		var xx, xv, vv, xp, vp float64
		for i, t := range tops {
			if labels[i] != unknown {
				w, x, v, p := weight[i], o.fretX(labels[i])-mx, t.speed-mv, t.p-mp
				xx += w * x * x
				xv += w * x * v
				vv += w * v * v
				xp += w * x * p
				vp += w * v * p
			}
		}
		vv += (fretScatter / latencyPrior) * (fretScatter / latencyPrior)
		det := xx*vv - xv*xv
		c.scale = (xp*vv - vp*xv) / det
		c.latency = (vp*xx - xp*xv) / det
		c.offset = mp - c.scale*mx - c.latency*mv
		for i, t := range tops {
			if labels[i] != unknown {
				r := math.Abs(t.p-c.offset-c.scale*o.fretX(labels[i])-c.latency*t.speed) / fretScatter
				weight[i] = math.Min(1, 2/math.Max(r, 1e-9))
			}
		}
	}
	return c
}
