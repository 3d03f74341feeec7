package command

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"

	"github.com/spf13/cobra"

	"sagitta/batch/files"
	"sagitta/batch/study"
)

func studyCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "study",
		Short: "Gauge studies on a delimited file: is the gauge good enough for its limits",
		Args:  itsCommands,
		RunE:  showHelp,
		Example: `  sagitta study people height.csv --tolerance 0.2
  sagitta study master height.csv --reference 1.5 --tolerance 0.2`,
	}
	cmd.AddCommand(crossedCommand(), typeOneCommand(), linearityCommand(), agreementCommand())
	return cmd
}

func crossedCommand() *cobra.Command {
	var o study.Options
	var method string
	var asJSON bool
	cmd := &cobra.Command{
		Use:     "people FILE",
		Aliases: []string{"crossed"},
		Short:   "Repeatability and reproducibility; columns part, appraiser, trial, value",
		Args:    exactly("FILE"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Method = study.Method(method)
			if err := checkGiven(cmd, "tolerance"); err != nil {
				return err
			}
			t, err := readColumns(cmd, args[0])
			if err != nil {
				return err
			}
			labels, err := labelled(t, "part", "appraiser", "trial")
			if err != nil {
				return err
			}
			values, err := t.Numbers("value")
			if err != nil {
				return err
			}
			m := make([]study.Measurement, len(values))
			for i, v := range values {
				m[i] = study.Measurement{Part: labels[0][i], Appraiser: labels[1][i], Trial: labels[2][i], Value: v}
			}
			r, err := study.Crossed(m, o)
			if err != nil {
				return studyError(t, args[0], err)
			}
			return printStudy(cmd, asJSON, r, func(out io.Writer) error { return printCrossed(out, r, o.Tolerance) })
		},
	}
	columnFlag(cmd)
	choiceFlag(cmd, &method, "method", string(study.ANOVA), "analysis of variance, or average and range", string(study.ANOVA), string(study.AverageAndRange))
	cmd.Flags().Float64Var(&o.Tolerance, "tolerance", 0, "width of the tolerance that the gauge judges, in the unit of the values")
	jsonFlag(cmd, &asJSON)
	return cmd
}

func typeOneCommand() *cobra.Command {
	var o study.TypeOneOptions
	var asJSON bool
	cmd := &cobra.Command{
		Use:     "master FILE",
		Aliases: []string{"type1"},
		Short:   "Repeated readings of one master: Cg, Cgk and bias; column value",
		Args:    exactly("FILE"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if !cmd.Flags().Changed("reference") {
				return usageError{fmt.Errorf("%s needs --reference R, the master's value", cmd.CommandPath())}
			}
			if err := checkGiven(cmd, "tolerance", "resolution", "share", "spread"); err != nil {
				return err
			}
			t, err := readColumns(cmd, args[0])
			if err != nil {
				return err
			}
			values, err := t.Numbers("value")
			if err != nil {
				return err
			}
			r, err := study.TypeOne(values, o)
			if err != nil {
				return studyError(t, args[0], err)
			}
			return printStudy(cmd, asJSON, r, func(out io.Writer) error { return printTypeOne(out, r, o) })
		},
	}
	columnFlag(cmd)
	cmd.Flags().Float64Var(&o.Reference, "reference", 0, "the master's value, in the unit of the values")
	cmd.Flags().Float64Var(&o.Tolerance, "tolerance", 0, "width of the tolerance that the gauge judges; without it there is no Cg")
	cmd.Flags().Float64Var(&o.Resolution, "resolution", 0, "the gauge's smallest step, to be compared with the tolerance")
	cmd.Flags().Float64Var(&o.Share, "share", 0.2, "share of the tolerance that the gauge may take")
	cmd.Flags().Float64Var(&o.Spread, "spread", 6, "standard deviations that the gauge's spread is taken as")
	jsonFlag(cmd, &asJSON)
	return cmd
}

func linearityCommand() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:     "travel FILE",
		Aliases: []string{"linearity"},
		Short:   "Bias over the gauge's travel; columns reference, value",
		Args:    exactly("FILE"),
		RunE: func(cmd *cobra.Command, args []string) error {
			t, err := readColumns(cmd, args[0])
			if err != nil {
				return err
			}
			references, err := t.Numbers("reference")
			if err != nil {
				return err
			}
			values, err := t.Numbers("value")
			if err != nil {
				return err
			}
			c := make([]study.Comparison, len(values))
			for i := range values {
				c[i] = study.Comparison{Reference: references[i], Value: values[i]}
			}
			r, err := study.Linearity(c)
			if err != nil {
				return studyError(t, args[0], err)
			}
			return printStudy(cmd, asJSON, r, func(out io.Writer) error { return printLinearity(out, r) })
		},
	}
	columnFlag(cmd)
	jsonFlag(cmd, &asJSON)
	return cmd
}

func agreementCommand() *cobra.Command {
	var weights string
	var asJSON bool
	cmd := &cobra.Command{
		Use:     "ratings FILE",
		Aliases: []string{"agreement"},
		Short:   "Agreement of ratings; columns item, appraiser, trial, rating, and reference where it is known",
		Args:    exactly("FILE"),
		RunE: func(cmd *cobra.Command, args []string) error {
			t, err := readColumns(cmd, args[0])
			if err != nil {
				return err
			}
			names := []string{"item", "appraiser", "trial", "rating"}
			if t.Has("reference") {
				names = append(names, "reference")
			}
			labels, err := labelled(t, names...)
			if err != nil {
				return err
			}
			ratings := make([]study.Rating, t.Rows())
			for i := range ratings {
				ratings[i] = study.Rating{Item: labels[0][i], Appraiser: labels[1][i], Trial: labels[2][i], Rating: labels[3][i]}
				if len(labels) > 4 {
					ratings[i].Reference = labels[4][i]
				}
			}
			r, err := study.Agreement(ratings, study.Weights(weights))
			if err != nil {
				return studyError(t, args[0], err)
			}
			return printStudy(cmd, asJSON, r, func(out io.Writer) error { return printAgreement(out, r, weights) })
		},
	}
	choiceFlag(cmd, &weights, "weights", "", "of two ratings' distance, for ratings that are numbers", string(study.Linear), string(study.Quadratic))
	jsonFlag(cmd, &asJSON)
	return cmd
}

// labelled reads columns of text.
func labelled(t *files.Table, names ...string) ([][]string, error) {
	labels := make([][]string, len(names))
	for i, name := range names {
		var err error
		if labels[i], err = t.Labels(name); err != nil {
			return nil, err
		}
	}
	return labels, nil
}

// studyError says where a study's error is: the option, the file's line and column, or the file.
func studyError(t *files.Table, file string, err error) error {
	var option study.OptionError
	var row study.RowError
	switch {
	case errors.As(err, &option):
		return usageError{fmt.Errorf("--%w", option)}
	case errors.As(err, &row):
		return t.Fault(row.Row, row.Field, row.Problem)
	}
	return fmt.Errorf("%s: %w", file, err)
}

func jsonFlag(cmd *cobra.Command, asJSON *bool) {
	cmd.Flags().BoolVar(asJSON, "json", false, "print the result as JSON")
}

// columnFlag adds the option that names the value's column.
func columnFlag(cmd *cobra.Command) {
	cmd.Flags().String("column", "", "the values' column in the file, where it is not called value")
}

// readColumns reads a delimited file; "-" is standard input.
func readColumns(cmd *cobra.Command, file string) (*files.Table, error) {
	name, text, err := files.ReadText(file, cmd.InOrStdin())
	if err != nil {
		return nil, err
	}
	t, err := files.ReadTable(name, text)
	if err != nil {
		return nil, err
	}
	column := cmd.Flags().Lookup("column")
	if column == nil {
		return t, nil
	}
	if column.Changed {
		t.Call("value", column.Value.String())
	}
	if err := t.Needs("value"); err != nil && !column.Changed {
		return nil, fmt.Errorf("%w; --column NAME names the values' column", err)
	}
	return t, nil
}

// checkGiven refuses a given option that is not above 0, where 0 would mean that it was not given.
func checkGiven(cmd *cobra.Command, names ...string) error {
	for _, name := range names {
		v, err := cmd.Flags().GetFloat64(name)
		if err != nil {
			return err
		}
		if cmd.Flags().Changed(name) && (!(v > 0) || math.IsInf(v, 0)) {
			return usageError{fmt.Errorf("--%s: found %v; allowed: a finite number above 0", name, v)}
		}
	}
	return nil
}

// printStudy prints a study's result as JSON, or with print for people.
func printStudy(cmd *cobra.Command, asJSON bool, result any, print func(io.Writer) error) error {
	if asJSON {
		return json.NewEncoder(cmd.OutOrStdout()).Encode(result)
	}
	var text bytes.Buffer
	if err := print(&text); err != nil {
		return err
	}
	out := cmd.OutOrStdout()
	_, err := out.Write(pageOf(out).set(text.Bytes()))
	return err
}
