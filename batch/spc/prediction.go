package spc

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Prediction asks for limits that carry the price of their base: n points are a sample, and their mean and sigma are estimates. One
// more value of a steady Normal process lies beyond such limits with the chance beyond that has a value beyond Width known sigmas,
// whatever the base:
//
//	mean ± t(1 - beyond/2; dof) c4(dof + 1) sigma sqrt(1 + 1/n), beyond = 2 P(-Width)
//
// with Student's t; c4, because the sigma of moving ranges (or of ranges, or standard deviations) has no bias and the root of a
// mean of dof squares has that one. Where a centre line is given there is no 1/n, where a sigma is given there is no t. An EWMA takes
// its own width and the variance of its average (see [EWMA]). Source of prediction limits: G. J. Hahn and W. Q. Meeker, Statistical
// Intervals (Wiley, 1991), 4.7; of a mean range taken as chi: P. B. Patnaik, Biometrika 37 (1950) 78-87.
type Prediction struct {
	Width float64 // in known sigmas; 0: 3. Of single values and means; an EWMA has a width of its own
	Plain bool    // dof is n - 1 of single values and the sum of (size - 1) of subgroups, not the estimator's own
}

// width refuses one that is none and fills in the usual one.
func (p *Prediction) width() (float64, error) {
	if p.Width == 0 {
		return 3, nil
	}
	return p.Width, checkOption("width", p.Width, true)
}

// multiple is what a limit at width known sigmas becomes where sigma has dof degrees of freedom (+Inf: known); the price of the mean
// comes on top.
func multiple(width, dof float64) float64 {
	if math.IsInf(dof, 1) {
		return width
	}
	return -distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Quantile(normalTail(-width)) * unbiased(dof)
}

// unbiased is c4(dof + 1), for any dof above 0.
func unbiased(dof float64) float64 {
	if dof > 300 { // as in [C4]
		v := 1 / dof
		return 1 - v/4*(1-v/8*(1+5*v/4*(1-21*v/80)))
	}
	above, _ := math.Lgamma((dof + 1) / 2)
	below, _ := math.Lgamma(dof / 2)
	return math.Sqrt(2/dof) * math.Exp(above-below)
}

// MovingRangeVariance is the variance of the mean moving range of n Normal values over the square of its expectation, n at least 2;
// NaN below. Of the differences, each with variance 2, neighbours are correlated by -1/2; with the means of |d| and of the product
// of two neighbours the k = n - 1 ranges have
//
//	((pi/2 - 1) k + 2 (k - 1) (pi/6 + sqrt(3)/2 - 1)) / k^2
//
// Source: J. D. Cryer and T. P. Ryan, Journal of Quality Technology 22 (1990) 187-192.
func MovingRangeVariance(n int) float64 {
	if n < 2 {
		return math.NaN()
	}
	k := float64(n - 1)
	return ((math.Pi/2-1)*k + 2*(k-1)*(math.Pi/12+math.Sqrt(3)/2-1)) / (k * k)
}

// MovingRangeDegrees are the effective degrees of freedom of the sigma that comes from the mean moving range of n Normal values, at
// least 2 (NaN below): those of the chi whose variance over its squared mean is the same, about 0.61 (n - 1).
// Source: as [Prediction] and [MovingRangeVariance].
func MovingRangeDegrees(n int) float64 { return degreesOf(MovingRangeVariance(n)) }

// degreesOf is the dof whose chi has a relative variance v: 1/c4(dof + 1)^2 - 1 = v.
func degreesOf(v float64) float64 {
	low, high := 1e-3, 1/v+2 // the relative variance falls with dof, about as 1/(2 dof)
	for range 100 {
		mid := (low + high) / 2
		if c := unbiased(mid); 1/(c*c)-1 > v {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// price is what a base does to limits: the points that its mean is from and the degrees of freedom of its sigma, +Inf where a centre
// line or a sigma was given, and where nothing is to be paid for.
type price struct{ points, dof float64 }

// priceOf is the price of n points in the base, each of size values, whose sigma has the relative variance v.
func (o Options) priceOf(n, size int, v float64) price {
	p := price{math.Inf(1), math.Inf(1)}
	if o.Prediction == nil {
		return p
	}
	if o.Center == nil {
		p.points = float64(n)
	}
	switch {
	case o.Sigma != nil:
	case !o.Prediction.Plain:
		p.dof = degreesOf(v)
	case size == 1:
		p.dof = float64(n - 1)
	default:
		p.dof = float64(n * (size - 1))
	}
	return p
}
