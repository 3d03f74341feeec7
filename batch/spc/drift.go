package spc

import (
	"fmt"
	"math"

	"sagitta/batch/study"
)

// Average is how an EWMA chart weighs: Lambda of the newest value, above 0 and no more than 1, and the limits' Width in sigmas
// of the average. The zero value is 0.2 and 3.
type Average struct{ Lambda, Width float64 }

// EWMA is the chart of the exponentially weighted moving average of single values, z[i] = lambda x[i] + (1 - lambda) z[i-1],
// z[0] the target (Options.Center, otherwise the base's mean), with the exact limits
//
//	target ± width sigma sqrt(lambda/(2 - lambda) (1 - (1 - lambda)^(2i)))
//
// Sigma, where not given, is the base's mean moving range / d2. With [Options.Prediction] the limits carry the price of the base: the
// width becomes t(P(width); dof) c4(dof + 1), and the variance of the average, about a mean of n points, takes (1 - (1 - lambda)^i)^2/n
// more; an average lies beyond them with the chance that it has with known mean and sigma. A point outside has test 1 among its signals, no other.
// Source: ISO 7870-6; S. W. Roberts, Technometrics 1 (1959) 239-250; NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4.
// After [Options.Gap] values it starts anew at the target. Errors: as [Individuals].
func EWMA(x []float64, a Average, o Options) (Chart, error) {
	c := newChart(EWMAKind, 1, len(x))
	a, err := a.checked()
	if err != nil {
		return Chart{}, err
	}
	target, sigma, err := c.single(x, o)
	if err != nil {
		return Chart{}, err
	}
	c.Sigma = sigma
	c.weigh(x, target, a, o, c.singlePrice(o))
	return c, nil
}

// EWMAOfSubgroups is [EWMA] of the means of equally large subgroups: sigma, where not given, is the base's mean range / d2(n),
// and a mean's sigma is sigma/sqrt(n).
func EWMAOfSubgroups(groups [][]float64, a Average, o Options) (Chart, error) {
	a, err := a.checked()
	if err != nil {
		return Chart{}, err
	}
	if err := checkGroups(groups); err != nil {
		return Chart{}, err
	}
	c := newChart(EWMAKind, len(groups[0]), len(groups))
	ranges := make([]float64, len(groups))
	for i, g := range groups {
		ranges[i] = study.Range(g)
	}
	f := rangeFactors(c.Size)
	means, target, err := c.grouped(groups, ranges, f, o)
	if err != nil {
		return Chart{}, err
	}
	c.weigh(means, target, a, o, c.groupPrice(o, f))
	return c, nil
}

// checked fills in what the zero value stands for and refuses what is out of range.
func (a Average) checked() (Average, error) {
	if a == (Average{}) {
		return Average{0.2, 3}, nil
	}
	if err := checkOption("lambda", a.Lambda, true); err != nil {
		return a, err
	}
	if a.Lambda > 1 {
		return a, OptionError{"lambda", fmt.Sprintf("found %v; allowed: above 0 and no more than 1, usually 0.2", a.Lambda)}
	}
	return a, checkOption("width", a.Width, true)
}

func (c *Chart) weigh(x []float64, target float64, a Average, o Options, p price) {
	c.Center, c.average = target, a
	if o.Prediction != nil {
		c.pays(a.Width, p)
	}
	sigma := multiple(a.Width, p.dof) * c.Sigma / math.Sqrt(float64(c.Size))
	variance := a.Lambda / (2 - a.Lambda)
	z, left := target, 1.0 // left: (1 - lambda)^i
	for i, v := range x {
		if i == o.Gap {
			z, left = target, 1
		}
		z += a.Lambda * (v - z)
		left *= 1 - a.Lambda
		half := sigma * math.Sqrt(variance*(1-left*left)+(1-left)*(1-left)/p.points)
		p := Point{Index: i + 1, Value: z, Lower: target - half, Center: target, Upper: target + half}
		if z < p.Lower || z > p.Upper {
			p.Signals = TestsOf(1)
		}
		c.Points[i] = p
	}
}

// Sums is how a CUSUM chart decides, in sigmas: K the slack, half of the shift to be found, 0 or more; H the decision
// interval, above 0; HeadStart the share of H both sums start from, 0 to below 1, usually 0 or 0.5. Where K and H are both 0,
// they are 0.5 and 5.
type Sums struct{ K, H, HeadStart float64 }

// CUSUM is the tabular CUSUM of single values about the target (Options.Center, otherwise the base's mean):
//
//	high[i] = max(0, high[i-1] + x[i] - target - k sigma)
//	low[i]  = max(0, low[i-1] - x[i] + target - k sigma)
//
// in the values' unit, both starting at HeadStart h sigma. Where one exceeds h sigma, test 1 is among the point's signals;
// the sums go on. Sigma, where not given, is the base's mean moving range / d2. Source: ISO 7870-4; NIST/SEMATECH e-Handbook
// of Statistical Methods, 6.3.2.3; head start: J. M. Lucas and R. B. Crosier, Technometrics 24 (1982) 199-205.
// Errors: as [Individuals].
func CUSUM(x []float64, s Sums, o Options) (Chart, error) {
	c := newChart(CUSUMKind, 1, len(x))
	s, err := s.checked()
	if err != nil {
		return Chart{}, err
	}
	target, sigma, err := c.single(x, o)
	if err != nil {
		return Chart{}, err
	}
	if o.Prediction != nil {
		return Chart{}, OptionError{"limits", "prediction is not used by running sums: their interval is k and h sigmas"}
	}
	c.Center, c.Sigma = target, sigma
	slack, interval, nan := s.K*sigma, s.H*sigma, math.NaN()
	c.Interval = interval
	high := s.HeadStart * interval
	low := high
	for i, v := range x {
		high = max(0, high+(v-target)-slack)
		low = max(0, low-(v-target)-slack)
		p := Point{Index: i + 1, Value: v, Lower: nan, Center: target, Upper: nan, High: high, Low: low}
		if high > interval || low > interval {
			p.Signals = TestsOf(1)
		}
		c.Points[i] = p
	}
	return c, nil
}

// checked fills in what the zero value stands for and refuses what is out of range.
func (s Sums) checked() (Sums, error) {
	if s.K == 0 && s.H == 0 {
		s.K, s.H = 0.5, 5
	}
	if err := checkOption("k", s.K, false); err != nil {
		return s, err
	}
	if s.K < 0 {
		return s, OptionError{"k", fmt.Sprintf("found %v; allowed: 0 or more, usually 0.5", s.K)}
	}
	if !(s.HeadStart >= 0 && s.HeadStart < 1) {
		return s, OptionError{"head start", fmt.Sprintf("found %v; allowed: a share of h, 0 or more and below 1, usually 0.5", s.HeadStart)}
	}
	return s, checkOption("h", s.H, true)
}
