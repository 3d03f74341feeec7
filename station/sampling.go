package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"sagitta/batch/sampling"
)

func samplingCommand() *cobra.Command {
	var lot int
	var aql float64
	var level, severity string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "sampling",
		Short: "Acceptance sampling plan of a lot by attributes (MIL-STD-105E, single sampling)",
		Args:  exactly(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if !cmd.Flags().Changed("lot") || !cmd.Flags().Changed("aql") {
				return usageError{fmt.Errorf("sampling needs --lot N, the lot's size, and --aql A, the acceptable quality level in percent")}
			}
			plan, err := sampling.Lookup(lot, aql, level, sampling.Severity(severity))
			if err != nil {
				return usageError{fmt.Errorf("--%w", err)}
			}
			if asJSON {
				return json.NewEncoder(cmd.OutOrStdout()).Encode(plan)
			}
			return printPlan(cmd.OutOrStdout(), plan, lot, aql)
		},
	}
	cmd.Flags().IntVar(&lot, "lot", 0, "size of the lot, 2 or more")
	cmd.Flags().Float64Var(&aql, "aql", 0, "acceptable quality level, percent nonconforming (above 10: nonconformities per 100 units)")
	cmd.Flags().StringVar(&level, "level", "II", "inspection level: S-1 to S-4, I, II, III")
	cmd.Flags().StringVar(&severity, "severity", string(sampling.Normal), "normal, tightened or reduced")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the plan as JSON")
	return cmd
}

// mostPercent is the largest AQL that may mean percent nonconforming; above it units are not counted but nonconformities.
// Source: MIL-STD-105E 4.4.
const mostPercent = 10

// printPlan says what to do with a lot, and what the plan is worth.
func printPlan(out io.Writer, p sampling.Plan, lot int, aql float64) error {
	what := "nonconforming units"
	if aql > mostPercent {
		what = "nonconformities"
	}
	sample := fmt.Sprintf("Check %d of %d", p.N, lot)
	if p.CheckAll {
		sample = fmt.Sprintf("Check all %d: the plan's sample of %d is not smaller than the lot", lot, p.N)
	}
	most := fmt.Sprintf("at most %d %s", p.Accept, what)
	if p.Accept == 0 {
		most = "no " + what
	}
	fmt.Fprintf(out, "%s. Accept the lot with %s, reject it from %d on.\n", sample, most, p.Reject)
	if p.Reject > p.Accept+1 {
		fmt.Fprintln(out, "Between the two the lot is accepted, and the next one is inspected normally.")
	}
	if p.Letter != p.Code {
		fmt.Fprintf(out, "Code letter %s has no plan at AQL %v: the table's arrow leads to letter %s and its sample size.\n", p.Code, aql, p.Letter)
	} else {
		fmt.Fprintf(out, "Code letter %s.\n", p.Code)
	}
	if p.CheckAll {
		return nil
	}
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', tabwriter.AlignRight)
	if aql > mostPercent {
		fmt.Fprintf(out, "Operating characteristic (Poisson), for a steady process:\n")
		fmt.Fprintln(w, "per 100 units\taccepted\t")
		for _, times := range []float64{0.5, 1, 1.5, 2, 3} {
			accepted, err := p.AcceptanceOfDefects(times * aql / 100)
			if err != nil {
				return err
			}
			fmt.Fprintf(w, "%.4g\t%.1f %%\t\n", times*aql, 100*accepted)
		}
		return w.Flush()
	}
	fmt.Fprintln(out, "Operating characteristic: of lots from a steady process (binomial), and of this lot alone (hypergeometric)")
	fmt.Fprintln(w, "nonconforming\taccepted\tin this lot\taccepted\t")
	for _, share := range []float64{0.99, 0.95, 0.9, 0.75, 0.5, 0.25, 0.1, 0.05} {
		quality, err := p.QualityAt(share)
		if err != nil {
			return err
		}
		bad := int(math.Round(quality * float64(lot)))
		alone, err := p.AcceptanceOfLot(lot, bad)
		if err != nil {
			return err
		}
		fmt.Fprintf(w, "%.3g %%\t%.0f %%\t%d\t%.1f %%\t\n", 100*quality, 100*share, bad, 100*alone)
	}
	return w.Flush()
}
