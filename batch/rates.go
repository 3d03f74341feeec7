package batch

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// Pair counts how many necks of a group and of the rest passed, in one stratum.
type Pair struct{ Passed, Of, RestPassed, RestOf int }

// Plus adds two up.
func (p Pair) Plus(o Pair) Pair {
	return Pair{p.Passed + o.Passed, p.Of + o.Of, p.RestPassed + o.RestPassed, p.RestOf + o.RestOf}
}

// Rates compare the pass rate of a group with that of the rest within strata: the difference of the rates, group less rest, a
// share. Where no stratum holds both, Told is 0 and P 1.
type Rates struct {
	Comparison
	OddsRatio float64 // of passing; NaN where it is not defined
	Told      int     // necks of the group in strata that hold others too
}

// DifferenceOfRates compares rates within strata, each with a of n1 in the group, b of n0 in the rest, N = n1 + n0, m1 = a + b
// passed and m0 = N - m1 not:
//
//	difference  sum (a n0 - b n1)/N / W,  W = sum n1 n0/N
//	its variance  (difference P + Q)/W^2,  P = sum (n1^2 b - n0^2 a + n1 n0 (n0 - n1)/2)/N^2,  Q = sum (a (n0 - b) + b (n1 - a))/(2 N)
//	odds ratio  sum a (n0 - b)/N / sum b (n1 - a)/N
//	P from chi-square with one degree of freedom, (sum a - sum n1 m1/N)^2 / sum n1 n0 m1 m0/(N^2 (N - 1))
//
// without a correction for continuity. Strata that hold one side alone say nothing. Sources: W. G. Cochran, Biometrics 10
// (1954) 417-451; N. Mantel and W. Haenszel, Journal of the National Cancer Institute 22 (1959) 719-748; the variance: T. Sato,
// Biometrics 45 (1989) 1323-1324.
func DifferenceOfRates(strata []Pair, confidence float64) Rates {
	var top, weight, p, q, more, less, over, expected, spread float64
	r := Rates{}
	r.P = 1
	for _, s := range strata {
		if s.Of == 0 || s.RestOf == 0 {
			continue
		}
		r.Told += s.Of
		a, n1, b, n0 := float64(s.Passed), float64(s.Of), float64(s.RestPassed), float64(s.RestOf)
		n := n1 + n0
		top += (a*n0 - b*n1) / n
		weight += n1 * n0 / n
		p += (n1*n1*b - n0*n0*a + n1*n0*(n0-n1)/2) / (n * n)
		q += (a*(n0-b) + b*(n1-a)) / (2 * n)
		more += a * (n0 - b) / n
		less += b * (n1 - a) / n
		over += a
		expected += n1 * (a + b) / n
		spread += n1 * n0 * (a + b) * (n - a - b) / (n * n * (n - 1))
	}
	if r.Told == 0 {
		return r
	}
	r.Value = top / weight
	half := distuv.UnitNormal.Quantile((1+confidence)/2) * math.Sqrt(max(0, (r.Value*p+q)/(weight*weight)))
	r.Low, r.High = r.Value-half, r.Value+half
	r.OddsRatio = more / less
	if spread > 0 {
		r.P = math.Erfc(math.Abs(over-expected) / math.Sqrt(2*spread))
	}
	return r
}

// MeansPair holds the moments of a group and of the rest in one stratum.
type MeansPair struct{ Group, Rest Moments }

// DifferenceWithinStrata compares means within strata: with w = n1 n0/(n1 + n0) and d the difference of the means of each,
//
//	difference D = sum w d / sum w,  D ± t s/sqrt(sum w),  s^2 = (sum of squares about each side's mean + sum w (d - D)^2)/df
//
// df = N - strata - 1: least squares with a level for each stratum and one effect of the group. Strata that hold one side alone
// say nothing; told is how many values of the group the others hold, 0 where no comparison is defined.
// Source: G. W. Snedecor and W. G. Cochran, Statistical Methods (two-way classification with unequal numbers).
func DifferenceWithinStrata(strata []MeansPair, confidence float64) (c Comparison, told int) {
	var top, weight, squares float64
	n, used := 0, 0
	for _, s := range strata {
		if s.Group.N == 0 || s.Rest.N == 0 {
			continue
		}
		told += s.Group.N
		n, used = n+s.Group.N+s.Rest.N, used+1
		w := float64(s.Group.N) * float64(s.Rest.N) / float64(s.Group.N+s.Rest.N)
		top += w * (s.Group.Mean - s.Rest.Mean)
		weight += w
		squares += s.Group.M2 + s.Rest.M2
	}
	df := float64(n - used - 1)
	if told == 0 || df < 1 {
		return Comparison{P: 1}, 0
	}
	c.Value = top / weight
	for _, s := range strata {
		if s.Group.N > 0 && s.Rest.N > 0 {
			off := s.Group.Mean - s.Rest.Mean - c.Value
			squares += float64(s.Group.N) * float64(s.Rest.N) / float64(s.Group.N+s.Rest.N) * off * off
		}
	}
	se := math.Sqrt(squares / df / weight)
	if se == 0 {
		return Comparison{P: 1}, 0
	}
	half := distuv.StudentsT{Sigma: 1, Nu: df}.Quantile((1+confidence)/2) * se
	c.Low, c.High = c.Value-half, c.Value+half
	t := c.Value / se
	c.P = mathext.RegIncBeta(df/2, 0.5, df/(df+t*t))
	return c, told
}

// differ is the probability that comparisons of one and the same difference lie as far apart as these: Q = sum (value - mean)^2/
// variance is chi-square, variance by the interval's width. 1 below two. Source: W. G. Cochran, Biometrics 10 (1954) 101-129.
func differ(all []Comparison, confidence float64) float64 {
	z := distuv.UnitNormal.Quantile((1 + confidence) / 2)
	var weight, sum float64
	n := 0
	for _, c := range all {
		if se := (c.High - c.Low) / (2 * z); se > 0 {
			weight, sum, n = weight+1/(se*se), sum+c.Value/(se*se), n+1
		}
	}
	if n < 2 {
		return 1
	}
	q := 0.0
	for _, c := range all {
		if se := (c.High - c.Low) / (2 * z); se > 0 {
			d := (c.Value - sum/weight) / se
			q += d * d
		}
	}
	return mathext.GammaIncRegComp(float64(n-1)/2, q/2)
}
