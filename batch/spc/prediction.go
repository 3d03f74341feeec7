package spc

import (
	"math"
	"sync"

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
	key := [2]float64{width, dof}
	if m, ok := multiplesKnown.Load(key); ok {
		return m.(float64)
	}
	m := -distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Quantile(normalTail(-width)) * c4Of(dof)
	multiplesKnown.Store(key, m)
	return m
}

// multiplesKnown keeps the multiples, of which a batch's charts need the same few.
var multiplesKnown sync.Map

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
		p.dof = freedomOf(v)
	case size == 1:
		p.dof = float64(n - 1)
	default:
		p.dof = float64(n * (size - 1))
	}
	return p
}
