package sweep

import (
	"cmp"
	"math"
	"slices"
)

const (
	// deep is how far the tip must fall beside a top, mm: the lowest fret worth playing lets it fall 0.4 mm or more,
	// scratches, noise and a resting hand stay far below.
	deep = 0.15
	// together is how near two tops are one, mm: the same crown passed over again. Frets are 5 mm apart or more.
	together = 1.5
)

// top is a place where the tip passed over something, in the encoder's coordinate.
type top struct {
	p     float64
	u     float64
	speed float64 // encoder's mm/s there
}

// findTops finds every place where the tip rose and fell by deep, fits the crown's path to what lies around it, and
// counts what was passed over more than once as one. scale is the encoder's, as far as it is known,
// and so is the path's radius.
func findTops(track []placed, o Options, shape path, scale, timing float64) []top {
	points := along(track, place{scale: scale}, o)
	var found []top
	for _, i := range risesAndFalls(track) {
		x := points[i].x
		near := within(points, x, shape)
		f := fit(near, x, shape, timing)
		if !f.ok || math.Abs(f.x-x) > shape.reach() {
			continue
		}
		speed := 0.0
		for _, p := range f.used {
			speed += p.speed / float64(len(f.used))
		}
		found = append(found, top{p: f.x * scale, u: f.ux * scale, speed: speed * scale})
	}
	slices.SortFunc(found, func(a, b top) int { return cmp.Compare(a.p, b.p) })
	var tops []top
	for _, t := range found {
		if n := len(tops); n > 0 && t.p-tops[n-1].p < together {
			if t.u < tops[n-1].u {
				tops[n-1] = t
			}
			continue
		}
		tops = append(tops, t)
	}
	return tops
}

// risesAndFalls lists the index of every maximum in time with at least deep of fall after it and of rise before it, the
// sweep's own beginning and end counting as falls.
func risesAndFalls(track []placed) []int {
	var at []int
	high, low := 0, 0
	rising := true
	for i := range track {
		if rising {
			if track[i].z > track[high].z {
				high = i
			}
			if track[high].z-track[i].z > deep {
				at = append(at, high)
				rising, low = false, i
			}
		} else {
			if track[i].z < track[low].z {
				low = i
			}
			if track[i].z-track[low].z > deep {
				rising, high = true, i
			}
		}
	}
	if rising && len(track) > 0 && high > 0 {
		at = append(at, high)
	}
	return at
}

// along turns places of the encoder into places along the neck.
func along(track []placed, c place, o Options) []point {
	points := make([]point, len(track))
	for i, t := range track {
		points[i] = point{
			index: t.index, at: t.at, x: (t.p - c.offset) / c.scale, z: t.z, speed: t.speed / c.scale,
			uHeight: o.NoiseMM, uPlace: o.PositionStepMM / math.Sqrt(12) / math.Abs(c.scale), // JCGM 100, 4.3.7
		}
	}
	return points
}

// within lists the points that a fit about x may come to use.
func within(points []point, x float64, s path) []point {
	var near []point
	for _, p := range points {
		if math.Abs(p.x-x) <= 2*s.reach() {
			near = append(near, p)
		}
	}
	return near
}
