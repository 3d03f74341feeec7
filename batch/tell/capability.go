package tell

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"sagitta/batch/spc"
	"sagitta/inspect"
)

// Capability says in a sentence whether a process is steady and how it lies in its limits, and in more what has to be known of the
// figures; noun is what was measured, one of it, and place names one by its number in the order of taking.
func Capability(r spc.CapabilityResult, title, noun string, place func(number int) string) (answer string, why []string) {
	verdict, more := r.Verdict()
	if verdict == spc.NoSpread {
		return title + " shows no spread, so no index can be given.", append([]string{"All values are equal: look whether the gauge's resolution is too coarse."}, findings(r, more, noun)...)
	}
	between := fmt.Sprintf(" %d of %s %s.", r.N-r.Below-r.Above, Count(r.N, noun), Plural(r.N, "lies between its limits", "lie between their limits"))
	settled := ""
	if slices.Contains(more, spc.Unsettled) {
		settled = fmt.Sprintf(", so that %s %s not settle it", Count(r.N, noun), Plural(r.N, "does", "do"))
	}
	lies := fit(r, verdict, settled)
	switch r.Steadiness.Judge() {
	case spc.Steady:
		answer = fmt.Sprintf("%s is steady as far as %s tell and %s.%s", title, Count(r.N, noun), lies, between)
	case spc.Unsteady:
		answer = fmt.Sprintf("%s is not steady: its level moves, most after %s. What follows tells of these %s and not of the next: it %s.%s",
			title, place(r.Steadiness.At), Count(r.N, noun), lies, between)
	default:
		answer = fmt.Sprintf("%s %s; %s %s too few to tell whether it is steady.%s", title, lies, Count(r.N, noun), Plural(r.N, "is", "are"), between)
	}
	return answer, findings(r, more, noun)
}

// fit says how a process lies in its limits, to follow its name; settled follows its interval.
func fit(r spc.CapabilityResult, verdict spc.Finding, settled string) string {
	p := r.Performance
	asked := fmt.Sprintf("%.2f is usually asked for", spc.Capable)
	words := map[spc.Finding]string{spc.Fits: "fits its limits", spc.JustFits: "just fits its limits", spc.Misfits: "does not fit its limits"}[verdict]
	switch {
	case p.Index != nil:
		return fmt.Sprintf("%s: Ppk %s%s (%s interval %s to %s%s), %s", words, index(p.Index), by(p), percent(r.Confidence), ends(p.Low), ends(p.High), settled, asked)
	case verdict == spc.Untold:
		return fmt.Sprintf("shows none outside its limits, which proves no more than Ppk %s; %s", ends(p.Low), asked)
	case verdict == spc.Misfits:
		return words + ": not one lies between them"
	}
	return fmt.Sprintf("%s: none lies outside them, which shows Ppk %s or more, %s", words, ends(p.Low), asked)
}

// by says what an index rests on where that is not the Normal distribution.
func by(p spc.Performance) string {
	switch p.Basis {
	case spc.ByPercentiles:
		return " by percentiles"
	case spc.ByCount:
		return " by the share counted outside"
	}
	return ""
}

// percent writes a share in percent: "95 %".
func percent(share float64) string { return figures(100*share, 4) + " %" }

// ends writes an end of an index's interval.
func ends(v float64) string { return inspect.Number(v, 2, false) }

// findings are the sentences of what goes with a verdict.
func findings(r spc.CapabilityResult, more []spc.Finding, noun string) (why []string) {
	if s := r.Steadiness; s.Judge() == spc.Unsteady {
		why = append(why, fmt.Sprintf("The movement of its level makes about %.0f %% of the variance (a steady process looks so unsteady with p %s). Find out what moved before its capability is promised to anybody.", 100*s.Moving, chance(s.P())))
	}
	for _, f := range more {
		if words := capabilityFinding(r, f, noun); words != "" {
			why = append(why, words)
		}
	}
	return why
}

func capabilityFinding(r spc.CapabilityResult, f spc.Finding, noun string) string {
	p := r.Performance
	switch f {
	case spc.FewValues:
		return fmt.Sprintf("Only %s: fewer than %d say little of a process, as the width of the intervals shows.", Count(r.N, noun), spc.FewForCapability)
	case spc.NormalUntested:
		return fmt.Sprintf("Too few values to test whether they are Normal: %d are needed.", spc.FewestForNormality)
	case spc.IsNormal:
		return fmt.Sprintf("Nothing speaks against a Normal distribution (%s).", Normality(*r.Normality))
	case spc.FitsAnother:
		return fmt.Sprintf("The index goes by the percentiles of a %s distribution, which fits the values (p %s) and predicts what is counted outside. Cp, Cpk, Pp and Ppk below take them for Normal and are for comparison.", Distribution(p.Distribution), chance(p.Fit))
	case spc.FitsNone:
		if len(p.Tried) == 0 {
			return fmt.Sprintf("No distribution was fitted: that needs at least %d values, all above 0, for values that cannot lie below it. The share counted is the basis, and the indices below say little.", spc.FewestForNormality)
		}
		var names []string
		for _, d := range p.Tried {
			names = append(names, Distribution(d))
		}
		return "No " + strings.Replace(List(names), " and ", " or ", 1) + " distribution fits the values and predicts what is counted outside, so that the share counted is the basis, and the indices below say little. Look for mixed sources, a drift or odd values in a control chart."
	case spc.Wanders:
		return fmt.Sprintf("The sigma of all values is %.2f times the sigma inside subgroups: the level wanders. Cp and Cpk show what steadying it would give, Pp and Ppk what is delivered.", r.SigmaOverall/r.SigmaWithin)
	}
	return "" // said in the sentence
}

// LeftOut says of values that a capability leaves out because their gauge may have read wrong, how many lie outside their limits.
func LeftOut(n, outside int) string {
	return fmt.Sprintf("%s left out: measured between a gauge's last check that passed and the check that failed. Of them %d %s outside the limits.",
		Counted(n, "neck is", "necks are"), outside, Plural(outside, "lies", "lie"))
}

// AfterRework says how the necks lie that were inspected again.
func AfterRework(n, between int) string {
	return fmt.Sprintf("First measurements only. %s inspected again, and at the newest inspection %d of %d %s between the limits.",
		Counted(n, "neck was", "necks were"), between, n, Plural(n, "lies", "lie"))
}

// IndexNote says what the indices of a table of characteristics rest on.
func IndexNote() string {
	return "Pp and Ppk from the sigma of all values, taken for Normal. With one limit, or near the 0 that bounds it, a characteristic is not Normal: its Ppk, marked counted, is the one of a Normal process with the share that was judged nonconforming, from a least value on where none was."
}

func chance(p float64) string { return Chance(&p) }

// Normality writes the Anderson-Darling test's figures.
func Normality(n spc.Normality) string {
	return fmt.Sprintf("Anderson-Darling A² %s, p %s", figures(n.Statistic, 4), Chance(&n.P))
}

// Distribution names a distribution of the percentile method.
func Distribution(d spc.Distribution) string {
	switch d {
	case spc.WeibullDistribution:
		return "Weibull"
	case spc.NormalDistribution:
		return "Normal"
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

// Predicted says how many values outside the limits are to be expected, "" where that is not defined.
func Predicted(r spc.CapabilityResult) string {
	p := r.Performance
	if p.PerMillion == nil {
		return ""
	}
	from := "as counted"
	if p.Basis != spc.ByCount {
		from = "of the " + Distribution(p.Distribution) + " distribution"
	}
	words := perMillion(*p.PerMillion)
	if !math.IsNaN(p.Fewest) && !math.IsNaN(p.Most) {
		words += fmt.Sprintf(" (%s interval %s to %s)", percent(r.Confidence), million(p.Fewest), million(p.Most))
	}
	words += ", " + from
	if r.Steadiness.Judge() == spc.Unsteady {
		return words + ", if it moved on as before"
	}
	return words
}

// million writes a number of a million.
func million(v float64) string {
	switch {
	case v < 0.1:
		return "0"
	case v < 1000:
		return figures(v, 3)
	}
	return strconv.FormatFloat(v, 'f', 0, 64)
}

func perMillion(v float64) string {
	if v < 0.1 {
		return "fewer than 0.1 of a million"
	}
	return million(v) + " of a million"
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
		return fmt.Sprintf("pooled over the subgroups, with %.0f degrees of freedom", r.DFWithin)
	}
	if r.DFWithin == float64(r.N-1) && r.N > 2 {
		return fmt.Sprintf("from moving ranges of neighbours; its intervals take n − 1 = %d degrees of freedom", r.N-1)
	}
	return fmt.Sprintf("from moving ranges of neighbours, with %.1f degrees of freedom", r.DFWithin)
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
