package study

import (
	"fmt"
	"strings"
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

// few says what a study has too few of, "" for nothing.
func (r CrossedResult) few() string {
	var few []string
	for _, c := range []struct {
		n, least int
		one, all string
	}{{len(r.Parts), LeastParts, "part", "parts"}, {len(r.Appraisers), LeastAppraisers, "appraiser", "appraisers"}, {len(r.Trials), LeastTrials, "trial", "trials"}} {
		if c.n >= c.least {
			continue
		}
		word := c.all
		if c.n == 1 {
			word = c.one
		}
		few = append(few, fmt.Sprintf("%d %s", c.n, word))
	}
	if few == nil {
		return ""
	}
	return fmt.Sprintf("Only %s: the verdict is uncertain; a crossed study asks for %d parts, %d appraisers and %d trials or more.",
		strings.Join(few, " and "), LeastParts, LeastAppraisers, LeastTrials)
}

// Verdict judges the gauge by its percent of the total variation, and says why in sentences. Fewer than five distinct
// categories make an acceptable gauge conditional; few parts, appraisers or trials, and reproducibility that was not studied,
// are said.
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
	if few := r.few(); few != "" {
		why = append(why, few)
	}
	if len(r.Appraisers) == 1 {
		why = append(why, "One appraiser: reproducibility was not studied and counts as 0.")
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
