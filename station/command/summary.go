package command

import (
	"fmt"
	"io"
	"math"

	"github.com/spf13/cobra"

	"sagitta/batch/spc"
)

func summaryCommand() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "summary FILE",
		Short: "Mean, spread, median and autocorrelation of a delimited file's column value",
		Args:  exactly("FILE"),
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
	jsonFlag(cmd, &asJSON)
	return cmd
}

// fewestForChance is the number of values below which an autocorrelation is not compared with chance: the bound holds for
// long series; common practice, no source.
const fewestForChance = 8

// printSummary prints a summary for people.
func printSummary(out io.Writer, s spc.Summary) error {
	fmt.Fprintf(out, "%s: mean %.6g, standard deviation %s.\n", count(s.N, "value"), s.Mean, figure(s.SD))
	fmt.Fprintf(out, "Median %.6g, smallest %.6g, largest %.6g.\n", s.Median, s.Min, s.Max)
	if s.Autocorrelation == nil {
		_, err := fmt.Fprintln(out, "Autocorrelation is not defined: all values are equal.")
		return err
	}
	if s.N < fewestForChance {
		_, err := fmt.Fprintf(out, "Autocorrelation at lag 1 %.3f; %s are too few to tell it from chance (at least %d).\n",
			*s.Autocorrelation, count(s.N, "value"), fewestForChance)
		return err
	}
	// Independent values stay within 2/sqrt(n) of 0 in 95 of 100 series: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.12.
	bound := 2 / math.Sqrt(float64(s.N))
	said := "neighbours are no more alike than chance makes them"
	switch r := *s.Autocorrelation; {
	case r > bound:
		said = "neighbours are alike: the level wanders, and control limits from moving ranges come out too narrow"
	case r < -bound:
		said = "neighbours lie on opposite sides: two sources take turns, or somebody corrects too much"
	}
	_, err := fmt.Fprintf(out, "Autocorrelation at lag 1 %.3f (chance within ±%.3f): %s.\n", *s.Autocorrelation, bound, said)
	return err
}
