package command

import (
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"sagitta/batch"
	"sagitta/batch/study"
	"sagitta/batch/tell"
)

// barWidth is the length of a text bar for 100 %, in characters.
const barWidth = 40

// bar draws a share of 0 to 100 % with its number.
func bar(percent float64) string {
	return fmt.Sprintf("%5.1f %% %s", percent, strings.Repeat("#", int(math.Round(percent/100*barWidth))))
}

// printCrossed prints a crossed study for people.
func printCrossed(out io.Writer, r study.CrossedResult, tolerance float64) error {
	answer, why := tell.Crossed(r)
	for _, sentence := range append(append([]string{answer}, why...), tell.CrossedDesign(r)...) {
		fmt.Fprintln(out, sentence)
	}
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', 0)
	fmt.Fprint(w, "\nstandard deviation\tvalue\t95 % interval\t% of total\t")
	if tolerance > 0 {
		fmt.Fprint(w, "% of tolerance\t")
	}
	fmt.Fprintln(w)
	rows := tell.SpreadSources(r)
	for i := range rows {
		if rows[i].Part {
			rows[i].Name = "  " + rows[i].Name
		}
	}
	for _, row := range rows {
		total := "–"
		if r.TV > 0 {
			total = fmt.Sprintf("%.2f", 100*row.SD/r.TV)
		}
		fmt.Fprintf(w, "%s\t%.4g\t%s\t%s\t", row.Name, row.SD, between(r.Intervals[row.Key]), total)
		if tolerance > 0 {
			fmt.Fprintf(w, "%.2f\t", 600*row.SD/tolerance)
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
		fmt.Fprintf(out, "\n%s: share of the total variance\n", tell.Upper(tell.WhereSpread))
		for _, row := range rows {
			if row.Key != "tv" {
				fmt.Fprintf(out, "  %-22s %s\n", row.Name, bar(100*(row.SD/r.TV)*(row.SD/r.TV)))
			}
		}
	}
	return nil
}

// between prints an interval, a dash where there is none.
func between(i *study.Interval) string {
	if i == nil {
		return "–"
	}
	return fmt.Sprintf("%.3g to %.3g", i.Low, i.High)
}

// printSources prints an analysis of variance.
func printSources(out io.Writer, table []study.Source) {
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', 0)
	fmt.Fprintln(w, "\nsource\tdf\tsum of squares\tmean square\tF\tp\t")
	for _, s := range table {
		f, p := tell.Figure(s.F), tell.Chance(s.P)
		if s.Source == "repeatability" || s.Source == "total" {
			f, p = "", ""
		}
		mean := tell.Figure(s.MS)
		if s.Source == "total" {
			mean = ""
		}
		fmt.Fprintf(w, "%s\t%d\t%.4g\t%s\t%s\t%s\t\n", s.Source, s.DF, s.SS, mean, f, p)
	}
	_ = w.Flush() // the writer below reports its own failure
}

// printTypeOne prints a type-1 study for people.
func printTypeOne(out io.Writer, r study.TypeOneResult, o study.TypeOneOptions) error {
	answer, why := tell.TypeOne(r, tell.Scale{})
	for _, sentence := range append([]string{answer}, why...) {
		fmt.Fprintln(out, sentence)
	}
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', 0)
	fmt.Fprintln(w, "\nreadings\tmean\tstandard deviation\tbias\tCg\tCgk\t")
	fmt.Fprintf(w, "%d\t%.6g\t%.4g\t%.4g\t%s\t%s\t\n", r.N, r.Mean, r.SD, r.Bias, tell.Figure(r.Cg), tell.Figure(r.Cgk))
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
	fmt.Fprintln(out, tell.Linearity(r, tell.Scale{}))
	fmt.Fprintf(out, "The bias is significant at %d of %s.\n", r.Biased(), tell.Count(len(r.Bias), "master"))
	fmt.Fprintf(out, "%s; R² %s; p of the slope %s, of the intercept %s.\n", tell.Upper(tell.FittedLine(r, tell.Scale{})), tell.Figure(r.R2), tell.Chance(r.PSlope), tell.Chance(r.PIntercept))
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', 0)
	fmt.Fprintln(w, "\nmaster\treadings\tbias\tt\tp\ton the line, 95 % band\t")
	for _, b := range r.Bias {
		line := fmt.Sprintf("%.4g", r.Intercept+r.Slope*b.Reference)
		if half := r.Fit.Band(b.Reference); r.PSlope != nil {
			line += fmt.Sprintf(" ± %.2g", half)
		}
		fmt.Fprintf(w, "%.6g\t%d\t%.4g\t%s\t%s\t%s\t\n", b.Reference, b.N, b.Bias, tell.Figure(b.T), tell.Chance(b.P), line)
	}
	return w.Flush()
}

// printAgreement prints an attribute study for people.
func printAgreement(out io.Writer, r study.AgreementResult, weights string) error {
	fmt.Fprintf(out, "Agreement of all ratings: Fleiss' kappa %s, %s.\n", tell.Figure(r.FleissKappa), tell.Agreement(r.FleissKappa))
	fmt.Fprintf(out, "%s, %s, %s; ratings %s.\n", tell.Count(r.Items, "item"), tell.Count(len(r.Appraisers), "appraiser"), tell.Count(r.Trials, "trial"), strings.Join(r.Categories, ", "))
	if weights != "" {
		fmt.Fprintf(out, "Kappas of pairs and against the reference have %s weights; Fleiss' kappa has none.\n", weights)
	}
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', 0)
	if len(r.Between) > 0 {
		fmt.Fprintln(w, "\nappraisers\tCohen's kappa\tagreement\t")
		for _, b := range r.Between {
			fmt.Fprintf(w, "%s, %s\t%s\t%s\t\n", b.A, b.B, tell.Figure(b.Kappa), tell.Agreement(b.Kappa))
		}
	}
	if len(r.Reference) > 0 {
		fmt.Fprintln(w, "\nappraiser\tkappa against the reference\tagreement\t")
		for _, a := range r.Reference {
			fmt.Fprintf(w, "%s\t%s\t%s\t\n", a.Appraiser, tell.Figure(a.Kappa), tell.Agreement(a.Kappa))
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
			fmt.Fprintf(out, "    of %s on items that are %s: %d wrong\n", tell.Count(wrong.Decisions, "decision"), wrong.Reference, wrong.Wrong)
		}
	}
	return nil
}

func ofItems(k, n int) string {
	low, high := batch.ClopperPearson(k, n, 0.95)
	return fmt.Sprintf("%d of %d (%.0f to %.0f %%)", k, n, 100*low, 100*high)
}
