package spc

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
	"sagitta/batch/study"
)

// FewForCapability is the number of values below which capability is stated only with a warning.
// Common practice, no source; ISO 22514-2 asks for more.
const FewForCapability = 25

// Capable is the index that a process is usually asked for: common practice, no source.
const Capable = 1.33

// wanders is the ratio of the sigma of all values to the one inside subgroups above which the level is said to wander: common
// practice, no source.
const wanders = 1.2

// Finding is one thing that is to be known of a capability; its numbers stand in the result.
type Finding string

// How a process lies in its limits, by its index: Capable or more, 1 or more, less; that no index is defined; and that nothing was
// counted outside by too few values to say that it fits.
const (
	Fits     Finding = "fits its limits"
	JustFits Finding = "just fits its limits"
	Misfits  Finding = "does not fit its limits"
	NoSpread Finding = "no spread"
	Untold   Finding = "too few values to tell whether it fits its limits"
)

// What goes with it.
const (
	FewValues      Finding = "few values"
	Unsettled      Finding = "the interval reaches into another answer"
	NormalUntested Finding = "too few values to test for normality"
	IsNormal       Finding = "normal"
	FitsAnother    Finding = "another distribution fits"
	FitsNone       Finding = "no distribution fits"
	Wanders        Finding = "level wanders"
)

// fitOf judges an index.
func fitOf(index float64) Finding {
	switch {
	case index >= Capable:
		return Fits
	case index >= 1:
		return JustFits
	}
	return Misfits
}

// Verdict judges how the process lies in its limits, and says what has to be known with it.
func (r CapabilityResult) Verdict() (answer Finding, more []Finding) {
	p := r.Performance
	switch {
	case r.SigmaOverall == 0:
		answer = NoSpread
	case p.Index != nil:
		if answer = fitOf(*p.Index); fitOf(p.Low) != answer || fitOf(p.High) != answer {
			more = append(more, Unsettled)
		}
	case p.Low > 0 && fitOf(p.Low) == Fits: // none was counted outside
		answer = Fits
	case r.Below+r.Above > 0: // none within
		answer = Misfits
	default:
		answer = Untold
	}
	if r.N < FewForCapability {
		more = append(more, FewValues)
	}
	switch {
	case answer == NoSpread:
		return answer, more
	case p.Basis == ByCount:
		more = append(more, FitsNone)
	case p.Basis == ByPercentiles:
		more = append(more, FitsAnother)
	case r.Normality == nil:
		more = append(more, NormalUntested)
	default:
		more = append(more, IsNormal)
	}
	told := r.Subgrouped || r.Steadiness.Judge() != Steady // single values that were tested and found steady do not wander
	if told && r.SigmaWithin > 0 && r.SigmaOverall > wanders*r.SigmaWithin {
		more = append(more, Wanders)
	}
	return answer, more
}

// Limits are the specification's; nil where there is none, at least one must be there.
type Limits struct{ Lower, Upper *float64 }

// CapabilityOptions are a capability's settings. The zero value has no limits and is refused; Confidence 0 is 0.95.
type CapabilityOptions struct {
	Limits       Limits
	Target       *float64     // for Cpm; nil: none
	Confidence   float64      // of the two-sided intervals, above 0 and below 1
	Distribution Distribution // of the percentile method; empty: the better fitting one, where it fits
	Bounded      bool         // values cannot lie below 0
	Effective    bool         // the intervals of Cp and Cpk take the freedom of a sigma from moving ranges, not n - 1; see [MovingRangeFreedom]
}

// Interval is a confidence interval: lower and upper end.
type Interval [2]float64

// CapabilityResult is how a process lies in its limits. What is undefined is nil: Cp and Pp with one limit, every index where
// its sigma is 0, an interval where its index is nil, normality for fewer than eight or equal values.
type CapabilityResult struct {
	N            int                 `json:"n"`
	Mean         float64             `json:"mean"`
	SigmaWithin  float64             `json:"sigma_within"`
	SigmaOverall float64             `json:"sigma_overall"`
	CP           *float64            `json:"cp"`  // (upper - lower)/(6 sigma within)
	CPK          *float64            `json:"cpk"` // smaller of (upper - mean)/(3 sigma within) and (mean - lower)/(3 sigma within)
	PP           *float64            `json:"pp"`  // the same with the overall sigma
	PPK          *float64            `json:"ppk"`
	CI           CapabilityIntervals `json:"ci"`
	Normality    *Normality          `json:"normality"`
	Percentile   *Percentile         `json:"percentile"`
	Expected     *float64            `json:"expected_per_million"` // nonconforming, if Normal with the mean and the overall sigma

	CPM        *float64 `json:"-"` // (upper - lower)/(6 sqrt(sigma overall^2 + (mean - target)^2)); nil without target or a limit
	Below      int      `json:"-"` // values counted below the lower limit
	Above      int      `json:"-"` // and above the upper
	DFWithin   float64  `json:"-"` // degrees of freedom of the intervals of Cp and Cpk
	Subgrouped bool     `json:"-"` // sigma within from subgroups; otherwise from moving ranges

	Confidence  float64     `json:"-"` // of every interval
	Steadiness  Steadiness  `json:"-"`
	Performance Performance `json:"-"` // what the sentence rests on
}

// CapabilityIntervals are two-sided confidence intervals about the indices.
type CapabilityIntervals struct {
	CP  *Interval `json:"cp"`
	CPK *Interval `json:"cpk"`
	PP  *Interval `json:"pp"`
	PPK *Interval `json:"ppk"`
}

// Capability judges single values in the order they were taken, at least two: sigma within is the mean moving range / d2(2), its
// intervals take n - 1 degrees of freedom unless the options say otherwise. Indices after ISO 22514-2:2017 and the usage of Statistical Process Control (AIAG,
// 2nd ed.); Cpm: L. K. Chan, S. W. Cheng and F. A. Spiring, Journal of Quality Technology 20 (1988) 162-175.
// Errors: [ValueError], [OptionError], too few values.
func Capability(x []float64, o CapabilityOptions) (CapabilityResult, error) {
	if err := checkValues(x); err != nil {
		return CapabilityResult{}, err
	}
	if len(x) < 2 {
		return CapabilityResult{}, tooFew(len(x), "value", "at least 2")
	}
	dof := float64(len(x) - 1)
	if o.Effective {
		dof = MovingRangeFreedom(len(x))
	}
	return capability(x, movingRangeSigma(x), dof, o)
}

// CapabilityOfSubgroups judges subgroups, which may be of unequal sizes: sigma within is the pooled standard deviation about the
// subgroups' means, dof = sum of (size - 1), over c4(dof + 1). At least one subgroup must hold two values. Otherwise as
// [Capability].
func CapabilityOfSubgroups(groups [][]float64, o CapabilityOptions) (CapabilityResult, error) {
	x := flatten(groups)
	if err := checkValues(x); err != nil {
		return CapabilityResult{}, err
	}
	squares, dof := 0.0, 0
	for i, g := range groups {
		if len(g) == 0 {
			return CapabilityResult{}, GroupError{i + 1, "found no values; needed: at least 1"}
		}
		_, ss := study.Moments(g)
		squares += ss
		dof += len(g) - 1
	}
	if dof == 0 {
		return CapabilityResult{}, fmt.Errorf("every subgroup holds one value; needed: at least one with 2, or no subgroups")
	}
	r, err := capability(x, math.Sqrt(squares/float64(dof))/C4(dof+1), float64(dof), o)
	r.Subgrouped = true
	return r, err
}

func capability(x []float64, within, dof float64, o CapabilityOptions) (CapabilityResult, error) {
	if o.Confidence == 0 {
		o.Confidence = 0.95
	}
	if err := o.check(); err != nil {
		return CapabilityResult{}, err
	}
	l := o.Limits
	r := CapabilityResult{N: len(x), Mean: meanOf(x), SigmaWithin: within, SigmaOverall: standardDeviation(x), DFWithin: dof, Confidence: o.Confidence}
	r.CP, r.CPK = l.Indices(r.Mean-3*within, r.Mean, r.Mean+3*within)
	r.PP, r.PPK = l.Indices(r.Mean-3*r.SigmaOverall, r.Mean, r.Mean+3*r.SigmaOverall)
	r.CI = CapabilityIntervals{
		CP: spreadInterval(r.CP, dof, o.Confidence), CPK: placeInterval(r.CPK, r.N, dof, o.Confidence),
		PP: spreadInterval(r.PP, float64(r.N-1), o.Confidence), PPK: placeInterval(r.PPK, r.N, float64(r.N-1), o.Confidence),
	}
	if o.Target != nil && l.Lower != nil && l.Upper != nil {
		r.CPM = study.Defined((*l.Upper - *l.Lower) / (6 * math.Hypot(r.SigmaOverall, r.Mean-*o.Target)))
	}
	r.Expected = l.expected(r.Mean, r.SigmaOverall)
	for _, v := range x {
		switch {
		case l.Lower != nil && v < *l.Lower:
			r.Below++
		case l.Upper != nil && v > *l.Upper:
			r.Above++
		}
	}
	if test, err := AndersonDarling(x); err == nil { // too few or equal values: not defined
		r.Normality = &test
	}
	var err error
	if r.Percentile, err = percentile(x, l, o.Distribution); err != nil {
		return r, err
	}
	r.Steadiness = SteadinessOf(x)
	r.Performance = performance(x, &r, o)
	return r, nil
}

func (o CapabilityOptions) check() error {
	l := o.Limits
	if l.Lower == nil && l.Upper == nil {
		return OptionError{"lower", "there is no limit; needed: lower, upper or both"}
	}
	for _, option := range []struct {
		name  string
		value *float64
	}{{"lower", l.Lower}, {"upper", l.Upper}, {"target", o.Target}} {
		if option.value == nil {
			continue
		}
		if err := checkOption(option.name, *option.value, false); err != nil {
			return err
		}
	}
	switch {
	case l.Lower != nil && l.Upper != nil && !(*l.Lower < *l.Upper):
		return OptionError{"lower", fmt.Sprintf("found %v; allowed: below the upper limit, %v", *l.Lower, *l.Upper)}
	case !(o.Confidence > 0 && o.Confidence < 1):
		return OptionError{"confidence", fmt.Sprintf("found %v; allowed: above 0 and below 1, usually 0.95", o.Confidence)}
	}
	return nil
}

// Indices are (upper - lower)/(high - low) and the smaller of (upper - mid)/(high - mid) and (mid - lower)/(mid - low), low to
// high being where the process lies: three sigma to either side, or its 0.135 % and 99.865 % points. Nil where a limit that is
// needed is missing or the process has no width. Source: ISO 22514-2:2017.
func (l Limits) Indices(low, mid, high float64) (spread, place *float64) {
	nearest := math.Inf(1)
	if l.Upper != nil {
		nearest = min(nearest, (*l.Upper-mid)/(high-mid))
	}
	if l.Lower != nil {
		nearest = min(nearest, (mid-*l.Lower)/(mid-low))
	}
	if l.Lower != nil && l.Upper != nil {
		spread = study.Defined((*l.Upper - *l.Lower) / (high - low))
	}
	return spread, study.Defined(nearest)
}

// expected is how many of a million lie outside, of a Normal distribution; each tail by itself, so that small ones keep their
// digits.
func (l Limits) expected(mean, sigma float64) *float64 {
	share := 0.0
	if l.Lower != nil {
		share += normalTail((*l.Lower - mean) / sigma)
	}
	if l.Upper != nil {
		share += normalTail((mean - *l.Upper) / sigma)
	}
	if sigma == 0 {
		return nil
	}
	return study.Defined(1e6 * share)
}

// spreadInterval is the interval of Cp or Pp: index times sqrt(chi-square quantile/dof) at both ends.
// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.1.6.
func spreadInterval(index *float64, dof, confidence float64) *Interval {
	if index == nil {
		return nil
	}
	chi := distuv.ChiSquared{K: dof}
	low, high := chi.Quantile((1-confidence)/2), chi.Quantile((1+confidence)/2)
	return finite(*index*math.Sqrt(low/dof), *index*math.Sqrt(high/dof))
}

// placeInterval is the interval of Cpk or Ppk: index ± z sqrt(1/(9 n) + index^2/(2 dof)).
// Source: A. F. Bissell, Applied Statistics 39 (1990) 331-340.
func placeInterval(index *float64, n int, dof, confidence float64) *Interval {
	if index == nil {
		return nil
	}
	half := distuv.UnitNormal.Quantile((1+confidence)/2) * math.Hypot(1/(3*math.Sqrt(float64(n))), *index/math.Sqrt(2*dof))
	return finite(*index-half, *index+half)
}

// finite is an interval, nil where an end left the range of numbers.
func finite(low, high float64) *Interval {
	if study.Defined(low) == nil || study.Defined(high) == nil {
		return nil
	}
	return &Interval{low, high}
}
