package command

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"sagitta/batch/files"
	"sagitta/batch/sampling"
	"sagitta/batch/tell"
)

func samplingCommand() *cobra.Command {
	var lot int
	var aql float64
	var level, severity, lots string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "sampling",
		Short: "Acceptance sampling by attributes: a lot's plan, and how severe the next inspection is (MIL-STD-105E, single sampling)",
		Long: `Acceptance sampling by attributes (MIL-STD-105E, single sampling): a lot's plan by its size, the acceptable quality level, the
inspection level and the severity; or with --lots the severity for the next lot by the switching rules, with the reasons.

The file of lots has a header row and one row a lot, in the order of inspection, lots shown again left out. Columns:
  result      accepted, rejected, or between: under reduced inspection accepted above the acceptance number
  lot         its name (may be left out, like all that follow)
  may_reduce  yes, no or nothing: after it the other conditions for reduced inspection hold: the limit number is met,
              production is steady and reduced inspection is wanted
  unsteady    yes, no or nothing: production was not steady
  corrected   yes, no or nothing: the cause was put right after it, so that discontinued inspection is resumed`,
		Example: `  sagitta sampling --lot 500 --aql 1
  sagitta sampling --lot 500 --aql 1 --severity tightened
  sagitta sampling --lots lots.csv`,
		Args: exactly(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			given := cmd.Flags().Changed
			if lots == "" {
				if !given("lot") || !given("aql") {
					return usageError{errors.New("sampling needs --lot N, the lot's size, and --aql A, the acceptable quality level in percent; or --lots FILE, the lots before")}
				}
				plan, err := sampling.Lookup(lot, aql, level, sampling.Severity(severity))
				if err != nil {
					return usageError{fmt.Errorf("--%w", err)}
				}
				if asJSON {
					return json.NewEncoder(cmd.OutOrStdout()).Encode(plan)
				}
				return printPlan(cmd.OutOrStdout(), plan, lot, aql)
			}
			switch {
			case given("severity"):
				return usageError{errors.New("--severity: found with --lots, whose lots give it; allowed: one of them")}
			case given("lot") != given("aql"):
				return usageError{errors.New("--lots: found with one of --lot and --aql; allowed: with both, for the next lot's plan, or with neither")}
			case given("level") && !given("lot"):
				return usageError{errors.New("--level: found with --lots and without --lot and --aql; allowed: with both, for the next lot's plan")}
			}
			return nextLot(cmd, lots, lot, aql, level, asJSON)
		},
	}
	cmd.Flags().IntVar(&lot, "lot", 0, "size of the lot, 2 or more")
	cmd.Flags().Float64Var(&aql, "aql", 0, "acceptable quality level, percent nonconforming (above 10: nonconformities per 100 units)")
	choiceFlag(cmd, &level, "level", "II", "inspection level", "S-1", "S-2", "S-3", "S-4", "I", "II", "III")
	choiceFlag(cmd, &severity, "severity", string(sampling.Normal), "how severely the lot is inspected", string(sampling.Normal), string(sampling.Tightened), string(sampling.Reduced))
	cmd.Flags().StringVar(&lots, "lots", "", "a file of the product's lots so far, for the severity of the next one; - reads standard input")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the plan as JSON")
	return cmd
}

// nextLot tells how severely the next lot is inspected after those of a file, and its plan where its size is given.
func nextLot(cmd *cobra.Command, file string, lot int, aql float64, level string, asJSON bool) error {
	t, err := readColumns(cmd, file)
	if err != nil {
		return err
	}
	history, err := lotsOf(t)
	if err != nil {
		return err
	}
	st, err := sampling.Switch(history)
	var wrong sampling.LotError
	switch {
	case errors.As(err, &wrong):
		return t.Fault(wrong.Lot-1, "result", wrong.Problem)
	case err != nil:
		return err
	}
	var plan *sampling.Plan
	if cmd.Flags().Changed("lot") {
		severity := st.Next
		if severity == sampling.Discontinued {
			severity = sampling.Tightened // after which it is resumed; the plan is not told, but what was given is checked
		}
		p, err := sampling.Lookup(lot, aql, level, severity)
		if err != nil {
			return usageError{fmt.Errorf("--%w", err)}
		}
		if st.Next != sampling.Discontinued {
			plan = &p
		}
	}
	out := cmd.OutOrStdout()
	if asJSON {
		return json.NewEncoder(out).Encode(standingJSON(st, plan))
	}
	fmt.Fprintf(out, "Next lot: %s.\n", tell.Severity(st.Next))
	fmt.Fprintln(out, tell.Standing(st))
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', 0)
	fmt.Fprintln(w, "lot\tinspection\tresult\t")
	for i, l := range history {
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", l.Name, st.Applied[i], l.Outcome, tell.History(st, i+1))
	}
	if err := w.Flush(); err != nil || plan == nil {
		return err
	}
	return printPlan(out, *plan, lot, aql)
}

// standingJSON is a standing with its sentences, as it is printed for other programs.
func standingJSON(st sampling.Standing, plan *sampling.Plan) any {
	type change struct {
		sampling.Change
		Why string `json:"why"`
	}
	told := struct {
		Applied []sampling.Severity `json:"applied"`
		Next    sampling.Severity   `json:"next"`
		Why     string              `json:"why"`
		Changes []change            `json:"changes"`
		Plan    *sampling.Plan      `json:"plan,omitempty"`
	}{st.Applied, st.Next, tell.Standing(st), []change{}, plan}
	for _, c := range st.Changes {
		told.Changes = append(told.Changes, change{c, tell.Change(c)})
	}
	return told
}

// lotsOf reads a table of lots.
func lotsOf(t *files.Table) ([]sampling.Lot, error) {
	results, err := t.Labels("result")
	if err != nil {
		return nil, err
	}
	if err := t.Only("result", "lot", "may_reduce", "unsteady", "corrected"); err != nil {
		return nil, err
	}
	lots := make([]sampling.Lot, len(results))
	for i, r := range results {
		lots[i] = sampling.Lot{Name: fmt.Sprint(i + 1), Outcome: sampling.Outcome(r)}
	}
	if t.Has("lot") {
		names, err := t.Labels("lot")
		if err != nil {
			return nil, err
		}
		for i := range lots {
			lots[i].Name = names[i]
		}
	}
	for _, of := range []struct {
		column string
		set    func(l *sampling.Lot, yes bool)
	}{
		{"may_reduce", func(l *sampling.Lot, yes bool) { l.MayReduce = yes }},
		{"unsteady", func(l *sampling.Lot, yes bool) { l.Unsteady = yes }},
		{"corrected", func(l *sampling.Lot, yes bool) { l.Corrected = yes }},
	} {
		if !t.Has(of.column) {
			continue
		}
		answers, err := t.Answers(of.column)
		if err != nil {
			return nil, err
		}
		for i, yes := range answers {
			of.set(&lots[i], yes)
		}
	}
	return lots, nil
}

// printPlan says what to do with a lot, and what the plan is worth.
func printPlan(out io.Writer, p sampling.Plan, lot int, aql float64) error {
	fmt.Fprintln(out, tell.Plan(p, aql, lot, "unit"))
	fmt.Fprintln(out, tell.CodeLetter(p, aql))
	if p.CheckAll {
		return nil
	}
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', tabwriter.AlignRight)
	if aql > sampling.MostPercent {
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
