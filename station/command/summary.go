package command

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"sagitta/batch/spc"
	"sagitta/batch/tell"
)

func summaryCommand() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "summary FILE",
		Short: "Mean, spread, median and autocorrelation of a delimited file's column value",
		Example: `  sagitta summary relief.csv
  sagitta summary necks.csv --column "relief bass" --json`,
		Args: exactly("FILE"),
		RunE: func(cmd *cobra.Command, args []string) error {
			t, err := readColumns(cmd, args[0])
			if err != nil {
				return err
			}
			s, err := ofValues(t, spc.Summarize)
			if err != nil {
				return statisticError(args[0], err)
			}
			return printStudy(cmd, asJSON, s, func(out io.Writer) error { return printSummary(out, s) })
		},
	}
	columnFlag(cmd)
	jsonFlag(cmd, &asJSON)
	return cmd
}

// printSummary prints a summary for people.
func printSummary(out io.Writer, s spc.Summary) error {
	fmt.Fprintf(out, "%s: mean %.6g, standard deviation %s.\n", tell.Count(s.N, "value"), s.Mean, tell.Figure(s.SD))
	fmt.Fprintf(out, "Median %.6g, smallest %.6g, largest %.6g.\n", s.Median, s.Min, s.Max)
	_, err := fmt.Fprintln(out, tell.Autocorrelation(s))
	return err
}
