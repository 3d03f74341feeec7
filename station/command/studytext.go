package command

import (
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"sagitta/batch"
	"sagitta/batch/study"
)

// barWidth is the length of a text bar for 100 %, in characters.
const barWidth = 40

// bar draws a share of 0 to 100 % with its number.
func bar(percent float64) string {
	return fmt.Sprintf("%5.1f %% %s", percent, strings.Repeat("#", int(math.Round(percent/100*barWidth))))
}

// figure prints a statistic with four digits, a dash where it is not defined.
func figure(v *float64) string {
	if v == nil {
		return "-"
	}
	return fmt.Sprintf("%.4g", *v)
}

// chance prints a probability: small ones as a bound.
func chance(p *float64) string {
	switch {
	case p == nil:
		return "-"
	case *p < 0.0001:
		return "< 0.0001"
	}
	return fmt.Sprintf("%.2g", *p)
}

// count prints a number with its noun.
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// printCrossed prints a crossed study for people.
func printCrossed(out io.Writer, r study.CrossedResult, tolerance float64) error {
	fitness, why := r.Verdict()
	fmt.Fprintf(out, "The gauge: %s.\n", strings.ToUpper(string(fitness)))
	for _, sentence := range why {
		fmt.Fprintln(out, sentence)
	}
	method := "analysis of variance"
	if r.Method == study.AverageAndRange {
		method = "average and range, which leaves the interaction of part and appraiser in the others"
	}
	fmt.Fprintf(out, "%s, %s, %s, by %s.\n", count(len(r.Parts), "part"), count(len(r.Appraisers), "appraiser"), count(len(r.Trials), "trial"), method)
	switch {
	case len(r.Appraisers) == 1: // said above
	case r.Pooled:
		fmt.Fprintf(out, "The interaction of part and appraiser is not significant (p %s, above 0.25): it is pooled into repeatability.\n", chance(r.InteractionP))
	case r.InteractionP != nil:
		fmt.Fprintf(out, "The interaction of part and appraiser is kept (p %s, at most 0.25).\n", chance(r.InteractionP))
	}
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', 0)
	fmt.Fprint(w, "\nstandard deviation\tvalue\t95 % interval\t% of total\t")
	if tolerance > 0 {
		fmt.Fprint(w, "% of tolerance\t")
	}
	fmt.Fprintln(w)
	for _, row := range crossedRows(r) {
		total := "-"
		if r.TV > 0 {
			total = fmt.Sprintf("%.2f", 100*row.sd/r.TV)
		}
		fmt.Fprintf(w, "%s\t%.4g\t%s\t%s\t", row.name, row.sd, between(r.Intervals[row.key]), total)
		if tolerance > 0 {
			fmt.Fprintf(w, "%.2f\t", 600*row.sd/tolerance)
		}
		fmt.Fprintln(w)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if r.Method == study.ANOVA {
		if r.Intervals["grr"] != nil {
			fmt.Fprintln(out, "Intervals: repeatability by chi-square; gauge by the modified large-sample method of Graybill and Wang, differences by that of Ting et al.")
		}
		printSources(out, r.Table)
	}
	if r.TV > 0 {
		fmt.Fprintln(out, "\nComponents of variation, share of the total variance")
		for _, row := range crossedRows(r) {
			if row.key != "tv" {
				fmt.Fprintf(out, "  %-16s %s\n", row.name, bar(100*(row.sd/r.TV)*(row.sd/r.TV)))
			}
		}
	}
	return nil
}

// component is one row of a crossed study's table.
type component struct {
	key, name string
	sd        float64
}

func crossedRows(r study.CrossedResult) []component {
	rows := []component{{"grr", "gauge", r.GRR}, {"ev", "  repeatability", r.EV}, {"av", "  appraisers", r.AV}}
	if r.Interaction != nil && !r.Pooled && len(r.Appraisers) > 1 {
		rows = append(rows, component{"interaction", "  interaction", *r.Interaction})
	}
	return append(rows, component{"pv", "parts", r.PV}, component{"tv", "total", r.TV})
}

// between prints an interval, a dash where there is none.
func between(i *study.Interval) string {
	if i == nil {
		return "-"
	}
	return fmt.Sprintf("%.3g to %.3g", i.Low, i.High)
}

// printSources prints an analysis of variance.
func printSources(out io.Writer, table []study.Source) {
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', 0)
	fmt.Fprintln(w, "\nsource\tdf\tsum of squares\tmean square\tF\tp\t")
	for _, s := range table {
		f, p := figure(s.F), chance(s.P)
		if s.Source == "repeatability" || s.Source == "total" {
			f, p = "", ""
		}
		mean := figure(s.MS)
		if s.Source == "total" {
			mean = ""
		}
		fmt.Fprintf(w, "%s\t%d\t%.4g\t%s\t%s\t%s\t\n", s.Source, s.DF, s.SS, mean, f, p)
	}
	_ = w.Flush() // the writer below reports its own failure
}

// significance is the p below which an effect is called one.
const significance = 0.05

// printTypeOne prints a type-1 study for people.
func printTypeOne(out io.Writer, r study.TypeOneResult, o study.TypeOneOptions, resolution float64) error {
	share := 0.0 // of the tolerance that one step takes, percent
	if resolution > 0 && o.Tolerance > 0 {
		share = 100 * resolution / o.Tolerance
	}
	switch {
	case r.SD == 0:
		fmt.Fprintln(out, "All readings are equal: the gauge is too coarse to show its spread, or the readings are not independent. There is no Cg.")
	case r.Cg == nil || r.Cgk == nil:
		fmt.Fprintln(out, "Without --tolerance there is no Cg: the gauge's spread is compared with nothing.")
	case *r.Cg >= study.Capable && *r.Cgk >= study.Capable && share > study.FinestStep:
		fmt.Fprintf(out, "The gauge is NOT CAPABLE: Cg %.3g and Cgk %.3g reach %.2f, but its resolution is too coarse for the tolerance.\n", *r.Cg, *r.Cgk, study.Capable)
	case *r.Cg >= study.Capable && *r.Cgk >= study.Capable:
		fmt.Fprintf(out, "The gauge is CAPABLE: Cg %.3g and Cgk %.3g reach %.2f.\n", *r.Cg, *r.Cgk, study.Capable)
	case *r.Cg >= study.Capable:
		fmt.Fprintf(out, "The gauge is NOT CAPABLE: its spread would do (Cg %.3g), but with its bias Cgk is %.3g; %.2f is needed.\n", *r.Cg, *r.Cgk, study.Capable)
	default:
		fmt.Fprintf(out, "The gauge is NOT CAPABLE: Cg %.3g, Cgk %.3g; %.2f is needed.\n", *r.Cg, *r.Cgk, study.Capable)
	}
	if r.P != nil {
		word := "not distinguishable from 0"
		if *r.P < significance {
			word = "significant"
		}
		fmt.Fprintf(out, "The bias of %.4g is %s (t %.4g, p %s; 95 %% interval %s).\n", r.Bias, word, *r.T, chance(r.P), between(r.BiasInterval))
	}
	if r.N < study.TypeOneLeast {
		fmt.Fprintf(out, "Only %d readings: a type-1 study asks for %d or more.\n", r.N, study.TypeOneLeast)
	}
	if share > 0 {
		word := "fine enough"
		if share > study.FinestStep {
			word = "too coarse"
		}
		fmt.Fprintf(out, "The resolution takes %.1f %% of the tolerance: %s (at most %d %%).\n", share, word, study.FinestStep)
	}
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', 0)
	fmt.Fprintln(w, "\nreadings\tmean\tstandard deviation\tbias\tCg\tCgk\t")
	fmt.Fprintf(w, "%d\t%.6g\t%.4g\t%.4g\t%s\t%s\t\n", r.N, r.Mean, r.SD, r.Bias, figure(r.Cg), figure(r.Cgk))
	if err := w.Flush(); err != nil {
		return err
	}
	if o.Tolerance > 0 {
		fmt.Fprintf(out, "The gauge may take %.4g %% of the tolerance; its spread is taken as %.4g standard deviations.\n", 100*o.Share, o.Spread)
	}
	return nil
}

// printLinearity prints bias and linearity for people.
func printLinearity(out io.Writer, r study.LinearityResult) error {
	switch {
	case r.PSlope == nil:
		fmt.Fprintln(out, "The line fits without a residual: its slope cannot be tested.")
	case *r.PSlope < significance:
		fmt.Fprintf(out, "The gauge is NOT LINEAR: its bias changes by %.4g a unit of the reference (p %s).\n", r.Slope, chance(r.PSlope))
	default:
		fmt.Fprintf(out, "The gauge is linear: the change of its bias by %.4g a unit of the reference is not significant (p %s).\n", r.Slope, chance(r.PSlope))
	}
	biased := 0
	for _, b := range r.Bias {
		if b.P != nil && *b.P < significance {
			biased++
		}
	}
	fmt.Fprintf(out, "The bias is significant at %d of %s.\n", biased, count(len(r.Bias), "reference"))
	fmt.Fprintf(out, "Bias = %.4g %+.4g x reference; R2 %s; p of the intercept %s.\n", r.Intercept, r.Slope, figure(r.R2), chance(r.PIntercept))
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', 0)
	fmt.Fprintln(w, "\nreference\treadings\tbias\tt\tp\ton the line, 95 % band\t")
	for _, b := range r.Bias {
		line := fmt.Sprintf("%.4g", r.Intercept+r.Slope*b.Reference)
		if half := r.Fit.Band(b.Reference); r.PSlope != nil {
			line += fmt.Sprintf(" +- %.2g", half)
		}
		fmt.Fprintf(w, "%.6g\t%d\t%.4g\t%s\t%s\t%s\t\n", b.Reference, b.N, b.Bias, figure(b.T), chance(b.P), line)
	}
	return w.Flush()
}

// agreementWord puts a kappa in words by the stated rule.
// Source: Measurement Systems Analysis reference manual (AIAG, 4th ed., 2010), chapter III section C.
func agreementWord(kappa *float64) string {
	switch {
	case kappa == nil:
		return "not defined: all ratings are the same, or an item has only one"
	case *kappa > 0.75:
		return "good (above 0.75)"
	case *kappa < 0.40:
		return "poor (under 0.40)"
	}
	return "middling (0.40 to 0.75)"
}

// printAgreement prints an attribute study for people.
func printAgreement(out io.Writer, r study.AgreementResult, weights string) error {
	fmt.Fprintf(out, "Agreement of all ratings: Fleiss' kappa %s, %s.\n", figure(r.FleissKappa), agreementWord(r.FleissKappa))
	fmt.Fprintf(out, "%s, %s, %s; ratings %s.\n", count(r.Items, "item"), count(len(r.Appraisers), "appraiser"), count(r.Trials, "trial"), strings.Join(r.Categories, ", "))
	if weights != "" {
		fmt.Fprintf(out, "Kappas of pairs and against the reference have %s weights; Fleiss' kappa has none.\n", weights)
	}
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', 0)
	if len(r.Between) > 0 {
		fmt.Fprintln(w, "\nappraisers\tCohen's kappa\tagreement\t")
		for _, b := range r.Between {
			fmt.Fprintf(w, "%s, %s\t%s\t%s\t\n", b.A, b.B, figure(b.Kappa), agreementWord(b.Kappa))
		}
	}
	if len(r.Reference) > 0 {
		fmt.Fprintln(w, "\nappraiser\tkappa against the reference\tagreement\t")
		for _, a := range r.Reference {
			fmt.Fprintf(w, "%s\t%s\t%s\t\n", a.Appraiser, figure(a.Kappa), agreementWord(a.Kappa))
		}
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(out, "\nItems, with the 95 % interval of Clopper and Pearson")
	for _, d := range r.Appraisers {
		fmt.Fprintf(out, "  %s: rated alike at every trial %s", d.Appraiser, ofItems(d.Consistent, r.Items))
		if len(r.Reference) > 0 {
			fmt.Fprintf(out, "; as the reference at every trial %s", ofItems(d.Correct, r.Items))
		}
		fmt.Fprintln(out)
		for _, wrong := range d.Wrong {
			fmt.Fprintf(out, "    of %d decisions on items that are %s: %d wrong\n", wrong.Decisions, wrong.Reference, wrong.Wrong)
		}
	}
	return nil
}

func ofItems(k, n int) string {
	low, high := batch.ClopperPearson(k, n, 0.95)
	return fmt.Sprintf("%d of %d (%.0f to %.0f %%)", k, n, 100*low, 100*high)
}
