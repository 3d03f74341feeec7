package batches

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/batch/tell"
	"sagitta/batch/watched"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// signalRow is one signal of a chart with the neck at which it fired.
type signalRow struct {
	Test          string // a number, or EWMA
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
	Price    string      // sentence: what the limits pay for so few
}

// rangesKind is the chart of the moving ranges, which an address names.
const rangesKind spc.Kind = "ranges"

// chartKinds are the control charts that the batch page draws of a characteristic: values and their average together are the usual one.
var chartKinds = []form.Option{
	{Value: string(spc.IndividualsKind), Label: "values and their average (EWMA)"},
	{Value: string(rangesKind), Label: "values and moving ranges"},
	{Value: string(spc.CUSUMKind), Label: "CUSUM, for small lasting shifts"},
}

// kindAsked is the chart that the page's address names. Widths have the usual one alone, for the others take values for Normal.
func kindAsked(c *site.Request, named batch.Named) spc.Kind {
	kind := spc.Kind(c.Query("kind"))
	if kind != rangesKind && kind != spc.CUSUMKind || inspect.KindOf(named.Name).Width {
		return spc.IndividualsKind
	}
	return kind
}

// control is what a control chart is made of.
type control struct {
	kind    spc.Kind
	named   batch.Named
	title   string
	points  []batch.SeriesPoint
	base    batch.ChartBase
	tests   spc.Tests
	lengths unit.Unit
}

// drawing is a chart's computed parts: the main one, the one under it where there is one, all signals and how many chance would give.
type drawing struct {
	main, under spc.Chart
	signals     []spc.Signal
	chance      float64
}

// compute computes the charts of a characteristic's first measurements.
func (q control) compute() (d drawing, err error) {
	x, base := show.ValuesOf(q.points), watched.Base(q.base, len(q.points))
	if q.kind == spc.CUSUMKind {
		d.main, err = spc.CUSUM(x, spc.Sums{}, spc.Options{Base: base})
		d.signals = d.main.Signals()
		d.chance = d.main.Chance(0)
		return d, err
	}
	w, err := spc.Watch(x, base, spc.Watching{Tests: q.tests, EWMA: q.kind == spc.IndividualsKind, Roots: inspect.KindOf(q.named.Name).Width})
	if err != nil {
		return d, err
	}
	d = drawing{w.Values, w.Average, w.Signals, w.Chance()}
	if q.kind == rangesKind {
		d.signals = append(d.signals, w.Values.SpreadSignals()...)
		d.chance = w.Values.Chance(q.tests)
	}
	return d, nil
}

// view draws and words the control chart of a characteristic's first measurements. Points lead to their necks.
func (q control) view() controlView {
	v := controlView{Unit: show.UnitOf(q.named.Unit, q.lengths)}
	if len(q.points) < 2 {
		v.Problem = "A control chart needs at least two necks with this value."
		return v
	}
	d, err := q.compute()
	if err != nil {
		v.Problem = "There is no chart: " + err.Error() + "."
		return v
	}
	scale := show.ScaleOf(q.named.Unit, q.lengths)
	if q.kind != rangesKind {
		d.main.Spread = nil // nothing is said of moving ranges that are not drawn
	}
	v.Limits, v.BaseOf, v.Price = tell.Limits(d.main, scale)+".", q.baseWords(d.main.Base), tell.PriceOfBase(d.main, "neck")
	fired := map[spc.Kind]map[int]bool{spc.IndividualsKind: {}, spc.EWMAKind: {}, spc.CUSUMKind: {}}
	for _, s := range d.signals {
		test := fmt.Sprint(s.Test)
		if s.Chart == spc.EWMAKind {
			test = "EWMA"
		}
		v.Signals = append(v.Signals, signalRow{test, s.From, s.At, q.points[s.At-1].Serial, tell.Signal(s, scale)})
		for i := s.At; i <= s.To && s.Plotted != spc.MovingRanges; i++ {
			fired[s.Chart][i] = true
		}
	}
	v.Charts = []*show.Chart{q.valueChart(d.main, fired[d.main.Kind])}
	switch {
	case len(d.under.Points) > 0:
		v.Charts = append(v.Charts, q.averageChart(d.under, fired[spc.EWMAKind]))
	case q.kind == rangesKind:
		v.Charts = append(v.Charts, rangeChart(d.main, q.named, q.points, q.lengths))
	}
	v.Sentence = q.sentence(d, scale)
	return v
}

// baseWords say which necks the limits are from, and who stated them.
func (q control) baseWords(used spc.Base) string {
	words := fmt.Sprintf("Limits from necks %d to %d in the order of inspection", used.From, used.To)
	few := q.base.Last > len(q.points)
	switch {
	case q.base.By != "":
		words += fmt.Sprintf(", frozen by %s", q.base.By)
		if q.base.Reason != "" {
			words += ": " + strings.TrimSuffix(q.base.Reason, ".")
		}
		if few {
			words += fmt.Sprintf("; necks %d to %d were stated, and not so many have this value", q.base.First, q.base.Last)
		}
	case few:
		words += fmt.Sprintf("; they freeze at the %dth", q.base.Last)
	default:
		words += ", the usual base"
	}
	return words + "."
}

// sentence says how many signals there are and how many chance would give, where the first is, and how much the level has moved if it
// moved once, or that it came back.
func (q control) sentence(d drawing, scale tell.Scale) string {
	words := q.title + ": " + tell.Signals(len(d.signals), tell.Count(len(q.points), "neck"), d.chance)
	if len(d.signals) == 0 {
		return words + "."
	}
	first := slices.MinFunc(d.signals, func(a, b spc.Signal) int { return cmp.Compare(a.At, b.At) })
	words += fmt.Sprintf(". %s at neck %s", show.Pick(len(d.signals) == 1, "It is", "The first is"), q.points[first.At-1].Serial)
	x, before := show.ValuesOf(q.points), meanIn(q.points, d.main.Base)
	c, ok := spc.ChangeOf(x, d.main.Base.To, before)
	switch told, newest := c.Told(d.signals, x, before); {
	case !ok || newest == 0:
	case told:
		words += "; " + tell.LevelChange(c.By, q.points[c.Since-1].Serial, scale)
	default:
		words += "; " + tell.CameBack(q.points[newest-1].Serial)
	}
	return words + "."
}

// meanIn is the mean of the points in a base.
func meanIn(points []batch.SeriesPoint, base spc.Base) float64 {
	sum := 0.0
	for _, p := range points[base.From-1 : base.To] {
		sum += *p.Value
	}
	return sum / float64(base.To-base.From+1)
}

// valueChart draws the values or sums with their limits.
func (q control) valueChart(c spc.Chart, fired map[int]bool) *show.Chart {
	in, lengths := q.named.Unit, q.lengths
	out := show.Chart{
		ID: "control", Tall: true, Spoken: "Control chart of " + q.title + "; its signals are in the table.",
		X: show.Axis{Title: "neck in the order of inspection", Whole: true},
		Y: show.Axis{Title: q.title + ", " + show.UnitOf(in, lengths), Decimals: show.Decimals(in, lengths)},
	}
	if c.Kind == spc.CUSUMKind {
		return cusumChart(out, c, q.named, q.points, lengths)
	}
	out.Caption = "Ringed points: a signal. Triangles: outside the specification. A point leads to its neck."
	line := show.Series{Name: q.title, Kind: "both"}
	for i, p := range c.Points {
		sp := q.points[i]
		state := ""
		if sp.Zone == inspect.Nonconforming || sp.Zone == inspect.Undecided {
			state = string(sp.Zone)
		}
		if fired[p.Index] {
			state = "signal"
		}
		words := fmt.Sprintf("%s, neck %d: %s", sp.Serial, p.Index, q.written(*sp.Value))
		if p.Signals != 0 {
			words += "; test " + show.NumbersWords(p.Signals.Numbers())
		}
		line.Points = append(line.Points, show.Point{X: float64(p.Index), Y: show.Y(show.InUnit(p.Value, in, lengths)), Words: words, Link: site.NeckPath(sp.Serial), State: state})
	}
	out.Series = []show.Series{line}
	out.Marks = append([]show.Mark{q.mark(c.Center, "centre"), q.mark(c.Upper, "control"), q.mark(c.Lower, "control")}, show.LimitMarks(q.points, in, lengths, false)...)
	return &out
}

// mark is a line across the chart.
func (q control) mark(at float64, kind string) show.Mark {
	return show.Mark{At: show.InUnit(at, q.named.Unit, q.lengths), Words: kind + " " + show.Value(at, q.named.Unit, q.lengths, false), Kind: kind}
}

// written is a value with its unit.
func (q control) written(v float64) string {
	return show.Value(v, q.named.Unit, q.lengths, inspect.KindOf(q.named.Name).Signed) + " " + show.UnitOf(q.named.Unit, q.lengths)
}

// averageChart draws the EWMA with its limits, which widen.
func (q control) averageChart(c spc.Chart, fired map[int]bool) *show.Chart {
	in, lengths := q.named.Unit, q.lengths
	out := show.Chart{
		ID: "average", Spoken: "Weighted moving average of " + q.title + "; its signals are in the table.",
		Caption: "The average forgets a fifth at each neck. Ringed: it lies outside its limits. A point leads to its neck.",
		X:       show.Axis{Title: "neck in the order of inspection", Whole: true},
		Y:       show.Axis{Title: "average of " + q.title + ", " + show.UnitOf(in, lengths), Decimals: show.Decimals(in, lengths)},
		Marks:   []show.Mark{q.mark(c.Center, "centre")},
	}
	line := show.Series{Name: "average", Kind: "both"}
	over, under := show.Series{Name: "limit", Kind: "line", Quiet: true, Label: "upper control limit"}, show.Series{Name: "limit", Kind: "line", Quiet: true, Label: "lower control limit"}
	for i, p := range c.Points {
		x, words := float64(p.Index), fmt.Sprintf("%s, neck %d: average %s", q.points[i].Serial, p.Index, q.written(p.Value))
		state := ""
		if fired[p.Index] {
			state, words = "signal", words+": outside its limits"
		}
		line.Points = append(line.Points, show.Point{X: x, Y: show.Y(show.InUnit(p.Value, in, lengths)), Words: words, Link: site.NeckPath(q.points[i].Serial), State: state})
		over.Points = append(over.Points, show.Point{X: x, Y: show.Y(show.InUnit(p.Upper, in, lengths))})
		under.Points = append(under.Points, show.Point{X: x, Y: show.Y(show.InUnit(p.Lower, in, lengths))})
	}
	out.Series = []show.Series{line, over, under}
	return &out
}

// cusumChart draws the two sums, the lower one downwards.
func cusumChart(out show.Chart, c spc.Chart, named batch.Named, points []batch.SeriesPoint, lengths unit.Unit) *show.Chart {
	in := named.Unit
	out.Y.Title = "cumulative sum of " + out.Y.Title
	out.Caption = "Upper sum above, lower sum below the line. Ringed: a sum lies beyond its decision interval. A point leads to its neck."
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
