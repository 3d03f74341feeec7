package laying

import "math"

// Figures of the shape step (practice, tried on simulated necks).
const (
	StepStatistic = 6.0   // the statistic of a step is over this
	StepOffset    = 0.030 // mm; its least offset is over this
	SameOffset    = 0.030 // mm; a step found again is the neck's own when its offset is within this

	fewestInSeries = 12    // crowns in a series
	fewestBeside   = 4     // measured crowns on either side of a place
	mostC          = 10000 // variance of the offset in units of a crown's: beyond, the other columns can stand in for the step
	fewestFree     = 2     // crowns more than columns, in every fit
)

// Place is a place between two neighbouring crowns of a series, and what a step there would be.
type Place struct {
	After, Before int     // frets on either side
	Offset        float64 // mm; how much higher the crowns after it stand, from all crowns of the series
	Least         float64 // mm; the least offset, in the direction of Offset, with any one crown or two neighbours left out
	Statistic     float64 // likewise the least t
}

// Series is a row of heights in which a step was looked for.
type Series struct {
	// Difference tells the track's developed heights less the mean of the other tracks' from those heights themselves. With two tracks
	// there is one difference, of the first less the second, and a step in it may be of either.
	Difference bool
	Track      int
	Tested     bool  // whether the series has crowns enough and a place where a step can be told
	Strongest  Place // the place of the greatest statistic, whether a step or not
	IsStep     bool
	Step       Place // the step of the greatest statistic
}

// Shape is what the profile's shape says.
type Shape struct {
	Series []Series // the tracks with crowns, then the differences
	Moved  bool     // something moved while it was measured, or the neck has a step of its own
	// Of is the series that Step is told by: the track's own of the greatest statistic goes before those of differences.
	Of   Series
	Step Place
}

// Again reports whether the step told was there before the track was measured again in one go: in the same series, at the same place and
// with an offset within 0.03 mm (practice). Then it is the neck's own: a partial refret, a block of high frets.
func (s Shape) Again(before Shape) bool {
	for _, b := range before.Series {
		if s.Moved && b.IsStep && b.Difference == s.Of.Difference && b.Track == s.Of.Track {
			return b.Step.After == s.Step.After && b.Step.Before == s.Step.Before && math.Abs(b.Step.Offset-s.Step.Offset) <= SameOffset
		}
	}
	return false
}

// FindStep looks for a place in a profile after which all crowns stand higher or lower by one offset: something moved while it was
// measured (definition; figures practice).
//
// The series are each track's developed heights over its measured frets 1 to b, and, over every fret measured on all tracks that have
// crowns, also beyond b, each track less the mean of the others. With w = (x - x_b)/L, x the track's own places or in a difference the
// centre line's, each is fitted by least squares with 1, w, min(w,0)^2, min(w,0)^3, in a difference also max(w,0), and H, 0 up to the
// place and 1 after it, whose coefficient is the offset delta. Its statistic is t = delta/(s sqrt(C)), C the diagonal element of
// (A'A)^-1 and s = max(sqrt(RSS/(n - p)), u), in a difference sqrt(2) u. There is no slope after the step: the cubic takes most of a
// move's tilt and the test is twice as sharp.
//
// So that one or two high frets are no step, every fit is made again with each crown and with each two neighbouring crowns of the series
// left out; the least t and the least offset of all fits count, in the direction of the whole fit's offset. A place has four crowns or
// more on either side, and C <= 10,000 and n - p >= 2 in every fit, columns that depend on others not counting; a series has twelve
// crowns or more. A place is a step where t is over 6 and the least offset over 0.030 mm.
//
// It cannot see a move with fewer than four crowns on either side, between two tracks, of all tracks at once beyond b - 4, or beyond
// b - 4 with a single track; nor a pure tilt about the place; nor most moves below 0.1 mm.
//
// crowns are those of one laying in any order; u, mm, is that of a reading from resolution and repeatability alone. Errors: ErrNeck,
// ErrCrown.
func FindStep(neck Neck, crowns []Crown, u float64) (Shape, error) {
	if err := checkUncertainty(u); err != nil {
		return Shape{}, err
	}
	z, err := neck.grid(crowns)
	if err != nil {
		return Shape{}, err
	}
	var shape Shape
	var s search
	var measured []int // tracks with crowns
	for t := range z {
		if s.own(&neck, z, t) {
			measured = append(measured, t)
			shape.Series = append(shape.Series, s.series(Series{Track: t}, u))
		}
	}
	differences := len(measured)
	if differences <= 2 {
		differences-- // one track has none, two have one
	}
	for i := range differences {
		s.difference(&neck, z, measured, measured[i])
		shape.Series = append(shape.Series, s.series(Series{Difference: true, Track: measured[i]}, math.Sqrt2*u))
	}
	shape.decide()
	return shape, nil
}

// decide sets the step of the greatest statistic; a track's own goes before those of differences, which follow in the series.
func (s *Shape) decide() {
	for _, of := range s.Series {
		if of.Difference && s.Moved && !s.Of.Difference {
			return
		}
		if of.IsStep && (!s.Moved || of.Step.Statistic > s.Step.Statistic) {
			s.Moved, s.Of, s.Step = true, of, of.Step
		}
	}
}

// search looks for a step in one series after another, in the same memory.
type search struct {
	frets  []int
	w, z   []float64
	places []Place
	free   []bool // of each place, whether every fit so far could be made

	whole  basis // the columns but H over the whole series
	basis  basis // the same with crowns left out
	column []float64
	rest   []float64
}

// own gathers a track's heights up to the joint; false where the track has no crowns at all.
func (s *search) own(neck *Neck, z [][]float64, track int) (measured bool) {
	s.clear()
	x := neck.Tracks[track].X
	for fret := 1; fret <= neck.Last; fret++ {
		if math.IsNaN(z[track][fret]) {
			continue
		}
		measured = true
		if fret <= neck.Joint {
			s.append(fret, (x[fret]-x[neck.Joint])/neck.Scale, z[track][fret])
		}
	}
	return measured
}

// difference gathers a track's heights less the mean of the other measured tracks', where all have crowns.
func (s *search) difference(neck *Neck, z [][]float64, measured []int, track int) {
	s.clear()
	for fret := 1; fret <= neck.Last; fret++ {
		others := 0.0
		for _, o := range measured {
			if o != track {
				others += z[o][fret] // NaN where a track has no crown there
			}
		}
		if d := z[track][fret] - others/float64(len(measured)-1); !math.IsNaN(d) {
			s.append(fret, (neck.Centre[fret]-neck.Centre[neck.Joint])/neck.Scale, d)
		}
	}
}

func (s *search) clear() { s.frets, s.w, s.z = s.frets[:0], s.w[:0], s.z[:0] }

func (s *search) append(fret int, w, z float64) {
	s.frets, s.w, s.z = append(s.frets, fret), append(s.w, w), append(s.z, z)
}

// series tries every place of the series that was appended; u is that of its values.
func (s *search) series(of Series, u float64) Series {
	n := len(s.z)
	if n < fewestInSeries {
		return of
	}
	columns := 4
	if of.Difference {
		columns = 5
	}
	s.whole.reset(n)
	for c := range columns {
		s.column = s.column[:0]
		for _, w := range s.w {
			s.column = append(s.column, column(c, w))
		}
		s.whole.add(s.column, length(s.column))
	}
	s.places, s.free = s.places[:0], s.free[:0]
	for p := fewestBeside; p <= n-fewestBeside; p++ {
		s.places = append(s.places, Place{After: s.frets[p-1], Before: s.frets[p], Least: math.Inf(1), Statistic: math.Inf(1)})
		s.free = append(s.free, true)
	}
	s.fit(0, 0, u)
	for out := 1; out <= 2; out++ {
		for from := 0; from+out <= n; from++ {
			s.fit(from, out, u)
		}
	}
	for i, p := range s.places {
		if !s.free[i] {
			continue
		}
		if !of.Tested || p.Statistic > of.Strongest.Statistic {
			of.Tested, of.Strongest = true, p
		}
		if p.Statistic > StepStatistic && p.Least > StepOffset && (!of.IsStep || p.Statistic > of.Step.Statistic) {
			of.IsStep, of.Step = true, p
		}
	}
	return of
}

// fit tries every place with crowns from, from+1, ... left out, out of them. The columns but H are the same for every place, so
// they are orthonormalised once (from those of the whole series, which are nearly so already), and what is left of the heights and of H beyond them gives the offset, its variance and the sum of
// squares (R. Frisch and F. V. Waugh, Econometrica 1 (1933), pp. 387-401).
func (s *search) fit(from, out int, u float64) {
	s.basis.reset(len(s.z) - out)
	for k := range s.whole.rank {
		q := s.whole.q[k]
		s.column = append(append(s.column[:0], q[:from]...), q[from+out:]...)
		s.basis.add(s.column, 1)
	}
	s.rest = append(append(s.rest[:0], s.z[:from]...), s.z[from+out:]...)
	s.basis.project(s.rest)
	squares := dot(s.rest, s.rest)
	free := len(s.rest) - s.basis.rank - 1

	// From the last crown backwards: of all crowns after the place, how many, the sum of what is left of their heights, and the sums of
	// the orthonormal columns.
	var count, heights float64
	var along [mostColumns]float64
	row := len(s.rest)
	for p := len(s.places) - 1; p >= 0; p-- {
		first := p + fewestBeside // row of the first crown after the place
		if first >= from+out {
			first -= out
		} else if first > from {
			first = from
		}
		for row > first {
			row--
			count++
			heights += s.rest[row]
			for k := range s.basis.rank {
				along[k] += s.basis.q[k][row]
			}
		}
		left := count // of H's sum of squares, beyond the columns
		for k := range s.basis.rank {
			left -= along[k] * along[k]
		}
		if !s.free[p] || left*mostC < 1 || free < fewestFree {
			s.free[p] = false
			continue
		}
		place := &s.places[p]
		delta := heights / left
		if out == 0 {
			place.Offset = delta
		}
		delta = math.Copysign(1, place.Offset) * delta
		scatter := math.Sqrt(max(0, squares-heights*heights/left) / float64(free))
		place.Least = min(place.Least, delta)
		place.Statistic = min(place.Statistic, delta*math.Sqrt(left)/max(scatter, u))
	}
}

// column returns what column c has at w.
func column(c int, w float64) float64 {
	before := min(w, 0)
	switch c {
	case 0:
		return 1
	case 1:
		return w
	case 2:
		return before * before
	case 3:
		return before * before * before
	}
	return max(w, 0)
}
