package tell

import (
	"fmt"
	"math"

	"sagitta/batch"
	"sagitta/batch/study"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// Crossed answers a crossed study in a sentence, and says why in more.
func Crossed(r study.CrossedResult) (answer string, why []string) {
	fitness, found := r.Verdict()
	if fitness == study.Unknown {
		answer = "It cannot be said whether the gauge is good enough."
	} else {
		answer = fmt.Sprintf("The gauge is %s: it takes %.1f %% of the total variation.", fitness, *r.PercentGRR)
	}
	for _, f := range found {
		why = append(why, crossedFinding(r, f))
	}
	return answer, why
}

func crossedFinding(r study.CrossedResult, f study.Finding) string {
	switch f {
	case study.AllAlike:
		return "No reading differs from another: the gauge is too coarse for these parts, or they are all alike."
	case study.GaugeShare:
		return "Under 10 % of the total variation is acceptable, 10 to 30 % conditional, over 30 % not for verdicts."
	case study.HiddenSpread:
		return "The gauge shows no variation of its own: its resolution may hide it."
	case study.EnoughCategories:
		return fmt.Sprintf("It tells %s of these parts apart: enough (at least %d).", categories(*r.NDC), study.LeastCategories)
	case study.FewCategories:
		return fmt.Sprintf("It tells %s of these parts apart: too few (at least %d).", categories(*r.NDC), study.LeastCategories)
	case study.ToleranceShare:
		return fmt.Sprintf("Six standard deviations of the gauge take %.1f %% of the tolerance: %s by the same rule.",
			*r.PercentToleranceGRR, study.FitnessOf(r.PercentToleranceGRR))
	case study.SmallStudy:
		return fmt.Sprintf("Only %s: the verdict is uncertain; a crossed study asks for %d parts, %d appraisers and %d trials or more.",
			few(r), study.LeastParts, study.LeastAppraisers, study.LeastTrials)
	case study.OneAppraiser:
		return "One appraiser: reproducibility was not studied and counts as 0."
	}
	return string(f)
}

func categories(n int) string {
	if n == 0 {
		return "no categories"
	}
	return Counted(n, "category", "categories")
}

// few names what a crossed study has too few of.
func few(r study.CrossedResult) string {
	var few []string
	for _, c := range []struct {
		n, least int
		noun     string
	}{{len(r.Parts), study.LeastParts, "part"}, {len(r.Appraisers), study.LeastAppraisers, "appraiser"}, {len(r.Trials), study.LeastTrials, "trial"}} {
		if c.n < c.least {
			few = append(few, Count(c.n, c.noun))
		}
	}
	return List(few)
}

// CrossedDesign says what a crossed study held and how it was evaluated, and what became of the interaction.
func CrossedDesign(r study.CrossedResult) []string {
	method := "analysis of variance"
	if r.Method == study.AverageAndRange {
		method = "average and range, which leaves the interaction of part and appraiser in the others"
	}
	words := []string{fmt.Sprintf("%s, %s, %s, by %s.", Count(len(r.Parts), "part"), Count(len(r.Appraisers), "appraiser"), Count(len(r.Trials), "trial"), method)}
	switch {
	case len(r.Appraisers) == 1: // there is none
	case r.Pooled:
		words = append(words, fmt.Sprintf("The interaction of part and appraiser is not significant (p %s, above 0.25): it is pooled into repeatability.", Chance(r.InteractionP)))
	case r.InteractionP != nil:
		words = append(words, fmt.Sprintf("The interaction of part and appraiser is kept (p %s, at most 0.25).", Chance(r.InteractionP)))
	}
	return words
}

// Source is one row of where a crossed study's spread comes from.
type Source struct {
	Key  string // "grr", "ev", "av", "interaction", "pv", "tv"
	Name string
	SD   float64
	Part bool // of the row above it that is none
}

// SpreadSources are the rows of where a crossed study's spread comes from, the gauge first and the total last.
func SpreadSources(r study.CrossedResult) []Source {
	rows := []Source{{"grr", "gauge and appraisers", r.GRR, false}, {"ev", "repeatability", r.EV, true}, {"av", "appraisers", r.AV, true}}
	if r.Interaction != nil && !r.Pooled && len(r.Appraisers) > 1 {
		rows = append(rows, Source{"interaction", "part with appraiser", *r.Interaction, true})
	}
	return append(rows, Source{"pv", "parts", r.PV, false}, Source{"tv", "total", r.TV, false})
}

// WhereSpread heads the bars of [SpreadSources].
const WhereSpread = "where the spread comes from"

// TypeOne answers a type-1 study in a sentence, and says in more what has to be known with it.
func TypeOne(r study.TypeOneResult, scale Scale) (answer string, why []string) {
	verdict, more := r.Verdict()
	indices := fmt.Sprintf("Cg %s, Cgk %s", index(r.Cg), index(r.Cgk))
	needed := fmt.Sprintf("%.2f is needed of both", study.Capable)
	switch verdict {
	case study.AllAlike:
		answer = "Every reading is the same: the gauge's resolution hides its spread, or the readings are not independent. There is no Cg."
	case study.NoTolerance:
		answer = fmt.Sprintf("The gauge repeats to %s (standard deviation); without a tolerance there is no Cg.", scale.Value(r.SD))
	case study.IsCapable:
		answer = fmt.Sprintf("The gauge is capable: %s; %s.", indices, needed)
	case study.TooBiased:
		answer = fmt.Sprintf("The gauge is not capable: its spread would do, but with its bias Cgk is too small (%s; %s).", indices, needed)
	case study.TooCoarse:
		answer = fmt.Sprintf("The gauge is not capable: %s reach %.2f, but its resolution is too coarse for the tolerance.", indices, study.Capable)
	default:
		answer = fmt.Sprintf("The gauge is not capable: %s; %s.", indices, needed)
	}
	for _, f := range more {
		why = append(why, typeOneFinding(r, f, scale))
	}
	return answer, why
}

func typeOneFinding(r study.TypeOneResult, f study.Finding, scale Scale) string {
	switch f {
	case study.Biased:
		return fmt.Sprintf("Its bias of %s is more than chance explains (t %s, p %s; 95 %% interval %s): look at its correction table.",
			scale.Value(r.Bias), Figure(r.T), Chance(r.P), interval(r.BiasInterval, scale))
	case study.Unbiased:
		return fmt.Sprintf("Its bias of %s cannot be told from none (t %s, p %s; 95 %% interval %s).", scale.Value(r.Bias), Figure(r.T), Chance(r.P), interval(r.BiasInterval, scale))
	case study.FewReadings:
		return fmt.Sprintf("Only %s: a type-1 study asks for %d or more.", Count(r.N, "reading"), study.TypeOneLeast)
	case study.FineStep:
		return fmt.Sprintf("Its resolution takes %.1f %% of the tolerance: fine enough (at most %d %%).", *r.StepShare, study.FinestStep)
	case study.CoarseStep:
		return fmt.Sprintf("Its resolution takes %.1f %% of the tolerance: too coarse, whatever the spread of its readings (at most %d %%).", *r.StepShare, study.FinestStep)
	}
	return string(f)
}

// interval is a confidence interval's two ends, a dash where there is none.
func interval(i *study.Interval, scale Scale) string {
	if i == nil {
		return "–"
	}
	return scale.Number(i.Low) + " to " + scale.Number(i.High)
}

// index is Cg, Cpk and their like, to two decimals.
func index(v *float64) string {
	if v == nil {
		return "–"
	}
	return inspect.Number(*v, 2, false)
}

// Linearity answers a linearity study in a sentence.
func Linearity(r study.LinearityResult, scale Scale) string {
	slope := figures(r.Slope, 3)
	switch r.Verdict() {
	case study.BiasChanges:
		return fmt.Sprintf("The gauge is not linear: its bias changes over its travel, by %s per unit of length (p %s): enter a correction table.", slope, Chance(r.PSlope))
	case study.ChangesExactly:
		return fmt.Sprintf("The gauge is not linear: its bias changes over its travel, by %s per unit of length without a residual: enter a correction table.", slope)
	case study.BiasConstant:
		return fmt.Sprintf("The gauge is linear but off by about the same amount at every master, %s on average, which is more than chance explains: set its zero, or enter a correction.",
			scale.Value(r.MeanBias()))
	}
	return "The gauge is linear: no bias is seen that chance does not explain, over the masters measured."
}

// FittedLine says a linearity study's line: "bias = 0.0012 mm − 0.003 × master".
func FittedLine(r study.LinearityResult, scale Scale) string {
	sign := "+"
	if r.Slope < 0 {
		sign = "−"
	}
	return fmt.Sprintf("bias = %s %s %s × master", scale.Value(r.Intercept), sign, figures(math.Abs(r.Slope), 4))
}

// Agreement puts a kappa in words by the stated rule. Source: Measurement Systems Analysis reference manual (AIAG, 4th ed.,
// 2010), chapter III section C.
func Agreement(kappa *float64) string {
	switch study.AgreementOf(kappa) {
	case study.GoodAgreement:
		return "good (above 0.75)"
	case study.MiddlingAgreement:
		return "middling (0.40 to 0.75)"
	case study.PoorAgreement:
		return "poor (under 0.40)"
	}
	return "not defined: all ratings are the same, or an item has only one"
}

// StudyStep is what the appraiser may know of the reading that a study asks for: "trial 1, part 3 of 5", which does not say
// which part it is; "the 5 mm master, reading 3 of 25".
func StudyStep(kind batch.StudyKind, s batch.StudyStep, in unit.Unit) string {
	if kind == batch.CrossedStudy {
		return fmt.Sprintf("trial %s, part %d of %d", s.Trial, s.Place, s.Places)
	}
	return fmt.Sprintf("the %s master, reading %d of %d", Nominal(s.ReferenceMM, in), s.Place, s.Places)
}
