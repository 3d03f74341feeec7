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
		return usageError{fmt.Errorf("--explain %q is no characteristic; they are %s", name, strings.Join(inspect.CharacteristicNames(), ", "))}
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
			if c.Name == name && c.Value != nil {
				found = true
				if err := explainOne(out, spec, readings, c); err != nil {
					return err
				}
			}
		}
		if !found {
			return fmt.Errorf("%s: %s: the readings give no value of it", res.Serial, name)
		}
	}
	return nil
}

// explainOne prints one value, the readings that move it, and its uncertainty budget.
func explainOne(out io.Writer, spec *inspect.Spec, readings *inspect.Readings, c inspect.Characteristic) error {
	fmt.Fprintf(out, "\n%s = %.6g %s, %s\n", inspect.Words(spec, c), *c.Value, c.Unit, c.Zone)
	parts, u, err := inspect.Budget(spec, readings, c)
	if err != nil {
		return err
	}
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(w, "reading\tits u, mm\tmoves the value by\tshare\t")
	for _, p := range parts {
		fmt.Fprintf(w, "%s\t%.4f\t%+.5f\t%.1f %%\t\n", batch.PointOf(p.Point).Words(), p.U, p.Part, 100*p.Part*p.Part/(u*u))
	}
	fmt.Fprintf(w, "standard uncertainty u\t\t%.5f\t\t\n", u)
	fmt.Fprintf(w, "expanded, U = 2u\t\t%.5f\t\t\n", 2*u)
	return w.Flush()
}
