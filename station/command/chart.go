package command

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"sagitta/batch"
	"sagitta/batch/files"
	"sagitta/batch/spc"
)

func chartCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "chart",
		Short: "Control charts of a delimited file: is the process steady",
		Args:  itsCommands,
		RunE:  showHelp,
		Example: `  sagitta chart single relief.csv --base 1:25
  sagitta chart single relief.csv --base 1:25 --limits prediction --dof effective
  sagitta chart means action.csv --tests 1,2,5
  sagitta chart single checks.csv --column "relief bass"
  sagitta chart share rejected.csv --json`,
	}
	average, sums := spc.Average{}, spc.Sums{}
	ewma := kindCommand("drift FILE", "Weighted moving average, for small drifts; column value, or subgroup and value", averageOptions,
		func(t *files.Table, o spc.Options) (spc.Chart, error) {
			if t.Has("subgroup") {
				return ofGroups(t, func(g [][]float64) (spc.Chart, error) { return spc.EWMAOfSubgroups(g, average, o) })
			}
			return ofValues(t, func(x []float64) (spc.Chart, error) { return spc.EWMA(x, average, o) })
		}, "lambda", "width")
	ewma.Flags().Float64Var(&average.Lambda, "lambda", 0.2, "weight of the newest value")
	ewma.Flags().Float64Var(&average.Width, "width", 3, "limits in sigmas of the average")
	cusum := kindCommand("sums FILE", "Running sums, for small lasting shifts; column value", sumsOptions,
		func(t *files.Table, o spc.Options) (spc.Chart, error) {
			return ofValues(t, func(x []float64) (spc.Chart, error) { return spc.CUSUM(x, sums, o) })
		}, "h")
	cusum.Flags().Float64Var(&sums.K, "k", 0.5, "slack in sigmas: half of the shift to be found")
	cusum.Flags().Float64Var(&sums.H, "h", 5, "decision interval in sigmas")
	cusum.Flags().Float64Var(&sums.HeadStart, "head-start", 0, "share of the interval both sums start from, usually 0.5")
	cmd.AddCommand(
		also(kindCommand("single FILE", "Single values and their moving ranges; column value", variablesOptions,
			func(t *files.Table, o spc.Options) (spc.Chart, error) {
				return ofValues(t, func(x []float64) (spc.Chart, error) { return spc.Individuals(x, o) })
			}), "imr"),
		also(kindCommand("means FILE", "Means and ranges of subgroups; columns subgroup, value", variablesOptions,
			func(t *files.Table, o spc.Options) (spc.Chart, error) {
				return ofGroups(t, func(g [][]float64) (spc.Chart, error) { return spc.XbarR(g, o) })
			}), "xbar-r"),
		also(kindCommand("deviations FILE", "Means and standard deviations of subgroups; columns subgroup, value", variablesOptions,
			func(t *files.Table, o spc.Options) (spc.Chart, error) {
				return ofGroups(t, func(g [][]float64) (spc.Chart, error) { return spc.XbarS(g, o) })
			}), "xbar-s"),
		also(kindCommand("share FILE", "Share of nonconforming items; columns count, size", ratioOptions,
			func(t *files.Table, o spc.Options) (spc.Chart, error) { return ofCounts(t, o, spc.P) }), "p"),
		also(kindCommand("rate FILE", "Nonconformities per unit; columns count, size", ratioOptions,
			func(t *files.Table, o spc.Options) (spc.Chart, error) { return ofCounts(t, o, spc.U) }), "u"),
		also(ewma, "ewma"), also(cusum, "cusum"))
	return cmd
}

// predictionLimits is the choice of limits that carry the price of their base.
const predictionLimits = "prediction"

// Which options a kind of chart takes besides --base; all but those of shares and rates have a column of values.
const (
	ratioOptions     = "tests"
	variablesOptions = "tests center sigma limits"
	averageOptions   = "center sigma target limits"
	sumsOptions      = "center sigma target"
)

// kindCommand is the command of one kind of chart; positive are its own options that must be above 0.
func kindCommand(use, short, options string, draw func(*files.Table, spc.Options) (spc.Chart, error), positive ...string) *cobra.Command {
	var f chartFlags
	var asJSON bool
	cmd := &cobra.Command{
		Use:   use,
		Short: short,
		Args:  exactly("FILE"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := checkGiven(cmd, positive...); err != nil {
				return err
			}
			o, err := f.options(cmd.Flags().Changed)
			if err != nil {
				return err
			}
			t, err := readColumns(cmd, args[0])
			if err != nil {
				return err
			}
			c, err := draw(t, o)
			if err != nil {
				return statisticError(args[0], err)
			}
			return printStudy(cmd, asJSON, chartResult(c), func(out io.Writer) error { return printChart(out, c, o) })
		},
	}
	if options != ratioOptions {
		columnFlag(cmd)
	}
	f.add(cmd, options)
	jsonFlag(cmd, &asJSON)
	return cmd
}

// chartFlags are the options that kinds of chart share.
type chartFlags struct {
	base, tests, limits, dof string
	center, sigma, target    float64
}

// add gives a command --base and those of the options that are named.
func (f *chartFlags) add(cmd *cobra.Command, options string) {
	cmd.Flags().StringVar(&f.base, "base", "", "points the limits are computed from, such as 1:25; all when not given")
	for name := range strings.FieldsSeq(options) {
		switch name {
		case "tests":
			cmd.Flags().StringVar(&f.tests, "tests", "", "run tests to use, by their numbers in ISO 7870-2, such as 1,2,5; all eight when not given")
		case "center":
			cmd.Flags().Float64Var(&f.center, "center", 0, "centre line, instead of the base's mean")
		case "sigma":
			cmd.Flags().Float64Var(&f.sigma, "sigma", 0, "sigma of a single value, instead of the base's")
		case "limits":
			choiceFlag(cmd, &f.limits, "limits", "sigma", "three sigma to either side, or prediction limits: as wide as one more value of a steady process needs where mean and sigma are from so few", "sigma", predictionLimits)
			choiceFlag(cmd, &f.dof, "dof", "n-1", "degrees of freedom of prediction limits: those of so many squares, or those that the sigma from ranges has", "n-1", effectiveFreedom)
		case "target":
			cmd.Flags().Float64Var(&f.target, "target", 0, "level the process should have; the base's mean when not given")
		}
	}
}

// options are what was given.
func (f *chartFlags) options(given func(name string) bool) (o spc.Options, err error) {
	if given("base") {
		if o.Base, err = parseBase(f.base); err != nil {
			return o, err
		}
	}
	if given("tests") {
		if o.Tests, err = spc.ParseTests(f.tests); err != nil {
			return o, usageError{fmt.Errorf("--%w", err)}
		}
	}
	switch {
	case given("center") && given("target"):
		return o, usageError{errors.New("--target: found beside --center; allowed: one of them, they are the same")}
	case given("center"):
		o.Center = &f.center
	case given("target"):
		o.Center = &f.target
	}
	if given("sigma") {
		o.Sigma = &f.sigma
	}
	o.Prediction, err = predictionAsked(f.limits, f.dof, given("dof"))
	return o, err
}

// predictionAsked is what --limits and --dof ask for; nil: three sigma.
func predictionAsked(limits, dof string, given bool) (*spc.Prediction, error) {
	switch {
	case limits == predictionLimits:
		return &spc.Prediction{Plain: dof != effectiveFreedom}, nil
	case given:
		return nil, usageError{errors.New("--dof: found without --limits prediction; allowed: with it, for the other limits take none")}
	}
	return nil, nil
}

// parseBase reads A:B.
func parseBase(text string) (spc.Base, error) {
	first, last, _ := strings.Cut(text, ":")
	from, err := strconv.Atoi(first)
	to, err2 := strconv.Atoi(last)
	if err != nil || err2 != nil || from < 1 || to < from {
		return spc.Base{}, usageError{fmt.Errorf("--base: found %q; allowed: first:last point, counted from 1, such as 1:25", text)}
	}
	return spc.Base{From: from, To: to}, nil
}

// statisticError says where an error of a statistic is, where the file's line is not known: the option or the file.
func statisticError(file string, err error) error {
	var option spc.OptionError
	var fault batch.FileError
	switch {
	case errors.As(err, &option):
		option.Option = strings.ReplaceAll(option.Option, " ", "-")
		return usageError{fmt.Errorf("--%w", option)}
	case errors.As(err, &fault):
		return err
	}
	return fmt.Errorf("%s: %w", file, err)
}

// ofValues makes something of the column value.
func ofValues[T any](t *files.Table, of func([]float64) (T, error)) (made T, err error) {
	x, err := t.Numbers("value")
	if err != nil {
		return made, err
	}
	made, err = of(x)
	return made, inFile(t, err, func(i int) int { return i })
}

// ofCounts makes a chart of the columns count and size.
func ofCounts(t *files.Table, o spc.Options, of func(counts, sizes []float64, o spc.Options) (spc.Chart, error)) (spc.Chart, error) {
	counts, err := t.Numbers("count")
	if err != nil {
		return spc.Chart{}, err
	}
	sizes, err := t.Numbers("size")
	if err != nil {
		return spc.Chart{}, err
	}
	c, err := of(counts, sizes, o)
	return c, inFile(t, err, func(i int) int { return i })
}

// ofGroups makes something of the columns subgroup and value: a subgroup is all rows with the same label, wherever they stand;
// subgroups stand in the order of their first rows.
func ofGroups[T any](t *files.Table, of func([][]float64) (T, error)) (made T, err error) {
	labels, err := t.Labels("subgroup")
	if err != nil {
		return made, err
	}
	x, err := t.Numbers("value")
	if err != nil {
		return made, err
	}
	place := map[string]int{}
	var groups [][]float64
	var rows [][]int
	for i, label := range labels {
		g, seen := place[label]
		if !seen {
			g = len(groups)
			place[label] = g
			groups, rows = append(groups, nil), append(rows, nil)
		}
		groups[g], rows[g] = append(groups[g], x[i]), append(rows[g], i)
	}
	made, err = of(groups)
	var group spc.GroupError
	if errors.As(err, &group) {
		first := rows[group.Group-1][0]
		return made, t.Fault(first, "subgroup", fmt.Sprintf("%s: %s", labels[first], group.Problem))
	}
	return made, inFile(t, err, func(i int) int {
		for _, r := range rows {
			if i < len(r) {
				return r[i]
			}
			i -= len(r)
		}
		return 0
	})
}

// inFile says an error about a value with its line and column; row is the row of the value at an index, both from 0.
func inFile(t *files.Table, err error, row func(int) int) error {
	var at spc.ValueError
	if errors.As(err, &at) {
		return t.Fault(row(at.Index-1), at.Field, at.Problem)
	}
	return err
}

// pointResult is a point in JSON; a limit that does not exist is null. High and Low are of a CUSUM alone.
type pointResult struct {
	Index   int       `json:"index"`
	Value   float64   `json:"value"`
	Lower   *float64  `json:"lower"`
	Center  float64   `json:"center"`
	Upper   *float64  `json:"upper"`
	Signals spc.Tests `json:"signals"`
	High    *float64  `json:"high,omitempty"`
	Low     *float64  `json:"low,omitempty"`
}

// chartResult is a chart in JSON: the keys of its kind.
func chartResult(c spc.Chart) map[string]any {
	points := make([]pointResult, len(c.Points))
	for i := range c.Points {
		p := &c.Points[i]
		points[i] = pointResult{Index: p.Index, Value: p.Value, Lower: number64(&p.Lower), Center: p.Center, Upper: number64(&p.Upper), Signals: p.Signals}
		if c.Kind == spc.CUSUMKind {
			points[i].High, points[i].Low = &p.High, &p.Low
		}
	}
	result := map[string]any{"points": points}
	switch c.Kind {
	case spc.CUSUMKind:
		return result
	case spc.IndividualsKind:
		result["mr_center"], result["mr_upper"] = c.SpreadCenter, c.SpreadUpper
	case spc.XbarRKind, spc.XbarSKind:
		result["spread_center"], result["spread_lower"], result["spread_upper"] = c.SpreadCenter, c.SpreadLower, c.SpreadUpper
	}
	result["center"] = c.Center
	if len(c.Spread) > 0 || c.Kind == spc.IndividualsKind {
		result["lower"], result["upper"], result["sigma"] = c.Lower, c.Upper, c.Sigma
	}
	return result
}

// number64 is v, nil where it is no number.
func number64(v *float64) *float64 {
	if math.IsNaN(*v) {
		return nil
	}
	return v
}
