package command

import (
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"sagitta/batch/spc"
	"sagitta/batch/tell"
)

const (
	chartPoints = 60 // newest points drawn and listed
	chartRows   = 13
	manySignals = 20 // signals told, the newest
	fewForBase  = 20 // points of a base below which its limits are called uncertain; ISO 7870-2 asks for 25 subgroups (from memory)
)

// printChart prints a chart for people: what it says, where its limits are from, the newest points drawn and listed.
func printChart(out io.Writer, c spc.Chart, o spc.Options) error {
	noun := tell.Plotted(c.Plotted())
	size := ""
	if c.Size > 1 {
		size = fmt.Sprintf(" of %d", c.Size)
	}
	signals, spread := c.Signals(), c.SpreadSignals()
	answer := tell.Signals(len(signals)+len(spread), tell.Count(len(c.Points), noun)+size, c.Chance(o.Tests))
	first, rest, _ := strings.Cut(answer, " among ")
	fmt.Fprintf(out, "%s among %s.\n", strings.ToUpper(first), rest)
	tellSignals(out, c, signals)
	tellSignals(out, c, spread)
	tellLimits(out, c, noun, o)
	drawChart(out, tell.Upper(tell.ChartName(c.Kind)), noun, c)
	return listPoints(out, noun, c)
}

// tellSignals prints the newest signals, a sentence or two each.
func tellSignals(out io.Writer, c spc.Chart, signals []spc.Signal) {
	if more := len(signals) - manySignals; more > 0 {
		fmt.Fprintf(out, "  %s before these; all points are printed with --json.\n", tell.Count(more, "signal"))
		signals = signals[more:]
	}
	for _, s := range signals {
		if c.Kind == spc.EWMAKind || c.Kind == spc.CUSUMKind {
			fmt.Fprintf(out, "  %s\n", tell.Signal(s, tell.Scale{}))
			continue
		}
		fmt.Fprintf(out, "  %s: %s\n", tell.Upper(tell.RunTest(s.Test)), tell.Signal(s, tell.Scale{}))
	}
}

// tellLimits says what the limits are, from which points, and what to mind about them.
func tellLimits(out io.Writer, c spc.Chart, noun string, o spc.Options) {
	from := "given, not computed from these points"
	if c.Base != (spc.Base{}) {
		from = fmt.Sprintf("computed from %ss %d to %d", noun, c.Base.From, c.Base.To)
		if c.Base.To-c.Base.From+1 < len(c.Points) {
			from += " and held for the rest"
		}
	}
	fmt.Fprintf(out, "%s; %s.", tell.Limits(c, tell.Scale{}), from)
	if (c.Kind == spc.PKind || c.Kind == spc.UKind) && math.IsNaN(c.Upper) {
		fmt.Fprint(out, " Run tests 5 to 8 need equal sizes and are not used.")
	}
	fmt.Fprintln(out)
	if n := c.Base.To - c.Base.From + 1; c.Base != (spc.Base{}) && n < fewForBase && o.Prediction == nil {
		fmt.Fprintf(out, "Limits from %s are uncertain: 25 are usual.\n", tell.Count(n, noun))
	}
	if words := tell.PriceOfBase(c, noun); words != "" {
		fmt.Fprintln(out, words+".")
	}
	if o.Tests != 0 && o.Tests != spc.AllTests {
		fmt.Fprintf(out, "Run tests used: %s (Nelson 1984).\n", strings.Trim(strings.Join(strings.Fields(fmt.Sprint(o.Tests.Numbers())), ", "), "[]"))
	}
}

// drawn is one column of the text chart: marks at heights, and the limits and the centre line there.
type drawn struct {
	marks []float64
	lines [3]float64 // lower, centre, upper
	fired []bool     // of each mark: a signal ends there
}

// drawChart draws the newest points, one to a column: o a point, X one with a signal, - the limits, . the centre line.
func drawChart(out io.Writer, title, noun string, c spc.Chart) {
	points := newest(c.Points)
	columns := make([]drawn, len(points))
	low, high := math.Inf(1), math.Inf(-1)
	for i, p := range points {
		d := drawn{marks: []float64{p.Value}, lines: [3]float64{p.Lower, p.Center, p.Upper}, fired: []bool{p.Signals != 0}}
		if c.Kind == spc.CUSUMKind { // the lower sum is drawn downwards, a sum of 0 is the line
			d = drawn{lines: [3]float64{-c.Interval, 0, c.Interval}}
			for _, sum := range []float64{p.High, -p.Low} {
				if sum != 0 {
					d.marks, d.fired = append(d.marks, sum), append(d.fired, math.Abs(sum) > c.Interval)
				}
			}
		}
		columns[i] = d
		for _, v := range append(d.marks, d.lines[:]...) {
			low, high = min(low, v), max(high, v)
		}
	}
	if !(high-low > 1e-12*max(math.Abs(high), math.Abs(low))) {
		return // all on one line: nothing to see
	}
	row := func(v float64) int { return int(math.Round((high - v) / (high - low) * (chartRows - 1))) }
	grid := make([][]byte, chartRows)
	for r := range grid {
		grid[r] = []byte(strings.Repeat(" ", len(columns)))
	}
	for i, d := range columns {
		for k, v := range d.lines {
			grid[row(v)][i] = "-.-"[k]
		}
		for k, v := range d.marks {
			if grid[row(v)][i] = 'o'; d.fired[k] {
				grid[row(v)][i] = 'X'
			}
		}
	}
	format := digits(high - low)
	fmt.Fprintf(out, "%s, %ss %d to %d\n", title, noun, points[0].Index, points[len(points)-1].Index)
	for r := range grid {
		at := high - (high-low)*float64(r)/(chartRows-1)
		fmt.Fprintf(out, "  %10s |%s\n", fmt.Sprintf(format, at), strings.TrimRight(string(grid[r]), " "))
	}
}

// digits is the format that shows a thousandth of a range.
func digits(width float64) string {
	if !(width > 1e-9 && width < 1e9) {
		return "%.5g"
	}
	return fmt.Sprintf("%%.%df", max(0, int(math.Ceil(3-math.Log10(width)))))
}

// newest are the points that are drawn and listed.
func newest(points []spc.Point) []spc.Point { return points[max(0, len(points)-chartPoints):] }

// listPoints prints the newest points as a table; a spread outside its limits is marked.
func listPoints(out io.Writer, noun string, c spc.Chart) error {
	varying := math.IsNaN(c.Upper) && c.Kind != spc.CUSUMKind
	heads := map[spc.Kind]string{spc.CUSUMKind: "value\tupper running sum\tlower running sum", spc.EWMAKind: "average\tlower\tupper", spc.IndividualsKind: "value\tmoving range",
		spc.XbarRKind: "mean\trange", spc.XbarSKind: "mean\tstandard deviation"}
	head := heads[c.Kind]
	switch {
	case head == "" && varying:
		head = "value\tlower\tupper"
	case head == "":
		head = "value"
	}
	points := newest(c.Points)
	low, high := points[0].Value, points[0].Value
	for _, p := range points {
		low, high = min(low, p.Value), max(high, p.Value)
	}
	format := digits(high - low)
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(w, "%s\t%s\ttests\t\n", noun, head)
	for _, p := range points {
		row := []any{p.Value}
		switch {
		case c.Kind == spc.CUSUMKind:
			row = append(row, p.High, p.Low)
		case varying:
			row = append(row, p.Lower, p.Upper)
		}
		fmt.Fprintf(w, "%d"+strings.Repeat("\t"+format, len(row)), append([]any{p.Index}, row...)...)
		if len(c.Spread) > 0 && p.Index < c.Spread[0].Index {
			fmt.Fprint(w, "\t")
		} else if len(c.Spread) > 0 {
			s := c.Spread[p.Index-c.Spread[0].Index]
			mark := ""
			if s.Signals != 0 {
				mark = "! "
			}
			fmt.Fprintf(w, "\t%s"+format, mark, s.Value)
		}
		fmt.Fprintf(w, "\t%s\t\n", strings.Trim(fmt.Sprint(p.Signals.Numbers()), "[]"))
	}
	return w.Flush()
}
