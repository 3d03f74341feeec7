package main

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"sagitta/batch"
	"sagitta/inspect"
)

// explainFiles prints how a characteristic comes about in each file of readings.
func explainFiles(cmd *cobra.Command, spec *inspect.Spec, files []string, name string) error {
	e, known := inspect.Explain(name)
	if !known {
		return usageError{fmt.Errorf("--explain: %q is no characteristic; they are %s", name, strings.Join(append(inspect.CharacteristicNames(), "intonation", "fret_position"), ", "))}
	}
	out := cmd.OutOrStdout()
	for _, file := range files {
		readings, res, err := checkFile(cmd.InOrStdin(), spec, file)
		if err != nil {
			return err
		}
		fmt.Fprintf(out, "%s\n  %s\n  source: %s\n", inspect.Name(name), e.Formula, e.Source)
		found := false
		for _, c := range res.Characteristics {
			if c.Name == name && (c.Value != nil || c.IntervalMM != nil) {
				found = true
				if err := explainOne(out, spec, readings, c); err != nil {
					return err
				}
			}
		}
		missing := strings.Join(inspect.MissingFor(spec, readings, res, name), "; ")
		switch {
		case !found && missing != "":
			return fmt.Errorf("%s: %s: the readings give no value of it; missing: %s", res.Serial, name, missing)
		case !found:
			return fmt.Errorf("%s: %s: the readings give no value of it", res.Serial, name)
		case missing != "":
			fmt.Fprintf(out, "\nmissing: %s\n", missing)
		}
	}
	return nil
}

// explainOne prints one value, what it is computed from, the readings that move it, and its uncertainty budget.
func explainOne(out io.Writer, spec *inspect.Spec, readings *inspect.Readings, c inspect.Characteristic) error {
	value := "no value"
	if c.Value != nil {
		value = fmt.Sprintf("%.6g %s", *c.Value, c.Unit)
	}
	fmt.Fprintf(out, "\n%s = %s, %s\n", inspect.Words(spec, c), value, c.Zone)
	workings, err := inspect.Workings(spec, readings, c)
	if err != nil {
		return err
	}
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', 0)
	for _, k := range workings {
		fmt.Fprintf(w, "  %s\t%.6g %s\n", k.Name, k.Value, k.Unit)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if c.Method == "leaves" {
		if c.U != nil {
			fmt.Fprintf(out, "  standard uncertainty, the interval's width / sqrt(12): %.5f mm; U = 2u: %.5f mm\n", *c.U, 2**c.U)
		}
		return nil
	}
	return printBudget(out, spec, readings, c)
}

// printBudget prints the readings that move a value, the largest part first.
func printBudget(out io.Writer, spec *inspect.Spec, readings *inspect.Readings, c inspect.Characteristic) error {
	parts, u, err := inspect.Budget(spec, readings, c)
	if err != nil {
		return err
	}
	if len(parts) == 0 || u == 0 {
		fmt.Fprintln(out, "  uncertainty: 0; no reading that brings an uncertainty moves it by its own u")
		return nil
	}
	g := spec.Uncertainty
	fmt.Fprintf(out, "  one reading of the specification's gauge: u = sqrt(%g²/12 + %g² + %g² + %g²) = %.5f mm\n", g.ResolutionMM, g.CalibrationMM,
		g.RepeatabilityMM, g.ReferenceMM, spec.ReadingU())
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(w, "reading\tvalue, mm\tits u, mm\tmoves the value by\tshare\t")
	small := 0
	for _, p := range parts {
		share := 100 * p.Part * p.Part / (u * u)
		if share < 0.05 {
			small++
			continue
		}
		fmt.Fprintf(w, "%s\t%.4f\t%.4f\t%+.5f\t%.1f %%\t\n", batch.PointOf(p.Point).Words(), p.Value, p.U, p.Part, share)
	}
	if small > 0 {
		fmt.Fprintf(w, "%d more, less than 0.05 %% each\t\t\t\t\t\n", small)
	}
	fmt.Fprintf(w, "standard uncertainty u\t\t\t%.5f\t\t\n", u)
	fmt.Fprintf(w, "expanded, U = 2u\t\t\t%.5f\t\t\n", 2*u)
	return w.Flush()
}
