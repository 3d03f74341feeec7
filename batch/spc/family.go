package spc

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// fitted is a distribution fitted to n values by maximum likelihood (the Normal's sigma with divisor n - 1).
type fitted struct {
	name       Distribution
	parameters [2]float64
	covariance [3]float64 // of the parameters: of the first, of the second, of both together
	statistic  float64    // Anderson-Darling's A^2 and its p
	p          float64
	logs       func(parameters [2]float64, v float64) (below, above float64) // logarithms of the probabilities
	points     func(parameters [2]float64) (low, median, high float64)       // 0.135 %, 50 % and 99.865 %
}

// fitNormal takes mean and standard deviation of values that differ; below [FewestForNormality] the fit is not tested, and its
// statistic and p are NaN.
func fitNormal(x []float64) fitted {
	test, err := AndersonDarling(x)
	if err != nil {
		test = Normality{math.NaN(), math.NaN()}
	}
	mean, s, n := meanOf(x), standardDeviation(x), float64(len(x))
	z := distuv.UnitNormal.Quantile(outer)
	return fitted{name: NormalDistribution, parameters: [2]float64{mean, s}, covariance: [3]float64{s * s / n, s * s / (2 * n), 0},
		statistic: test.Statistic, p: test.P,
		logs:   normalLogs,
		points: func(p [2]float64) (low, median, high float64) { return p[0] + z*p[1], p[0], p[0] - z*p[1] },
	}
}

func normalLogs(p [2]float64, v float64) (below, above float64) {
	z := (v - p[0]) / p[1]
	return logNormalTail(z), logNormalTail(-z)
}

// fitLognormal takes them of the logarithms.
func fitLognormal(x []float64) (fitted, error) {
	d, err := FitLognormal(x)
	if err != nil {
		return fitted{}, err
	}
	n := float64(len(x))
	z := distuv.UnitNormal.Quantile(outer)
	f := fitted{name: LognormalDistribution, parameters: [2]float64{d.Mu, d.Sigma}, covariance: [3]float64{d.Sigma * d.Sigma / n, d.Sigma * d.Sigma / (2 * n), 0},
		logs: func(p [2]float64, v float64) (below, above float64) { return Lognormal{p[0], p[1]}.logs(v) },
		points: func(p [2]float64) (low, median, high float64) {
			l := Lognormal{p[0], p[1]}
			return l.quantile(z), l.quantile(0), l.quantile(-z)
		},
	}
	f.statistic = andersonDarling(sorted(x), d.logs)
	f.p = normalityP(f.statistic * (1 + 0.75/n + 2.25/(n*n)))
	return f, nil
}

// fitWeibull inverts the observed information of shape k and scale c: with t = x/c,
//
//	-d2/dk2 = n/k^2 + sum t^k (ln t)^2,  -d2/dc2 = n k^2/c^2,  -d2/dk dc = -k/c sum t^k ln t
//
// at the maximum, where sum t^k = n. Source: A. C. Cohen, Technometrics 7 (1965) 579-588.
func fitWeibull(x []float64) (fitted, error) {
	d, err := FitWeibull(x)
	if err != nil {
		return fitted{}, err
	}
	first, second := 0.0, 0.0
	for _, v := range x {
		l := math.Log(v / d.Scale)
		t := math.Exp(d.Shape * l)
		first += t * l
		second += t * l * l
	}
	n := float64(len(x))
	kk, cc, kc := n/(d.Shape*d.Shape)+second, n*d.Shape*d.Shape/(d.Scale*d.Scale), -d.Shape/d.Scale*first
	det := kk*cc - kc*kc
	f := fitted{name: WeibullDistribution, parameters: [2]float64{d.Shape, d.Scale}, covariance: [3]float64{cc / det, kk / det, -kc / det},
		logs: func(p [2]float64, v float64) (below, above float64) { return Weibull{p[0], p[1]}.logs(v) },
		points: func(p [2]float64) (low, median, high float64) {
			w := Weibull{p[0], p[1]}
			return w.Scale * math.Pow(-math.Log1p(-outer), 1/w.Shape), w.quantile(0.5), w.quantile(outer)
		},
	}
	f.statistic = andersonDarling(sorted(x), d.logs)
	f.p = weibullP(f.statistic, len(x))
	return f, nil
}

// percentile is its performance between limits.
func (f *fitted) percentile(l Limits) *Percentile {
	p := &Percentile{Distribution: f.name, P: f.p}
	p.Low, p.Median, p.High = f.points(f.parameters)
	p.PP, p.PPK = l.Indices(p.Low, p.Median, p.High)
	return p
}

// place is the index that the parameters give, NaN where it is not defined.
func (f *fitted) place(l Limits, parameters [2]float64) float64 {
	if _, place := l.Indices(f.points(parameters)); place != nil {
		return *place
	}
	return math.NaN()
}

// outside is the share beyond the limits that the parameters give.
func (f *fitted) outside(l Limits, parameters [2]float64) float64 {
	share := 0.0
	if l.Lower != nil && (f.name == NormalDistribution || *l.Lower > 0) {
		below, _ := f.logs(parameters, *l.Lower)
		share += math.Exp(below)
	}
	if l.Upper != nil {
		above := 0.0
		if f.name == NormalDistribution || *l.Upper > 0 {
			_, above = f.logs(parameters, *l.Upper)
		}
		share += math.Exp(above)
	}
	return share
}

// deviation is the standard deviation of a function of the parameters by its gradient (the delta method: M. G. Kendall and
// A. Stuart, The Advanced Theory of Statistics, 10.6).
func (f *fitted) deviation(of func([2]float64) float64) float64 {
	var g [2]float64
	for i := range g {
		up, down := f.parameters, f.parameters
		h := 1e-5 * max(math.Abs(f.parameters[i]), math.Sqrt(f.covariance[i]))
		up[i], down[i] = up[i]+h, down[i]-h
		g[i] = (of(up) - of(down)) / (2 * h)
	}
	c := f.covariance
	return math.Sqrt(g[0]*g[0]*c[0] + g[1]*g[1]*c[1] + 2*g[0]*g[1]*c[2])
}

// exactShare is the two-sided interval of a share k of n. Source: C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404-413.
func exactShare(k, n int, confidence float64) (low, high float64) {
	tail := (1 - confidence) / 2
	low, high = 0, 1
	if k > 0 {
		low = mathext.InvRegIncBeta(float64(k), float64(n-k+1), tail)
	}
	if k < n {
		high = mathext.InvRegIncBeta(float64(k+1), float64(n-k), 1-tail)
	}
	return low, high
}

// surprise is the probability below which a count speaks against the share predicted: common practice, no source.
const surprise = 0.01

// agrees reports whether k of n counted outside are no surprise where a share is predicted, by twice the smaller binomial tail.
func agrees(k, n int, share float64) bool {
	if share <= 0 || share >= 1 {
		return k == 0 && share <= 0 || k == n && share >= 1
	}
	atLeast, atMost := 1.0, 1.0
	if k > 0 {
		atLeast = mathext.RegIncBeta(float64(k), float64(n-k+1), share)
	}
	if k < n {
		atMost = 1 - mathext.RegIncBeta(float64(k+1), float64(n-k), share)
	}
	return 2*min(atLeast, atMost) > surprise
}
