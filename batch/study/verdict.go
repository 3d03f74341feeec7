package study

import "math"

// Significance is the p below which an effect is taken as more than chance: the level that the worked examples of the
// Measurement Systems Analysis reference manual (AIAG, 4th ed., 2010) take.
const Significance = 0.05

// Significant says that an effect is more than chance explains; false where its p is not defined.
func Significant(p *float64) bool { return p != nil && *p < Significance }

// Finding is one thing that a study found; its numbers stand in the study's result.
type Finding string

// What studies find. Of a crossed study and of a type-1 study:
const (
	AllAlike Finding = "all readings alike" // no reading differs from another
)

// Of a crossed study. The gauge's share of the total variation, GaugeShare, is what its verdict rests on first.
const (
	GaugeShare       Finding = "gauge's share of the total variation"
	HiddenSpread     Finding = "no variation of the gauge's own"
	EnoughCategories Finding = "enough distinct categories"
	FewCategories    Finding = "too few distinct categories"
	ToleranceShare   Finding = "gauge's share of the tolerance"
	SmallStudy       Finding = "few parts, appraisers or trials"
	OneAppraiser     Finding = "one appraiser"
)

// Of a type-1 study: its answer, Capable to NoTolerance or AllAlike, and what goes with it.
const (
	IsCapable   Finding = "capable"
	TooBiased   Finding = "not capable for its bias"
	TooCoarse   Finding = "not capable for its step"
	NotCapable  Finding = "not capable"
	NoTolerance Finding = "no tolerance"
	Biased      Finding = "bias"
	Unbiased    Finding = "no bias"
	FewReadings Finding = "few readings"
	FineStep    Finding = "step fine enough"
	CoarseStep  Finding = "step too coarse"
)

// Of a linearity study: its answer. ChangesExactly: the biases lie on a sloping line without a residual.
const (
	BiasChanges    Finding = "bias changes over the travel"
	ChangesExactly Finding = "bias changes over the travel, without a residual"
	BiasConstant   Finding = "bias about the same everywhere"
	NoBias         Finding = "no bias"
)

// Fitness is what a crossed study says of the gauge.
type Fitness string

// By the share of the gauge in the total variation: under 10 %, 10 to 30 %, over 30 %.
const (
	Fit         Fitness = "acceptable"
	Conditional Fitness = "conditional"
	Unfit       Fitness = "not for verdicts"
	Unknown     Fitness = "cannot be said"
)

// LeastCategories is the number of distinct categories that a gauge must tell apart.
const LeastCategories = 5

// FitnessOf judges a percent of the gauge, of the total variation or of the tolerance: under 10 acceptable, 10 to 30
// conditional, over 30 not for verdicts; nil cannot be said.
// Source: Measurement Systems Analysis reference manual (AIAG, 4th ed., 2010), chapter II section D.
func FitnessOf(percent *float64) Fitness {
	switch {
	case percent == nil:
		return Unknown
	case *percent < 10:
		return Fit
	case *percent <= 30:
		return Conditional
	}
	return Unfit
}

// The least parts, appraisers and trials of a crossed study whose verdict is not called uncertain; common practice, no source.
const (
	LeastParts      = 10
	LeastAppraisers = 2
	LeastTrials     = 2
)

// Verdict judges the gauge by its percent of the total variation, and says what that rests on. Fewer than five distinct
// categories make an acceptable gauge conditional; few parts, appraisers or trials, and reproducibility that was not studied,
// are among the findings.
func (r CrossedResult) Verdict() (Fitness, []Finding) {
	fitness := FitnessOf(r.PercentGRR)
	if fitness == Unknown {
		return fitness, []Finding{AllAlike}
	}
	found := []Finding{GaugeShare}
	switch {
	case r.NDC == nil:
		found = append(found, HiddenSpread)
	case *r.NDC < LeastCategories:
		found = append(found, FewCategories)
		if fitness == Fit {
			fitness = Conditional
		}
	default:
		found = append(found, EnoughCategories)
	}
	if r.PercentToleranceGRR != nil {
		found = append(found, ToleranceShare)
	}
	if len(r.Parts) < LeastParts || len(r.Appraisers) < LeastAppraisers || len(r.Trials) < LeastTrials {
		found = append(found, SmallStudy)
	}
	if len(r.Appraisers) == 1 {
		found = append(found, OneAppraiser)
	}
	return fitness, found
}

// Verdict judges the gauge by Cg, Cgk and its step: the answer, and what has to be known with it.
func (r TypeOneResult) Verdict() (answer Finding, more []Finding) {
	coarse := r.StepShare != nil && *r.StepShare > FinestStep
	switch {
	case r.SD == 0:
		answer = AllAlike
	case r.Cg == nil || r.Cgk == nil:
		answer = NoTolerance
	case *r.Cg < Capable:
		answer = NotCapable
	case *r.Cgk < Capable:
		answer = TooBiased
	case coarse:
		answer = TooCoarse
	default:
		answer = IsCapable
	}
	if r.P != nil {
		if Significant(r.P) {
			more = append(more, Biased)
		} else {
			more = append(more, Unbiased)
		}
	}
	if r.N < TypeOneLeast {
		more = append(more, FewReadings)
	}
	if r.StepShare != nil {
		if coarse {
			more = append(more, CoarseStep)
		} else {
			more = append(more, FineStep)
		}
	}
	return answer, more
}

// Verdict says whether the bias changes over the travel, else whether it is there at all: whether the fitted line's 95 % band
// at the mean of the masters leaves zero out. The intercept would answer for a master of zero, which may lie far from those
// measured. What is smaller than a billionth of the travel is rounding.
func (r LinearityResult) Verdict() Finding {
	travel := r.Bias[len(r.Bias)-1].Reference - r.Bias[0].Reference
	rounding := 1e-9 * travel
	switch {
	case Significant(r.PSlope):
		return BiasChanges
	case r.PSlope == nil && math.Abs(r.Slope)*travel > rounding:
		return ChangesExactly
	case math.Abs(r.MeanBias()) > max(r.Fit.Band(r.Fit.MeanX), rounding):
		return BiasConstant
	}
	return NoBias
}

// Biased counts the references at which the bias is more than chance explains.
func (r LinearityResult) Biased() int {
	n := 0
	for _, b := range r.Bias {
		if Significant(b.P) {
			n++
		}
	}
	return n
}

// MeanBias is the fitted line's bias at the mean of the references.
func (r LinearityResult) MeanBias() float64 { return r.Intercept + r.Slope*r.Fit.MeanX }

// Agreement between raters is judged by kappa: above 0.75 good, under 0.40 poor. Source: Measurement Systems Analysis reference
// manual (AIAG, 4th ed., 2010), chapter III section C.
const (
	GoodAgreement     Finding = "good agreement"
	MiddlingAgreement Finding = "middling agreement"
	PoorAgreement     Finding = "poor agreement"
	NoKappa           Finding = "kappa not defined"
)

// AgreementOf judges a kappa; nil is not defined.
func AgreementOf(kappa *float64) Finding {
	switch {
	case kappa == nil:
		return NoKappa
	case *kappa > 0.75:
		return GoodAgreement
	case *kappa < 0.40:
		return PoorAgreement
	}
	return MiddlingAgreement
}
