package spc

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"sagitta/batch/study"
)

// Basis is what the index of a capability's sentence rests on.
type Basis string

// The bases: three sigma of all values to either side; the points of the distribution that fits best; how many values were
// counted outside, where no distribution fits.
const (
	ByNormal      Basis = "normal"
	ByPercentiles Basis = "percentiles"
	ByCount       Basis = "count"
)

// Performance is how values lie between their limits by what fits them, with two-sided intervals.
type Performance struct {
	Basis        Basis
	Distribution Distribution   // "" by count
	Fit          float64        // p of its Anderson-Darling test; NaN by count and below eight values
	Tried        []Distribution // those that were fitted, whether they agree or not
	Index        *float64       // like Ppk; nil without spread, and by count with no value outside or with all
	Low, High    float64        // its interval; High is +Inf where nothing was counted outside, NaN both where none is defined
	PerMillion   *float64       // outside, predicted; by count, counted
	Fewest, Most float64        // the interval of PerMillion; NaN where the share is too small for one
}

// nearZero is how many standard deviations a Normal distribution's mean has to lie above 0 for values that cannot lie below it:
// more than 3 of 100,000 would.
const nearZero = 4

// performance chooses what an index rests on. Values with two limits that may lie anywhere are Normal unless the
// Anderson-Darling test says otherwise. Those with one limit, those near the 0 that bounds them, and those that are not Normal
// go by the percentiles of the best fitting distribution (Normal among them where 0 is far). A distribution that predicts another
// share outside the limits than is counted is none that fits; where none does, the share counted outside is the basis, turned into
// the index of a Normal distribution with that share: -z(share)/3, z the Normal quantile, of the worse side.
// Sources: ISO 22514-2:2017 (percentile method); see fitted and exactShare for the intervals.
func performance(x []float64, r *CapabilityResult, o CapabilityOptions) Performance {
	l := o.Limits
	p := Performance{Fit: math.NaN(), Low: math.NaN(), High: math.NaN(), Fewest: math.NaN(), Most: math.NaN()}
	if r.SigmaOverall == 0 {
		p.Basis = ByNormal
		return p
	}
	all := tried(x, r, o)
	for _, f := range all {
		p.Tried = append(p.Tried, f.name)
	}
	// one that predicts another share outside than is counted does not agree
	best := bestOf(slices.DeleteFunc(all, func(f fitted) bool { return !agrees(r.Below+r.Above, r.N, f.outside(l, f.parameters)) }))
	if best == nil {
		p.count(r, o.Confidence)
		return p
	}
	z := distuv.UnitNormal.Quantile((1 + o.Confidence) / 2)
	p.Basis, p.Distribution, p.Fit = ByPercentiles, best.name, best.p
	p.predict(best, l, z)
	if best.name == NormalDistribution {
		p.Basis, p.Index = ByNormal, r.PPK
		p.interval(r.CI.PPK)
		return p
	}
	p.Index = study.Defined(best.place(l, best.parameters))
	if p.Index != nil {
		half := z * best.deviation(func(q [2]float64) float64 { return best.place(l, q) })
		p.Low, p.High = *p.Index-half, *p.Index+half
	}
	return p
}

// tried fits the distributions that come into question.
func tried(x []float64, r *CapabilityResult, o CapabilityOptions) (all []fitted) {
	normal := fitNormal(x)
	if !o.Bounded || !NearZero(r.Mean, r.SigmaOverall) {
		all = append(all, normal)
	}
	oneSided := o.Limits.Lower == nil || o.Limits.Upper == nil
	if len(x) >= FewestForNormality && (len(all) == 0 || oneSided || study.Significant(&normal.p)) {
		all = append(all, positiveFits(x)...)
	}
	return all
}

func (p *Performance) interval(i *Interval) {
	if i != nil {
		p.Low, p.High = i[0], i[1]
	}
}

// predict fills in the share outside, its interval on the scale of logarithms.
func (p *Performance) predict(f *fitted, l Limits, z float64) {
	share := f.outside(l, f.parameters)
	p.PerMillion = study.Defined(1e6 * share)
	spread := f.deviation(func(q [2]float64) float64 { return math.Log(f.outside(l, q)) })
	if share > 0 && !math.IsNaN(spread) && !math.IsInf(spread, 0) {
		p.Fewest, p.Most = 1e6*share*math.Exp(-z*spread), min(1e6, 1e6*share*math.Exp(z*spread))
	}
}

// count takes what was counted.
func (p *Performance) count(r *CapabilityResult, confidence float64) {
	outside := r.Below + r.Above
	low, high := exactShare(outside, r.N, confidence)
	p.Basis = ByCount
	p.PerMillion, p.Fewest, p.Most = study.Defined(1e6*float64(outside)/float64(r.N)), 1e6*low, 1e6*high
	p.Index, p.Low, p.High = CountedIndex(max(r.Below, r.Above), r.N, confidence)
}

// CountedIndex is the Ppk of a Normal process that has k of n values beyond one limit, -z(k/n)/3, with its two-sided interval; n is at
// least 1. The index is nil where none or all lie beyond it, and the interval's end infinite there.
func CountedIndex(k, n int, confidence float64) (at *float64, low, high float64) {
	of := func(share float64) float64 { return -distuv.UnitNormal.Quantile(share) / 3 }
	least, most := exactShare(k, n, confidence)
	return study.Defined(of(float64(k) / float64(n))), of(most), of(least)
}

// NearZero reports whether values that cannot lie below 0 come too near to it for a Normal distribution.
func NearZero(mean, sd float64) bool { return mean <= nearZero*sd }

// Outline is what is known of values without the single ones: their number, mean and standard deviation, and how many were judged
// outside their limits.
type Outline struct {
	N        int
	Mean, SD float64
	Outside  int
	Limits   Limits
	Bounded  bool // they cannot lie below 0
}

// Performance is an index like Ppk with its two-sided interval, of at least two values: by the Normal distribution where it
// may be taken for granted, with two limits and away from the 0 that bounds the values; else by the share judged outside, as
// [CountedIndex] has it. Nil with no limit or no spread.
func (s Outline) Performance(confidence float64) (p Performance) {
	l := s.Limits
	switch {
	case l.Lower == nil && l.Upper == nil || s.N < 2 || !(s.SD > 0):
		return Performance{Low: math.NaN(), High: math.NaN()}
	case l.Lower == nil || l.Upper == nil || s.Bounded && NearZero(s.Mean, s.SD):
		p.Basis = ByCount
		p.Index, p.Low, p.High = CountedIndex(min(s.Outside, s.N), s.N, confidence)
		return p
	}
	p.Basis, p.Distribution = ByNormal, NormalDistribution
	_, p.Index = l.Indices(s.Mean-3*s.SD, s.Mean, s.Mean+3*s.SD)
	p.interval(placeInterval(p.Index, s.N, float64(s.N-1), confidence))
	return p
}
