package tell

import (
	"fmt"
	"strconv"

	"sagitta/batch/spc"
	"sagitta/batch/study"
	"sagitta/inspect"
)

// Fit says in a sentence how a process lies in its limits by a Ppk; title is what was measured.
func Fit(title string, ppk *float64) string {
	asked := fmt.Sprintf("%.2f is usually asked for", spc.Capable)
	switch spc.FitOf(ppk) {
	case spc.NoSpread:
		return title + " shows no spread, so no index can be given."
	case spc.Fits:
		return fmt.Sprintf("%s fits its limits: Ppk %s, %s.", title, index(ppk), asked)
	case spc.JustFits:
		return fmt.Sprintf("%s just fits its limits: Ppk %s, %s.", title, index(ppk), asked)
	}
	return fmt.Sprintf("%s does not fit its limits: Ppk %s, %s.", title, index(ppk), asked)
}

// Capability says in a sentence how a process lies in its limits, and in more what has to be known of the figures; noun is what
// was measured, one of it.
func Capability(r spc.CapabilityResult, title, noun string) (answer string, why []string) {
	verdict, more := r.Verdict()
	ppk := r.PPK
	if verdict == spc.NoSpread {
		ppk = nil
		why = append(why, "All values are equal: look whether the gauge's resolution is too coarse.")
	}
	for _, f := range more {
		why = append(why, capabilityFinding(r, f, noun))
	}
	return Fit(title, ppk), why
}

func capabilityFinding(r spc.CapabilityResult, f spc.Finding, noun string) string {
	switch f {
	case spc.FewValues:
		return fmt.Sprintf("Only %s: fewer than %d say little of a process, as the width of the intervals shows.", Count(r.N, noun), spc.FewForCapability)
	case spc.NormalUntested:
		return fmt.Sprintf("Too few values to test whether they are Normal: %d are needed.", spc.FewestForNormality)
	case spc.IsNormal:
		return fmt.Sprintf("Nothing speaks against a Normal distribution (%s).", Normality(*r.Normality))
	case spc.FitsAnother:
		return fmt.Sprintf("The values are not Normal (%s): take the indices of the percentile method.", Normality(*r.Normality))
	case spc.NotNormal:
		return fmt.Sprintf("The values are not Normal (%s), and neither a lognormal nor a Weibull distribution fits, so that the indices say little. Look for mixed sources, a drift or odd values in a control chart.", Normality(*r.Normality))
	case spc.Wanders:
		return fmt.Sprintf("The sigma of all values is %.2f times the sigma inside subgroups: the level wanders. Cp and Cpk show what steadying it would give, Pp and Ppk what is delivered.", r.SigmaOverall/r.SigmaWithin)
	}
	return string(f)
}

// Normality writes the Anderson-Darling test's figures.
func Normality(n spc.Normality) string {
	return fmt.Sprintf("Anderson-Darling A² %s, p %s", figures(n.Statistic, 4), Chance(&n.P))
}

// Distribution names a distribution of the percentile method.
func Distribution(d spc.Distribution) string {
	if d == spc.WeibullDistribution {
		return "Weibull"
	}
	return string(d)
}

// Outside says how many values were counted outside the limits: "2 of 30 (1 below, 1 above), 66700 of a million".
func Outside(r spc.CapabilityResult) string {
	words := fmt.Sprintf("%d of %d (%d below, %d above)", r.Below+r.Above, r.N, r.Below, r.Above)
	if share := spc.PerMillion(r.Below+r.Above, r.N, 1); share != nil && *share > 0 {
		words += ", " + perMillion(*share)
	}
	return words
}

// Expected says how many values outside the limits a Normal process would give, "" where that is not defined.
func Expected(r spc.CapabilityResult) string {
	switch {
	case r.Expected == nil:
		return ""
	case r.Normality != nil && study.Significant(&r.Normality.P):
		return perMillion(*r.Expected) + ", if the values were Normal, which they are not"
	}
	return perMillion(*r.Expected) + ", if Normal and as steady as now"
}

func perMillion(v float64) string {
	switch {
	case v < 0.1:
		return "fewer than 0.1 of a million"
	case v < 1000:
		return figures(v, 3) + " of a million"
	}
	return strconv.FormatFloat(v, 'f', 0, 64) + " of a million"
}

// IndexLine is a line of the table of capability indices.
type IndexLine struct {
	Name     string // "Cp"
	Of       string // which sigma it takes: "inside subgroups", "all values"
	Index    string
	Interval string // a dash where there is none
}

// Indices are a capability's indices: those of the sigma inside subgroups, then those of the sigma of all values.
func Indices(r spc.CapabilityResult) []IndexLine {
	line := func(name, of string, v *float64, i *spc.Interval) IndexLine {
		l := IndexLine{name, of, "–", "–"}
		if v != nil {
			l.Index = inspect.Number(*v, 3, false)
		}
		if i != nil {
			l.Interval = inspect.Number(i[0], 3, false) + " to " + inspect.Number(i[1], 3, false)
		}
		return l
	}
	return []IndexLine{
		line("Cp", insideSubgroups, r.CP, r.CI.CP), line("Cpk", insideSubgroups, r.CPK, r.CI.CPK),
		line("Pp", allValues, r.PP, r.CI.PP), line("Ppk", allValues, r.PPK, r.CI.PPK),
	}
}

// The two sigmas.
const (
	insideSubgroups = "inside subgroups"
	allValues       = "all values"

	SigmaInside = "sigma " + insideSubgroups
	SigmaOfAll  = "sigma of " + allValues
)

// SigmaFrom says where the sigma inside subgroups comes from.
func SigmaFrom(r spc.CapabilityResult) string {
	if r.Subgrouped {
		return fmt.Sprintf("pooled over the subgroups, with %d degrees of freedom", r.DFWithin)
	}
	return fmt.Sprintf("from moving ranges of neighbours; its intervals take n − 1 = %d degrees of freedom", r.DFWithin)
}

// Autocorrelation says whether neighbours of a series are alike.
func Autocorrelation(s spc.Summary) string {
	switch s.Neighbours() {
	case spc.AllEqual:
		if s.N == 1 {
			return "Autocorrelation is not defined for one value."
		}
		return "Autocorrelation is not defined: all values are equal."
	case spc.FewNeighbours:
		return fmt.Sprintf("Autocorrelation at lag 1 %.3f; %s are too few to tell it from chance (at least %d).", *s.Autocorrelation, Count(s.N, "value"), spc.FewestForChance)
	case spc.Alike:
		return correlated(s) + "neighbours are alike: the level wanders, and control limits from moving ranges come out too narrow."
	case spc.Opposite:
		return correlated(s) + "neighbours lie on opposite sides: two sources take turns, or somebody corrects too much."
	}
	return correlated(s) + "neighbours are no more alike than chance makes them."
}

func correlated(s spc.Summary) string {
	return fmt.Sprintf("Autocorrelation at lag 1 %.3f (chance within ±%.3f): ", *s.Autocorrelation, s.ChanceBound())
}
