package laying

import (
	"fmt"
	"math"
	"slices"
)

// Figures of the question about a crown (practice, tried on simulated necks).
const (
	QuestionOffset = 0.25 // mm; a crown farther than this from what the others say,
	QuestionSigmas = 4.0  // and by more standard deviations than this, is implausible

	lookedAt       = 5 // crowns last taken
	fewestQuestion = 3 // crowns of a laying
)

// Said is what all other crowns say of one.
type Said struct {
	Crown
	Deviation float64 // e, mm: its height less what they say
	SD        float64 // s, mm: standard deviation of that
}

// implausible reports whether the crown is far from what the others say.
func (s Said) implausible() bool {
	return math.Abs(s.Deviation) > max(QuestionOffset, QuestionSigmas*s.SD)
}

// Look is what was seen of the last crowns taken.
type Look struct {
	Last  []Said // up to five, in the order taken; none before the third crown
	Asked bool
	About int // index, among the crowns taken, of the one asked about; -1 where none is
}

// Question looks at the last five crowns of a laying after each one taken, from the third on: when one is farther from what all other
// crowns of the laying say of it than 0.25 mm and four standard deviations, the one of the five whose deviation is the most of its
// standard deviations is asked about.
//
// What they say is a Gaussian model of necks (practice): developed heights about relief 0.20 mm, each column below times its
// independent standard deviation. q goes from -1 on the outermost bass track to +1 on the treble one by y_nut, and is 0 where there is
// one track; x counts from the track's nut, p = (x_b - x)/x_b before b, e = (x - x_b)/(x_N - x_b) beyond.
//
//	each track's offset                                          10 mm
//	x - x_b; q (x - x_b)                                         0.02; 0.001 mm per mm
//	before b: (x_b - x)^2/((x_k - x_a)(x_b - x_k)), times 1; q   0.3; 0.06 mm
//	          6 sqrt(3) p (1 - p)(1 - 2p), times 1; q            0.08; 0.02 mm
//	beyond b: e^2; sin^2(pi e); e; q e                           0.3; 0.06; 0.08; 0.02 mm
//	each fret; each crown                                        0.012 mm; sqrt(0.012^2 + u^2)
//
// With K that covariance and v the heights less 0.20 mm of bow, e_i = (K^-1 v)_i/(K^-1)_ii and s_i = 1/sqrt((K^-1)_ii): the crown's
// residual from the mean that all others give it, and its standard deviation (C. E. Rasmussen and C. K. I. Williams, Gaussian Processes
// for Machine Learning (2006), equations 5.10 to 5.12).
//
// taken are the crowns of one laying in the order taken, the last one last. Those that somebody said are so are left out: nobody is
// asked twice, and their neighbours are not judged by them. u, mm, is that of a reading from resolution and repeatability alone.
// Errors: ErrNeck, ErrCrown.
func Question(neck Neck, taken []Crown, u float64) (Look, error) {
	look := Look{About: -1}
	if err := checkUncertainty(u); err != nil {
		return look, err
	}
	if _, err := neck.grid(taken); err != nil {
		return look, err
	}
	n := len(taken)
	if n < fewestQuestion {
		return look, nil
	}
	from := max(0, n-lookedAt)
	last, err := newModel(neck, taken, u).leaveOneOut(from)
	if err != nil {
		return look, err
	}
	look.Last = last
	most := 0.0
	for i, s := range last {
		look.Asked = look.Asked || s.implausible()
		if ratio := math.Abs(s.Deviation) / s.SD; ratio > most {
			most, look.About = ratio, from+i
		}
	}
	if !look.Asked {
		look.About = -1
	}
	return look, nil
}

// shapes is how many columns all tracks share.
const shapes = 10

// shapeSD is the standard deviation of each of them, in the order of shape.
var shapeSD = [shapes]float64{0.02, 0.001, 0.3, 0.06, 0.08, 0.02, 0.3, 0.06, 0.08, 0.02}

// Other figures of the model, mm.
const (
	offsetSD   = 10.0
	fretSD     = 0.012
	crownSD    = 0.012
	bowOfModel = 0.20
)

// shape returns the columns at a crown, each times its standard deviation, and the bow of 1 mm of relief. q is how far across its track
// lies.
func shape(neck *Neck, c Crown, q float64) (columns [shapes]float64, bow float64) {
	places := neck.Tracks[c.Track].X
	x, xa, xk, xb, xN := places[c.Fret], places[neck.Datum], places[neck.Relief], places[neck.Joint], places[neck.Last]
	columns[0], columns[1] = x-xb, q*(x-xb)
	if x < xb {
		bow = (xb - x) * (xb - x) / ((xk - xa) * (xb - xk))
		p := (xb - x) / (xb - places[0])
		s := 6 * math.Sqrt(3) * p * (1 - p) * (1 - 2*p)
		columns[2], columns[3], columns[4], columns[5] = bow, q*bow, s, q*s
	} else if x > xb {
		e := (x - xb) / (xN - xb)
		hump := math.Sin(math.Pi * e)
		columns[6], columns[7], columns[8], columns[9] = e*e, hump*hump, e, q*e
	}
	for i, sd := range shapeSD {
		columns[i] *= sd
	}
	return columns, bow
}

// across returns q of each track.
func (n *Neck) across() []float64 {
	q := make([]float64, len(n.Tracks))
	if len(q) < 2 {
		return q
	}
	at := func(t Track) float64 { return t.Y[0] }
	bass, treble := at(n.Tracks[0]), at(n.Tracks[0])
	for _, t := range n.Tracks {
		bass, treble = min(bass, at(t)), max(treble, at(t))
	}
	for i, t := range n.Tracks {
		if treble > bass {
			q[i] = (2*at(t) - bass - treble) / (treble - bass)
		}
	}
	return q
}

// model is the covariance of the crowns taken, factored, and their heights.
type model struct {
	taken  []Crown
	factor [][]float64 // Cholesky's factor, its lower rows
	v      []float64   // heights less the model's bow
}

// newModel fills in and factors the covariance; a pivot that is not positive, which the crowns' own scatter rules out but for rounding,
// shows as NaN.
func newModel(neck Neck, taken []Crown, u float64) model {
	n := len(taken)
	m := model{taken: taken, factor: make([][]float64, n), v: make([]float64, n)}
	q := neck.across()
	columns := make([][shapes]float64, n)
	for i, c := range taken {
		var bow float64
		columns[i], bow = shape(&neck, c, q[c.Track])
		m.v[i] = c.Z - bowOfModel*bow
	}
	all := make([]float64, n*(n+1)/2)
	for i, c := range taken {
		row := all[:i+1]
		all = all[i+1:]
		m.factor[i] = row
		for j := range row {
			for s, v := range columns[i] {
				row[j] += v * columns[j][s]
			}
			if taken[j].Track == c.Track {
				row[j] += offsetSD * offsetSD
			}
			if taken[j].Fret == c.Fret {
				row[j] += fretSD * fretSD
			}
		}
		row[i] += crownSD*crownSD + u*u
		for j := range row {
			sum := row[j] - dot(row[:j], m.factor[j][:j])
			if j < i {
				row[j] = sum / m.factor[j][j]
			} else {
				row[j] = math.Sqrt(sum)
			}
		}
	}
	return m
}

// leaveOneOut returns what all others say of each crown from the given one on. The inverse of the covariance is L'^-1 L^-1, of which
// the last rows and columns need only the last rows and columns of the factor L.
func (m model) leaveOneOut(from int) ([]Said, error) {
	n := len(m.taken)
	y := slices.Clone(m.v)
	for i := range y {
		y[i] = (y[i] - dot(m.factor[i][:i], y[:i])) / m.factor[i][i]
	}
	for i := n - 1; i >= from; i-- { // K^-1 v
		for j := i + 1; j < n; j++ {
			y[i] -= m.factor[j][i] * y[j]
		}
		y[i] /= m.factor[i][i]
	}
	var said []Said
	var column [lookedAt]float64 // of L^-1, from its diagonal down
	for i := from; i < n; i++ {
		diagonal := 0.0
		for j := i; j < n; j++ {
			value := 0.0
			if j == i {
				value = 1
			}
			for l := i; l < j; l++ {
				value -= m.factor[j][l] * column[l-i]
			}
			column[j-i] = value / m.factor[j][j]
			diagonal += column[j-i] * column[j-i]
		}
		s := Said{Crown: m.taken[i], Deviation: y[i] / diagonal, SD: 1 / math.Sqrt(diagonal)}
		if math.IsNaN(s.Deviation) || math.IsNaN(s.SD) {
			return nil, fmt.Errorf("%w: what the others say of track %d, fret %d, cannot be told; look at the places of the tracks",
				ErrNeck, s.Track, s.Fret)
		}
		said = append(said, s)
	}
	return said, nil
}
