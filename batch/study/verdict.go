package study

import "fmt"

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

// Verdict judges the gauge by its percent of the total variation, and says why in sentences. Fewer than five distinct
// categories make an acceptable gauge conditional.
func (r CrossedResult) Verdict() (Fitness, []string) {
	fitness := FitnessOf(r.PercentGRR)
	if fitness == Unknown {
		return fitness, []string{"No reading differs from another: the gauge is too coarse for these parts, or they are all alike."}
	}
	why := []string{fmt.Sprintf("The gauge takes %.1f %% of the total variation: %s (under 10 acceptable, 10 to 30 conditional, over 30 not for verdicts).",
		*r.PercentGRR, fitness)}
	if r.NDC == nil {
		why = append(why, "The gauge shows no variation of its own: its resolution may hide it.")
	} else {
		enough := "enough"
		if *r.NDC < LeastCategories {
			enough = "too few"
			if fitness == Fit {
				fitness = Conditional
			}
		}
		why = append(why, fmt.Sprintf("It tells %s of these parts apart: %s (at least %d).", categories(*r.NDC), enough, LeastCategories))
	}
	if r.PercentToleranceGRR != nil {
		why = append(why, fmt.Sprintf("Six standard deviations of the gauge take %.1f %% of the tolerance: %s by the same rule.",
			*r.PercentToleranceGRR, FitnessOf(r.PercentToleranceGRR)))
	}
	return fitness, why
}

func categories(n int) string {
	switch n {
	case 0:
		return "no categories"
	case 1:
		return "1 category"
	}
	return fmt.Sprintf("%d categories", n)
}
