package batches

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// signalRow is one signal of a chart with the neck at which it fired.
type signalRow struct {
	Test          int
	From, At      int
	Serial, Words string
}

// controlView is a control chart with what it says.
type controlView struct {
	Charts   []*show.Chart
	Sentence string
	Signals  []signalRow // of the chart itself, then of the moving ranges
	Unit     string      // of the numbers in their words
	Problem  string      // why there is no chart
	Limits   string      // sentence: the centre line, the limits and sigma
	BaseOf   string      // which points the limits came from, and who stated them
}

// chartKinds are the control charts that the batch page draws of a characteristic.
var chartKinds = []form.Option{
	{Value: string(spc.IndividualsKind), Label: "individuals and moving range"},
	{Value: string(spc.EWMAKind), Label: "EWMA, for small drifts"},
	{Value: string(spc.CUSUMKind), Label: "CUSUM, for small drifts"},
}

// chartOfSeries computes the chart of a characteristic's first measurements. The base is cut to the points there are.
func chartOfSeries(kind spc.Kind, x []float64, base batch.ChartBase, tests spc.Tests) (c spc.Chart, few bool, err error) {
	b := spc.Base{From: base.First, To: base.Last}
	if b.To > len(x) {
		b, few = spc.Base{From: min(base.First, max(1, len(x)-1)), To: len(x)}, true
	}
	o := spc.Options{Base: b, Tests: tests}
	switch kind {
	case spc.EWMAKind:
		c, err = spc.EWMA(x, spc.Average{}, o)
	case spc.CUSUMKind:
		c, err = spc.CUSUM(x, spc.Sums{}, o)
	default:
		c, err = spc.Individuals(x, o)
	}
	return c, few, err
}

// controlOf draws and words the control chart of a characteristic's first measurements. Points lead to their necks.
func controlOf(kind spc.Kind, named batch.Named, title string, points []batch.SeriesPoint, base batch.ChartBase, tests spc.Tests, lengths unit.Unit) controlView {
	var v controlView
	if len(points) < 2 {
		v.Problem = "A control chart needs at least two necks with this value."
		return v
	}
	c, few, err := chartOfSeries(kind, show.ValuesOf(points), base, tests)
	if err != nil {
		v.Problem = "There is no chart: " + err.Error() + "."
		return v
	}
	v.Limits = tell.Limits(c, show.ScaleOf(named.Unit, lengths)) + "."
	v.BaseOf = fmt.Sprintf("Limits from necks %d to %d in the order of inspection", c.Base.From, c.Base.To)
	switch {
	case base.By != "":
		v.BaseOf += fmt.Sprintf(", frozen by %s", base.By)
		if base.Reason != "" {
			v.BaseOf += ": " + strings.TrimSuffix(base.Reason, ".")
		}
		if few {
			v.BaseOf += fmt.Sprintf("; necks %d to %d were stated, and not so many have this value", base.First, base.Last)
		}
	case few:
		v.BaseOf += fmt.Sprintf("; they freeze at the %dth", base.Last)
	default:
		v.BaseOf += ", the usual base"
	}
	v.BaseOf += "."
	fired := map[int]bool{}
	v.Unit = show.UnitOf(named.Unit, lengths)
	scale := show.ScaleOf(named.Unit, lengths)
	for _, s := range c.Signals() {
		p := points[s.At-1]
		v.Signals = append(v.Signals, signalRow{s.Test, s.From, s.At, p.Serial, tell.Signal(s, scale)})
		for i := s.At; i <= s.To; i++ {
			fired[i] = true
		}
	}
	v.Charts = []*show.Chart{valueChart(c, named, title, points, fired, lengths)}
	if kind == spc.IndividualsKind {
		v.Charts = append(v.Charts, rangeChart(c, named, points, lengths))
		for _, s := range c.SpreadSignals() {
			p := points[s.At-1]
			v.Signals = append(v.Signals, signalRow{s.Test, s.From, s.At, p.Serial, tell.Signal(s, scale)})
		}
	}
	v.Sentence = signalSentence(title, len(points), v.Signals)
	return v
}

// signalSentence answers whether the process is steady.
func signalSentence(title string, n int, signals []signalRow) string {
	if len(signals) == 0 {
		return fmt.Sprintf("%s is steady over %d necks: no signal.", title, n)
	}
	first := slices.MinFunc(signals, func(a, b signalRow) int { return cmp.Compare(a.At, b.At) })
	if len(signals) == 1 {
		return fmt.Sprintf("%s shows one signal over %d necks, first at neck %s.", title, n, first.Serial)
	}
	return fmt.Sprintf("%s shows %d signals over %d necks, the first at neck %s.", title, len(signals), n, first.Serial)
}

// valueChart draws the values, averages or sums with their limits.
func valueChart(c spc.Chart, named batch.Named, title string, points []batch.SeriesPoint, fired map[int]bool, lengths unit.Unit) *show.Chart {
	in := named.Unit
	out := show.Chart{
		ID: "control", Tall: true, Spoken: "Control chart of " + title + "; its signals are in the table.",
		X: show.Axis{Title: "neck in the order of inspection", Whole: true},
		Y: show.Axis{Title: title + ", " + show.UnitOf(in, lengths), Decimals: show.Decimals(in, lengths)},
	}
	if c.Kind == spc.CUSUMKind {
		return cusumChart(out, c, named, points, lengths)
	}
	out.Caption = "Ringed points: a signal. Triangles: outside the specification. A point leads to its neck."
	line := show.Series{Name: title, Kind: "both"}
	if c.Kind == spc.EWMAKind {
		line.Name, out.Y.Title = "average", "average of "+out.Y.Title
	}
	over, under := show.Series{Name: "limit", Kind: "line", Quiet: true, Label: "upper control limit"}, show.Series{Name: "limit", Kind: "line", Quiet: true, Label: "lower control limit"}
	for i, p := range c.Points {
		sp := points[i]
		state := ""
		if sp.Zone == inspect.Nonconforming || sp.Zone == inspect.Undecided {
			state = string(sp.Zone)
		}
		if fired[p.Index] {
			state = "signal"
		}
		words := fmt.Sprintf("%s, neck %d: %s %s", sp.Serial, p.Index, show.Value(*sp.Value, in, lengths, inspect.KindOf(named.Name).Signed), show.UnitOf(in, lengths))
		switch {
		case c.Kind == spc.EWMAKind:
			words += ", average " + show.Value(p.Value, in, lengths, inspect.KindOf(named.Name).Signed)
			if p.Signals != 0 {
				words += ": outside its limits"
			}
		case p.Signals != 0:
			words += "; test " + show.NumbersWords(p.Signals.Numbers())
		}
		line.Points = append(line.Points, show.Point{X: float64(p.Index), Y: show.Y(show.InUnit(p.Value, in, lengths)), Words: words, Link: site.NeckPath(sp.Serial), State: state})
		if c.Kind == spc.EWMAKind {
			over.Points = append(over.Points, show.Point{X: float64(p.Index), Y: show.Y(show.InUnit(p.Upper, in, lengths))})
			under.Points = append(under.Points, show.Point{X: float64(p.Index), Y: show.Y(show.InUnit(p.Lower, in, lengths))})
		}
	}
	out.Series = []show.Series{line}
	out.Marks = []show.Mark{{At: show.InUnit(c.Center, in, lengths), Words: "centre " + show.Value(c.Center, in, lengths, false), Kind: "centre"}}
	if c.Kind == spc.EWMAKind {
		out.Series = append(out.Series, over, under)
		out.Caption = "The average forgets a fifth at each neck. Ringed: it lies outside its limits. A point leads to its neck."
	} else {
		out.Marks = append(out.Marks,
			show.Mark{At: show.InUnit(c.Upper, in, lengths), Words: "control " + show.Value(c.Upper, in, lengths, false), Kind: "control"},
			show.Mark{At: show.InUnit(c.Lower, in, lengths), Words: "control " + show.Value(c.Lower, in, lengths, false), Kind: "control"})
	}
	out.Marks = append(out.Marks, show.LimitMarks(points, in, lengths, false)...)
	return &out
}

// cusumChart draws the two sums, the lower one downwards.
func cusumChart(out show.Chart, c spc.Chart, named batch.Named, points []batch.SeriesPoint, lengths unit.Unit) *show.Chart {
	in := named.Unit
	out.Y.Title = "cumulative sum of " + out.Y.Title
	out.Caption = "Upper sum above, lower sum below the line. Ringed: a sum lies beyond its decision interval; the process has moved. A point leads to its neck."
	high, low := show.Series{Name: "upper sum", Kind: "both"}, show.Series{Name: "lower sum", Kind: "both"}
	for i, p := range c.Points {
		state := func(sum float64) string {
			if sum > c.Interval {
				return "signal"
			}
			return ""
		}
		link := site.NeckPath(points[i].Serial)
		words := func(which string, sum float64) string {
			return fmt.Sprintf("%s, neck %d: %s sum %s", points[i].Serial, p.Index, which, show.Value(sum, in, lengths, false))
		}
		high.Points = append(high.Points, show.Point{X: float64(p.Index), Y: show.Y(show.InUnit(p.High, in, lengths)), Words: words("upper", p.High), Link: link, State: state(p.High)})
		low.Points = append(low.Points, show.Point{X: float64(p.Index), Y: show.Y(show.InUnit(-p.Low, in, lengths)), Words: words("lower", p.Low), Link: link, State: state(p.Low)})
	}
	out.Series = []show.Series{high, low}
	at := show.InUnit(c.Interval, in, lengths)
	out.Marks = []show.Mark{{At: 0, Words: "target", Kind: "centre"}, {At: at, Words: "decision interval", Kind: "control"}, {At: -at, Words: "decision interval", Kind: "control"}}
	return &out
}

// rangeChart draws the moving ranges.
func rangeChart(c spc.Chart, named batch.Named, points []batch.SeriesPoint, lengths unit.Unit) *show.Chart {
	in := named.Unit
	out := show.Chart{
		ID: "ranges", Caption: "Difference from the neck before. Ringed: beyond what this spread explains.", Spoken: "Moving ranges; their signals are in the table.",
		X: show.Axis{Title: "neck in the order of inspection", Whole: true}, Y: show.Axis{Title: "moving range, " + show.UnitOf(in, lengths), Decimals: show.Decimals(in, lengths), Min: show.Y(0)},
		Marks: []show.Mark{{At: show.InUnit(c.SpreadCenter, in, lengths), Words: "centre " + show.Value(c.SpreadCenter, in, lengths, false), Kind: "centre"}, {At: show.InUnit(c.SpreadUpper, in, lengths), Words: "control " + show.Value(c.SpreadUpper, in, lengths, false), Kind: "control"}},
	}
	line := show.Series{Name: "moving range", Kind: "both"}
	for _, p := range c.Spread {
		state := ""
		if p.Signals != 0 {
			state = "signal"
		}
		sp := points[p.Index-1]
		line.Points = append(line.Points, show.Point{X: float64(p.Index), Y: show.Y(show.InUnit(p.Value, in, lengths)), State: state, Link: site.NeckPath(sp.Serial),
			Words: fmt.Sprintf("%s, neck %d: %s", sp.Serial, p.Index, show.Value(p.Value, in, lengths, false))})
	}
	out.Series = []show.Series{line}
	return &out
}
