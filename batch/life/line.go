package life

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// sample is one relief at one humidity, for a line.
type sample struct {
	visit    int
	level    int // 0, 1, 2 ...: work that changed the relief lies between two levels
	humidity float64
	mm, u    float64
}

// line is relief = level + slope (humidity - middle) with normal errors: each measurement's own uncertainty, and a spread from visit
// to visit that is told from the residuals. What spreads a visit all its measurements have in common, as wood that lags behind the air
// is the same before and after a turn of the rod; where it lies in the hand the intervals are wider than they need be
// (TestSlopeIntervals).
type line struct {
	b      []float64     // the levels, then the slope, mm per % RH
	cov    *mat.SymDense // of b
	df     int
	spread float64 // standard deviation from visit to visit, mm
	middle float64 // % RH
}

// fitLine fits a line by generalised least squares. The spread is the one with which the weighted squares of the residuals are as
// many as the degrees of freedom, and zero where they are fewer already (R. C. Paule and J. Mandel, J. Res. Natl. Bur. Stand. 87
// (1982) 377); that it is estimated widens the covariance (M. G. Kenward and J. H. Roger, Biometrics 53 (1997) 983), and intervals take
// Student's t with the degrees of freedom. They are never narrower than the measurements' own uncertainties make them. All from
// memory. Samples lie in order of their visits. ok is false where there is no degree of freedom, or where no level has two humidities.
func fitLine(samples []sample) (l line, ok bool) {
	levels := 0
	for _, s := range samples {
		levels = max(levels, s.level+1)
		l.middle += s.humidity / float64(len(samples))
	}
	l.df = len(samples) - levels - 1
	if l.df < 1 {
		return l, false
	}
	if !weigh(samples, l.middle, levels, 1).ok {
		return l, false
	}
	spread := 0.0
	if w := weigh(samples, l.middle, levels, spread); !(w.ok && w.squares <= float64(l.df)) {
		spread = spreadOf(func(s float64) bool { return weigh(samples, l.middle, levels, s).squares <= float64(l.df) })
	}
	w := weigh(samples, l.middle, levels, spread)
	l.spread, l.b = spread, mat.Col(nil, 0, &w.b)
	return l, l.covariance(w)
}

// spreadOf is the least spread that is enough.
func spreadOf(enough func(float64) bool) float64 {
	low, high := 0.0, 1e-6
	for !enough(high) {
		low, high = high, 2*high
	}
	for high-low > 1e-12*high {
		if middle := (low + high) / 2; enough(middle) {
			high = middle
		} else {
			low = middle
		}
	}
	return high
}

// weighed is a line fitted with a given spread.
type weighed struct {
	x, z    *mat.Dense // whitened: the levels and the humidity; a column for each visit
	qr      mat.QR
	b       mat.Dense
	squares float64 // weighted, of the residuals; no number where nothing errs
	ok      bool
}

func weigh(samples []sample, middle float64, levels int, spread float64) *weighed {
	n, visits := len(samples), 0
	x, y, z := mat.NewDense(n, levels+1, nil), mat.NewDense(n, 1, nil), mat.NewDense(n, n, nil)
	for i, s := range samples {
		if i == 0 || samples[i-1].visit != s.visit {
			visits++
		}
		x.Set(i, s.level, 1)
		x.Set(i, levels, s.humidity-middle)
		y.Set(i, 0, s.mm)
		z.Set(i, visits-1, 1)
	}
	for from, to := 0, 0; from < n; from = to {
		for to = from; to < n && samples[to].visit == samples[from].visit; to++ {
		}
		factor := factorOf(samples[from:to], spread)
		for _, m := range []*mat.Dense{x, y, z} {
			factor.whiten(m, from)
		}
	}
	w := &weighed{x: x, z: z.Slice(0, n, 0, visits).(*mat.Dense)}
	w.qr.Factorize(x)
	if err := w.qr.SolveTo(&w.b, false, y); err != nil {
		return w
	}
	var left mat.Dense
	left.Mul(x, &w.b)
	left.Sub(y, &left)
	w.squares, w.ok = math.Pow(mat.Norm(&left, 2), 2), true
	return w
}

// covariance takes the line's from the fit, and adds what the spread's own uncertainty makes of it: F + 2 c F (Q - P F P) F, with A = z'x,
// P = A'A, Q = A' z'z A and c = 2 / |z'z - A F A'|^2.
func (l *line) covariance(w *weighed) (ok bool) {
	parameters := len(l.b)
	var r, inverse mat.Dense
	w.qr.RTo(&r)
	if err := inverse.Inverse(r.Slice(0, parameters, 0, parameters)); err != nil {
		return false
	}
	l.cov = mat.NewSymDense(parameters, nil)
	l.cov.SymOuterK(1, &inverse)
	var a, p, d, q, rest, between, more mat.Dense
	a.Mul(w.z.T(), w.x)
	p.Mul(a.T(), &a)
	d.Mul(w.z.T(), w.z)
	q.Product(a.T(), &d, &a)
	rest.Product(&a, l.cov, a.T())
	rest.Sub(&d, &rest)
	between.Product(&p, l.cov, &p)
	between.Sub(&q, &between)
	more.Product(l.cov, &between, l.cov)
	c := 2 / math.Pow(mat.Norm(&rest, 2), 2)
	for i := range parameters {
		for j := range i + 1 {
			l.cov.SetSym(i, j, l.cov.At(i, j)+c*(more.At(i, j)+more.At(j, i)))
		}
	}
	return true
}

// factor is the Cholesky factor of one visit's errors, by rows.
type factor [][]float64

func factorOf(samples []sample, spread float64) factor {
	f := make(factor, len(samples))
	for i, s := range samples {
		f[i] = make([]float64, i+1)
		for j := range i + 1 {
			v := spread * spread
			if i == j {
				v += s.u * s.u
			}
			for k := range j {
				v -= f[i][k] * f[j][k]
			}
			if i == j {
				f[i][i] = math.Sqrt(v)
			} else {
				f[i][j] = v / f[j][j]
			}
		}
	}
	return f
}

// whiten multiplies the visit's rows of m by the factor's inverse.
func (f factor) whiten(m *mat.Dense, from int) {
	_, columns := m.Dims()
	for c := range columns {
		for i, row := range f {
			v := m.At(from+i, c)
			for k := range i {
				v -= row[k] * m.At(from+k, c)
			}
			m.Set(from+i, c, v/row[i])
		}
	}
}

// slope returns the slope and its standard uncertainty, mm per % RH.
func (l *line) slope() (slope, u float64) {
	last := len(l.b) - 1
	return l.b[last], math.Sqrt(l.cov.At(last, last))
}

// at returns the relief at a humidity on the last level and its variance, mm.
func (l *line) at(humidity float64) (mm, variance float64) {
	slope, level := len(l.b)-1, len(l.b)-2
	d := humidity - l.middle
	return l.b[level] + d*l.b[slope], l.cov.At(level, level) + 2*d*l.cov.At(level, slope) + d*d*l.cov.At(slope, slope)
}

// covers is how many standard uncertainties an interval of 95 % reaches to either side.
func covers(df int) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(df)}.Quantile(0.975)
}
