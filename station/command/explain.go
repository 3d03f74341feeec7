package command

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"sagitta/batch/tell"
	"sagitta/inspect"
)

// explainable are the names of the characteristics that can be explained.
func explainable() []string {
	var names []string
	for _, k := range inspect.Catalogue() {
		names = append(names, k.Name)
	}
	return names
}

// explainFiles prints how a characteristic comes about in each file of readings.
func explainFiles(cmd *cobra.Command, spec *inspect.Spec, files []string, name string) error {
	kind := inspect.KindOf(name)
	if kind.Name == "" {
		return usageError{fmt.Errorf("--explain: %q is no characteristic; they are %s", name, strings.Join(explainable(), ", "))}
	}
	page := pageOf(cmd.OutOrStdout())
	for _, file := range files {
		var text bytes.Buffer
		err := explainFile(cmd.InOrStdin(), &text, spec, file, kind, page.width)
		if _, failed := cmd.OutOrStdout().Write(page.set(text.Bytes())); err == nil {
			err = failed
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// explainFile prints how a characteristic comes about in one file of readings, what there is of it where something is missing.
func explainFile(in io.Reader, out io.Writer, spec *inspect.Spec, file string, kind inspect.Kind, width int) error {
	readings, res, err := checkFile(in, spec, file)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "%s\n%s\n%s\n", kind.Words, wrapped("  "+kind.Formula, width, 4), wrapped("  source: "+kind.Source, width, 4))
	found := false
	for _, c := range inspect.BassFirst(res.Characteristics) {
		if c.Name == kind.Name && (c.Value != nil || c.IntervalMM != nil) {
			found = true
			if err := explainOne(out, spec, readings, c, width); err != nil {
				return err
			}
		}
	}
	missing := strings.Join(inspect.MissingFor(spec, readings, res, kind.Name), "; ")
	switch {
	case !found && missing != "":
		return fmt.Errorf("%s: %s: the readings give no value of it; missing: %s", res.Serial, kind.Name, missing)
	case !found:
		return fmt.Errorf("%s: %s: the readings give no value of it", res.Serial, kind.Name)
	case missing != "":
		fmt.Fprintf(out, "\n%s\n", wrapped("missing: "+missing, width, 2))
	}
	return nil
}

// guardDigits are the decimals that what a value is computed from has more than the value: who computes on rounds last.
const guardDigits = 2

// explainOne prints one value, what it is computed from, the readings that move it, and its uncertainty budget.
func explainOne(out io.Writer, spec *inspect.Spec, readings *inspect.Readings, c inspect.Characteristic, width int) error {
	r := c.Rounded(spec.Uncertainty.ResolutionMM, 1)
	value := "no value"
	if c.Value != nil {
		value = r.Value(*c.Value, false) + " " + c.Unit
	}
	if c.U != nil && *c.U > 0 {
		value += " ± " + r.U(*c.U) + " " + c.Unit
	}
	limits := limitsOf(r, c.Lower, c.Upper)
	if limits != "" {
		limits = ", limits " + limits
	}
	fmt.Fprintln(out)
	fmt.Fprintln(out, wrapped(fmt.Sprintf("%s = %s%s, %s", inspect.Words(spec, c), value, limits, c.Zone), width, 2))
	workings, err := inspect.Workings(spec, readings, c)
	if err != nil {
		return err
	}
	guard := guardDigits
	if c.Method == "leaves" {
		guard = 0 // a leaf has the thickness that stands on it
	}
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', 0)
	for _, k := range workings {
		number := fmt.Sprintf("%.6g", k.Value)
		if k.Unit == c.Unit {
			number = inspect.Number(k.Value, r.Digits+guard, false)
		}
		fmt.Fprintf(w, "  %s\t%s %s\n", k.Name, number, k.Unit)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if c.Method == "leaves" {
		if c.U != nil {
			d := r.Digits + guardDigits
			fmt.Fprintf(out, "  standard uncertainty, the interval's width / sqrt(12): %s mm; U = 2u: %s mm\n", inspect.Number(*c.U, d, false), inspect.Number(2**c.U, d, false))
		}
		return nil
	}
	return printBudget(out, spec, readings, c, r.Digits+guardDigits)
}

// printBudget prints the readings that move a value, the largest part first; the value's parts with so many decimals.
func printBudget(out io.Writer, spec *inspect.Spec, readings *inspect.Readings, c inspect.Characteristic, digits int) error {
	parts, u, err := inspect.Budget(spec, readings, c)
	if err != nil {
		return err
	}
	if len(parts) == 0 || u == 0 {
		fmt.Fprintln(out, "  uncertainty: 0; no reading that brings an uncertainty moves it by its own u")
		return nil
	}
	g := spec.Uncertainty
	mm := (&inspect.Characteristic{Unit: "mm"}).Rounded(g.ResolutionMM, 1).Digits + guardDigits
	fmt.Fprintf(out, "  one reading of the specification's gauge: u = sqrt(%g²/12 + %g² + %g² + %g²) = %s mm\n", g.ResolutionMM, g.CalibrationMM,
		g.RepeatabilityMM, g.ReferenceMM, inspect.Number(spec.ReadingU(), mm, false))
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(w, "reading\tvalue, mm\tits u, mm\tmoves the value by\tshare\t")
	small := 0
	for _, p := range parts {
		share := 100 * p.Part * p.Part / (u * u)
		if share < 0.05 {
			small++
			continue
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%.1f %%\t\n", tell.BudgetPart(p.Point), inspect.Number(p.Value, mm, false), inspect.Number(p.U, mm, false),
			inspect.Number(p.Part, digits, true), share)
	}
	if small > 0 {
		fmt.Fprintf(w, "%d more, less than 0.05 %% each\t\t\t\t\t\n", small)
	}
	fmt.Fprintf(w, "standard uncertainty u\t\t\t%s\t\t\n", inspect.Number(u, digits, false))
	fmt.Fprintf(w, "expanded, U = 2u\t\t\t%s\t\t\n", inspect.Number(2*u, digits, false))
	return w.Flush()
}
