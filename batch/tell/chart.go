package tell

import (
	"fmt"
	"math"
	"strings"

	"sagitta/batch/spc"
	"sagitta/inspect"
)

// ChartName is a control chart's title.
func ChartName(k spc.Kind) string { return chartNames[k] }

var chartNames = map[spc.Kind]string{
	spc.IndividualsKind: "individuals and moving range", spc.XbarRKind: "means and ranges", spc.XbarSKind: "means and standard deviations",
	spc.PKind: "share of nonconforming items", spc.UKind: "nonconformities per unit",
	spc.EWMAKind: "weighted moving average (EWMA)", spc.CUSUMKind: "running sums (CUSUM)",
}

// Plotted is what a point of a chart is.
func Plotted(p spc.Plotted) string { return plotted[p] }

var plotted = map[spc.Plotted]string{
	spc.Values: "value", spc.Subgroups: "subgroup", spc.Samples: "sample",
	spc.Ranges: "range", spc.Deviations: "standard deviation", spc.MovingRanges: "moving range",
}

// RunTest names a run test with its source: L. S. Nelson, Journal of Quality Technology 16 (1984) 237-239.
func RunTest(number int) string { return fmt.Sprintf("test %d (Nelson 1984)", number) }

// Signals says how many signals there are among so many points, "3 signals among 220 necks; chance alone would give 0.4", and which
// is which where there is none.
func Signals(n int, among string, chance float64) string {
	return fmt.Sprintf("%s among %s; chance alone would give %s", either(n == 0, "no signal", Count(n, "signal")), among, ByChance(chance))
}

// LevelChange says how much a level has moved if it moved once and for all, and since about which neck.
func LevelChange(by float64, since string, scale Scale) string {
	return fmt.Sprintf("if its level has moved once, then most likely at about neck %s and by %s", since, moved(by, scale))
}

// Drifted is a characteristic with signals in a table: how many, how much its level has moved, and since about which neck.
func Drifted(signals int, by float64, since string, scale Scale) string {
	return fmt.Sprintf("%s; %s since about %s", Count(signals, "signal"), moved(by, scale), since)
}

// CameBack says that a level moved for a while: up to about which neck signals told of it.
func CameBack(until string) string {
	return fmt.Sprintf("its level came back after neck %s, up to which signals last", until)
}

// DriftedBack is a characteristic with signals in a table whose level came back.
func DriftedBack(signals int, until string) string {
	return fmt.Sprintf("%s; came back after %s", Count(signals, "signal"), until)
}

// moved is a difference with its sign and unit.
func moved(by float64, scale Scale) string {
	return strings.TrimSpace(either(by > 0, "+", "") + scale.Number(by) + " " + scale.Symbol())
}

// Drifts says how many signals all characteristics of a batch that are watched give together, and how many chance would; over says
// among which necks.
func Drifts(signals, drifting, of int, over string, chance float64) string {
	what := "No signal in any of " + Count(of, "characteristic")
	switch {
	case of == 0:
		return "No characteristic is watched: most of the values of each are alike, or too few have one."
	case signals > 0:
		what = fmt.Sprintf("%s, in %d of %s", Count(signals, "signal"), drifting, Count(of, "characteristic"))
	}
	return fmt.Sprintf("%s %s; chance alone would give %s in all of them.", what, over, ByChance(chance))
}

// Over says that signals are looked for among all of so many necks, or, where fewer are read, among the first and the newest.
func Over(first, newest, necks int) string {
	if necks > first+newest {
		return fmt.Sprintf("among the first %d and the newest %d of %s", first, newest, Count(necks, "neck"))
	}
	return "over " + Count(necks, "neck")
}

// WatchedInDoubt says that the look for signals takes in what other numbers leave out.
const WatchedInDoubt = "Signals are looked for among necks in doubt too."

// ByChance is an expected number: "0.4", "34", "fewer than 0.01".
func ByChance(n float64) string {
	switch {
	case n < 0.005:
		return "fewer than 0.01"
	case n < 0.095:
		return inspect.Number(n, 2, false)
	case n < 9.95:
		return inspect.Number(n, 1, false)
	}
	return inspect.Number(n, 0, false)
}

// Price says how often a steady process gives a signal like it: "A steady process gives one such signal in about 1100 values."
func Price(s spc.Signal) string {
	if !(s.Every < 1e7) {
		return "A steady process gives no such signal in millions of " + plotted[s.Plotted] + "s."
	}
	return fmt.Sprintf("A steady process gives one such signal in about %.0f %ss.", rounded(s.Every), plotted[s.Plotted])
}

// rounded is a number to two digits, a whole one.
func rounded(v float64) float64 {
	digits := max(1, math.Pow(10, math.Floor(math.Log10(v))-1))
	return digits * math.Round(v/digits)
}

// Signal says in sentences which pattern a signal is, since which point, how often chance alone gives it, and what to look at.
func Signal(s spc.Signal, scale Scale) string {
	switch s.Plotted {
	case spc.Ranges, spc.Deviations, spc.MovingRanges:
		return spreadSignal(s, scale)
	}
	noun := plotted[s.Plotted]
	where, many := places(s), s.To-s.From+1
	side := [...]string{"below", "on", "above"}[s.Side+1]
	switch s.Chart {
	case spc.CUSUMKind:
		return sumSignal(s, side, scale)
	case spc.EWMAKind:
		return fmt.Sprintf("The average lies %s its limits at %s (%s). %s It has been %s the centre line since %s %d: look what changed at or before that (setting, tool, material, gauge zero).",
			side, run(noun, s.At, s.To), furthest(s, scale), Price(s), side, noun, s.From)
	}
	switch s.Test {
	case 1:
		return fmt.Sprintf("%s %s %s the limits (%s). %s Look first how %s measured (seating, gauge zero, keying in), then what was different there.",
			Upper(where), lies(s), side, furthest(s, scale), Price(s), Plural(many, "it was", "they were"))
	case 2:
		return fmt.Sprintf("%d in a row lie %s the centre line, %s. %s Had the level shifted, it was at or just before %s %d: look what changed there (setting, tool, material, gauge zero, person).",
			many, side, where, Price(s), noun, s.From)
	case 3:
		return fmt.Sprintf("%d in a row %s steadily, %s. %s What could move it so wears, loosens, warms or dries since %s %d, or is a gauge that creeps.",
			many, [...]string{"fall", "stand", "rise"}[s.Side+1], where, Price(s), noun, s.From)
	case 4:
		return fmt.Sprintf("%d in a row go up and down by turns, %s. %s Look whether fixtures, gauges or people alternate, and whether a setting is changed after every %s.",
			many, where, Price(s), noun)
	case 5:
		return fmt.Sprintf("Two of three lie more than 2 sigma %s the centre line, %s. %s Look at the setting and the gauge zero since %s %d, and take the next ones with care.",
			side, where, Price(s), noun, s.From)
	case 6:
		return fmt.Sprintf("Four of five lie more than 1 sigma %s the centre line, %s. %s Had the level moved a little, it was at or before %s %d: look what changed there (setting, tool, material, gauge zero).",
			side, where, Price(s), noun, s.From)
	case 7:
		return fmt.Sprintf("%d in a row lie within 1 sigma of the centre line, %s. %s Where they spread less than the limits expect, the process has become better since the base period (then set new limits), the base mixed several sources, or readings are repeated or rounded.",
			many, where, Price(s))
	}
	return fmt.Sprintf("%d in a row lie more than 1 sigma from the centre line, on both sides, %s. %s Where two streams are mixed, chart them apart, by fixture, tool, material or person.", many, where, Price(s))
}

// sumSignal is a CUSUM's: where the running sum left zero is about where the level moved.
func sumSignal(s spc.Signal, side string, scale Scale) string {
	ends := ""
	if s.To > s.At {
		ends = fmt.Sprintf(" and stays outside until value %d", s.To)
	}
	return fmt.Sprintf("The %s running sum leaves zero at value %d and passes its interval at value %d (%s, interval %s)%s. %s Had the level moved to %s the target, it was at about value %d: look what changed there (setting, tool, material, gauge zero).",
		map[bool]string{true: "upper", false: "lower"}[s.Side > 0], s.From, s.At, scale.Number(s.Furthest), scale.Number(s.Limit), ends, Price(s), side, s.From)
}

// spreadSignal is one of the spread's chart.
func spreadSignal(s spc.Signal, scale Scale) string {
	lead := Upper(places(s)) + " " + lies(s)
	switch numbers := furthest(s, scale); {
	case s.Side < 0:
		return fmt.Sprintf("%s below the lower limit (%s): more alike than the limits expect. %s Look whether readings are repeated or rounded.", lead, numbers, Price(s))
	case s.Plotted == spc.MovingRanges:
		return fmt.Sprintf("%s above the upper limit (%s): a jump from one value to the next. %s Look what changed between the two.", lead, numbers, Price(s))
	default:
		return fmt.Sprintf("%s above the upper limit (%s). %s Had the spread grown, look at this before the means, whose limits rest on it: a single odd value, worn or loose fixture, mixed material.", lead, numbers, Price(s))
	}
}

// places names a signal's points: "value 4", "values 4 to 6".
func places(s spc.Signal) string { return run(plotted[s.Plotted], s.From, s.To) }

func run(noun string, from, to int) string {
	if from == to {
		return fmt.Sprintf("%s %d", noun, from)
	}
	return fmt.Sprintf("%ss %d to %d", noun, from, to)
}

// furthest is a signal's point furthest from the centre line, with the limit it passed.
func furthest(s spc.Signal, scale Scale) string {
	words := scale.Number(s.Furthest) + ", limit " + scale.Number(s.Limit)
	if s.To > s.At {
		return "furthest " + words
	}
	return words
}

// lies is the verb of a signal's points.
func lies(s spc.Signal) string { return Plural(s.To-s.From+1, "lies", "lie") }

// Limits says what is drawn across a chart.
func Limits(c spc.Chart, scale Scale) string {
	in := ""
	if symbol := scale.Symbol(); symbol != "" {
		in = " " + symbol
	}
	n := scale.Number
	switch c.Kind {
	case spc.CUSUMKind:
		return fmt.Sprintf("Target %s, decision interval %s, sigma inside subgroups %s%s", n(c.Center), n(c.Interval), n(c.Sigma), in)
	case spc.EWMAKind:
		last := c.Points[len(c.Points)-1]
		return fmt.Sprintf("Target %s, limits of the average in the end %s to %s, sigma inside subgroups %s%s", n(c.Center), n(last.Lower), n(last.Upper), n(c.Sigma), in)
	case spc.PKind, spc.UKind:
		if c.Upper != c.Upper { // NaN: they vary
			return fmt.Sprintf("Centre line %s, limits by each sample's size", n(c.Center))
		}
		return fmt.Sprintf("Centre line %s, limits %s to %s", n(c.Center), n(c.Lower), n(c.Upper))
	}
	words := fmt.Sprintf("Centre line %s, limits %s to %s", n(c.Center), n(c.Lower), n(c.Upper))
	if !math.IsNaN(c.Sigma) {
		words += fmt.Sprintf(", sigma inside subgroups %s", n(c.Sigma))
	}
	words += in
	if len(c.Spread) > 0 {
		words += fmt.Sprintf("; %ss about %s, limits %s to %s%s", plotted[c.SpreadPlotted()], n(c.SpreadCenter), n(c.SpreadLower), n(c.SpreadUpper), in)
	}
	return words
}

// PriceOfBase says what limits that carry the price of their base pay for it: "" where they do not.
func PriceOfBase(c spc.Chart, noun string) string {
	if c.Degrees == 0 {
		return ""
	}
	return fmt.Sprintf("The limits are wider than those of a known mean and sigma, since they come from %s alone: Student's t with %.1f degrees of freedom", Count(c.Base.To-c.Base.From+1, noun), c.Degrees)
}
