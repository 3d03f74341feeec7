package command

import (
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"sagitta/batch/spc"
	"sagitta/batch/tell"
)

func capabilityCommand() *cobra.Command {
	var o spc.CapabilityOptions
	var lower, upper, target float64
	var distribution, dof string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "capability FILE",
		Short: "Capability and performance in the limits; column value, and subgroup where there are subgroups",
		Example: `  sagitta capability relief.csv --lower 0.2 --upper 0.36
  sagitta capability necks.csv --column "relief bass" --lower 0.2 --upper 0.36 --target 0.3`,
		Args: exactly("FILE"),
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
			o.Distribution, o.Effective = spc.Distribution(distribution), dof == effectiveFreedom
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
	columnFlag(cmd)
	cmd.Flags().Float64Var(&lower, "lower", 0, "lower limit, in the unit of the values; one limit is enough")
	cmd.Flags().Float64Var(&upper, "upper", 0, "upper limit")
	cmd.Flags().Float64Var(&target, "target", 0, "target, for Cpm in the text")
	cmd.Flags().Float64Var(&o.Confidence, "confidence", 0.95, "of the two-sided intervals")
	choiceFlag(cmd, &distribution, "distribution", "", "of the percentile method; the better fitting one when not given", string(spc.LognormalDistribution), string(spc.WeibullDistribution))
	choiceFlag(cmd, &dof, "dof", "n-1", "degrees of freedom of the intervals of Cp and Cpk without subgroups: n - 1, or those that a sigma from moving ranges has", "n-1", effectiveFreedom)
	cmd.Flags().BoolVar(&o.Bounded, "bounded", false, "values cannot lie below 0: Normal only where 0 is far")
	jsonFlag(cmd, &asJSON)
	return cmd
}

// effectiveFreedom is the choice of the degrees of freedom that the estimator of sigma has.
const effectiveFreedom = "effective"

// printCapability prints capability for people: the answer, how the values lie between the limits, then the indices.
func printCapability(out io.Writer, r spc.CapabilityResult, o spc.CapabilityOptions, values []float64) error {
	answer, why := tell.Capability(r, "The process", "value", func(number int) string { return fmt.Sprintf("value %d", number) })
	fmt.Fprintf(out, "%s\n%s, judged by %s. Counted outside: %s.", answer, tell.Count(r.N, "value"), tell.Between(o.Limits.Lower, o.Limits.Upper, tell.Scale{}.Number), tell.Outside(r))
	if predicted := tell.Predicted(r); predicted != "" {
		fmt.Fprintf(out, " Predicted: %s.", predicted)
	}
	fmt.Fprintln(out)
	for _, sentence := range why {
		fmt.Fprintln(out, sentence)
	}
	drawHistogram(out, o.Limits, values)
	return listIndices(out, r, o)
}

// listIndices prints the indices with their intervals and sigmas.
func listIndices(out io.Writer, r spc.CapabilityResult, o spc.CapabilityOptions) error {
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(w, "index\testimate\t%.4g %% interval\tof\t\n", 100*o.Confidence)
	for _, line := range tell.Indices(r) {
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t\n", line.Name, line.Index, line.Interval, line.Of)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if p := r.Percentile; p != nil {
		fmt.Fprintf(out, "Percentile method: Ppk %s, Pp %s, from the %s distribution (p of the fit %s), whose 0.135, 50 and 99.865 %% points are %.4g, %.4g and %.4g.\n",
			tell.Figure(p.PPK), tell.Figure(p.PP), tell.Distribution(p.Distribution), tell.Chance(&p.P), p.Low, p.Median, p.High)
	}
	if o.Target != nil {
		fmt.Fprintf(out, "About the target %.5g: Cpm %s.\n", *o.Target, tell.Figure(r.CPM))
	}
	_, err := fmt.Fprintf(out, "Mean %.6g; %s %.4g, %s; %s %.4g.\n", r.Mean, tell.SigmaInside, r.SigmaWithin, tell.SigmaFrom(r), tell.SigmaOfAll, r.SigmaOverall)
	return err
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
