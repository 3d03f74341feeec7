package command

import (
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"sagitta/batch/spc"
)

func capabilityCommand() *cobra.Command {
	var o spc.CapabilityOptions
	var lower, upper, target float64
	var distribution string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "capability FILE",
		Short: "Capability and performance in the limits; column value, and subgroup where there are subgroups",
		Args:  exactly("FILE"),
		RunE: func(cmd *cobra.Command, args []string) error {
			for _, option := range []struct {
				name  string
				value *float64
				to    **float64
			}{{"lower", &lower, &o.Limits.Lower}, {"upper", &upper, &o.Limits.Upper}, {"target", &target, &o.Target}} {
				if cmd.Flags().Changed(option.name) {
					*option.to = option.value
				}
			}
			if err := checkGiven(cmd, "confidence"); err != nil {
				return err
			}
			o.Distribution = spc.Distribution(distribution)
			t, err := readColumns(cmd, args[0])
			if err != nil {
				return err
			}
			var values []float64
			var r spc.CapabilityResult
			if t.Has("subgroup") {
				r, err = ofGroups(t, func(g [][]float64) (spc.CapabilityResult, error) {
					for _, x := range g {
						values = append(values, x...)
					}
					return spc.CapabilityOfSubgroups(g, o)
				})
			} else {
				r, err = ofValues(t, func(x []float64) (spc.CapabilityResult, error) {
					values = x
					return spc.Capability(x, o)
				})
			}
			if err != nil {
				return statisticError(args[0], err)
			}
			return printStudy(cmd, asJSON, r, func(out io.Writer) error { return printCapability(out, r, o, values) })
		},
	}
	cmd.Flags().Float64Var(&lower, "lower", 0, "lower limit, in the unit of the values; one limit is enough")
	cmd.Flags().Float64Var(&upper, "upper", 0, "upper limit")
	cmd.Flags().Float64Var(&target, "target", 0, "target, for Cpm in the text")
	cmd.Flags().Float64Var(&o.Confidence, "confidence", 0.95, "of the two-sided intervals")
	cmd.Flags().StringVar(&distribution, "distribution", "", "of the percentile method: lognormal or weibull; the better fitting one when not given")
	jsonFlag(cmd, &asJSON)
	return cmd
}

// wanders is the ratio of the overall sigma to the one within above which the level is said to wander: common practice, no source.
const wanders = 1.2

// printCapability prints capability for people.
func printCapability(out io.Writer, r spc.CapabilityResult, o spc.CapabilityOptions, values []float64) error {
	normal := r.Normality == nil || r.Normality.P >= 0.05
	fmt.Fprintf(out, "%s in limits %s: Ppk %s%s, Cpk %s%s, with %.4g %% confidence.\n", count(r.N, "value"), limitWords(o.Limits), figure(r.PPK), within(r.CI.PPK), figure(r.CPK), within(r.CI.CPK),
		100*o.Confidence)
	fmt.Fprintf(out, "Counted outside: %d of %d (%d below, %d above).", r.Below+r.Above, r.N, r.Below, r.Above)
	if share := spc.PerMillion(r.Below+r.Above, r.N, 1); share != nil && *share > 0 {
		fmt.Fprintf(out, " That is %s of a million.", perMillion(*share))
	}
	if r.Expected != nil {
		only := "if Normal and as steady as now"
		if !normal {
			only = "if they were Normal, which they are not"
		}
		fmt.Fprintf(out, " Expected: %s of a million, %s.", perMillion(*r.Expected), only)
	}
	fmt.Fprintln(out)
	if r.N < spc.FewForCapability {
		fmt.Fprintf(out, "Fewer than %d values: the indices are uncertain, as the width of their intervals shows.\n", spc.FewForCapability)
	}
	switch {
	case r.SigmaOverall == 0:
		fmt.Fprintln(out, "All values are equal: no index is defined. Look whether the gauge's step is too coarse.")
	case r.Normality == nil:
		fmt.Fprintln(out, "Too few values to test whether they are Normal: 8 are needed.")
	case normal:
		fmt.Fprintf(out, "Nothing speaks against a Normal distribution (Anderson-Darling A² %.4g, p %s).\n", r.Normality.Statistic, chance(&r.Normality.P))
	default:
		fmt.Fprintf(out, "The values are not Normal (Anderson-Darling A² %.4g, p %s)", r.Normality.Statistic, chance(&r.Normality.P))
		if r.Percentile != nil {
			fmt.Fprintln(out, ": take the indices of the percentile method.")
		} else {
			fmt.Fprintln(out, ", and neither a lognormal nor a Weibull distribution fits, so that the indices say little. Look for mixed sources, a drift or odd values in a control chart.")
		}
	}
	if p := r.Percentile; p != nil {
		fmt.Fprintf(out, "Percentile method: Ppk %s, Pp %s, from the %s distribution (p of the fit %s), whose 0.135, 50 and 99.865 %% points are %.4g, %.4g and %.4g.\n",
			figure(p.PPK), figure(p.PP), distributionWords[p.Distribution], chance(&p.P), p.Low, p.Median, p.High)
	}
	if o.Target != nil {
		fmt.Fprintf(out, "About the target %.5g: Cpm %s.\n", *o.Target, figure(r.CPM))
	}
	if r.SigmaWithin > 0 && r.SigmaOverall > wanders*r.SigmaWithin {
		fmt.Fprintf(out, "The overall spread is %.2f times the spread within: the level wanders. Cp and Cpk show what steadying it would give, Pp and Ppk what is delivered.\n", r.SigmaOverall/r.SigmaWithin)
	}
	drawHistogram(out, o.Limits, values)
	return listIndices(out, r, o)
}

// listIndices prints the indices with their intervals and sigmas.
func listIndices(out io.Writer, r spc.CapabilityResult, o spc.CapabilityOptions) error {
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(w, "index\testimate\t%.4g %% interval\tsigma\t\n", 100*o.Confidence)
	for _, row := range []struct {
		name     string
		index    *float64
		interval *spc.Interval
		sigma    string
	}{
		{"Cp", r.CP, r.CI.CP, fmt.Sprintf("%.4g within", r.SigmaWithin)}, {"Cpk", r.CPK, r.CI.CPK, ""},
		{"Pp", r.PP, r.CI.PP, fmt.Sprintf("%.4g overall", r.SigmaOverall)}, {"Ppk", r.PPK, r.CI.PPK, ""},
	} {
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t\n", row.name, figure(row.index), strings.Trim(within(row.interval), " ()"), row.sigma)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	from := fmt.Sprintf("pooled over the subgroups, with %d degrees of freedom", r.DFWithin)
	if !r.Subgrouped {
		from = fmt.Sprintf("from moving ranges of neighbours; its intervals take n - 1 = %d degrees of freedom", r.DFWithin)
	}
	_, err := fmt.Fprintf(out, "Mean %.6g. Sigma within is %s.\n", r.Mean, from)
	return err
}

// distributionWords are the names of distributions for people.
var distributionWords = map[spc.Distribution]string{spc.LognormalDistribution: "lognormal", spc.WeibullDistribution: "Weibull"}

func limitWords(l spc.Limits) string {
	switch {
	case l.Lower == nil:
		return fmt.Sprintf("up to %.5g", *l.Upper)
	case l.Upper == nil:
		return fmt.Sprintf("from %.5g up", *l.Lower)
	}
	return fmt.Sprintf("%.5g to %.5g", *l.Lower, *l.Upper)
}

// within prints an interval in brackets after a space; nothing where there is none.
func within(i *spc.Interval) string {
	if i == nil {
		return ""
	}
	return fmt.Sprintf(" (%.4g to %.4g)", i[0], i[1])
}

func perMillion(v float64) string {
	if v < 0.1 {
		return "fewer than 0.1"
	}
	if v < 1000 {
		return fmt.Sprintf("%.3g", v)
	}
	return fmt.Sprintf("%.0f", v)
}

const (
	histogramRows  = 14
	histogramWidth = 50
)

// drawHistogram draws how the values lie, a row to a class, with the limits between the classes where they fall.
func drawHistogram(out io.Writer, l spc.Limits, values []float64) {
	low, high := values[0], values[0]
	for _, v := range values {
		low, high = min(low, v), max(high, v)
	}
	width := (high - low) / histogramRows
	if !(width > 1e-12*max(math.Abs(low), math.Abs(high))) {
		return
	}
	format := digits(high - low)
	counts := make([]int, histogramRows)
	most := 0
	for _, v := range values {
		k := min(int((v-low)/width), histogramRows-1)
		counts[k]++
		most = max(most, counts[k])
	}
	limit := func(name string, v *float64, before int) { // a limit stands below the class it falls in, or at an end
		if v == nil {
			return
		}
		place := 0
		switch {
		case *v > high:
			place = histogramRows
		case *v > low:
			place = min(int((*v-low)/width), histogramRows-1) + 1
		}
		if place == before {
			fmt.Fprintf(out, "  %10.5g + %s limit\n", *v, name)
		}
	}
	for k := range histogramRows + 1 {
		limit("lower", l.Lower, k)
		limit("upper", l.Upper, k)
		if k < histogramRows {
			bar := int(math.Ceil(float64(counts[k]) / float64(most) * histogramWidth))
			fmt.Fprintf(out, "  %10s | %s %d\n", fmt.Sprintf(format, low+(float64(k)+0.5)*width), strings.Repeat("#", bar), counts[k])
		}
	}
}
