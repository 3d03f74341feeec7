package tell

import (
	"fmt"

	"sagitta/batch/spc"
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

// Signal says in sentences which pattern a signal is, since which point, and what to look at.
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
		return fmt.Sprintf("The average lies %s its limits at %s (%s). It has been %s the target since %s %d: the level has moved a little and stays there; look for what changed at or before that (setting, tool, material, gauge zero).",
			side, run(noun, s.At, s.To), furthest(s, scale), side, noun, s.From)
	}
	switch s.Test {
	case 1:
		return fmt.Sprintf("%s %s %s the limits (%s). Something out of the ordinary: look first how %s measured (seating, gauge zero, keying in), then what was different there.",
			Upper(where), lies(s), side, furthest(s, scale), Plural(many, "it was", "they were"))
	case 2:
		return fmt.Sprintf("%d in a row lie %s the centre line, %s. The level has shifted: look for what changed at or just before %s %d (setting, tool, material, gauge zero, person).",
			many, side, where, noun, s.From)
	case 3:
		return fmt.Sprintf("%d in a row %s steadily, %s. The process drifts: look for something that wears, loosens, warms or dries since %s %d, or a gauge that creeps.",
			many, [...]string{"fall", "stand", "rise"}[s.Side+1], where, noun, s.From)
	case 4:
		return fmt.Sprintf("%d in a row go up and down by turns, %s. Two sources take turns or somebody corrects too much: look whether fixtures, gauges or people alternate, and whether a setting is changed after every %s.",
			many, where, noun)
	case 5:
		return fmt.Sprintf("Two of three lie more than 2 sigma %s the centre line, %s. A shift is likely: look at the setting and the gauge zero since %s %d, and take the next ones with care.",
			side, where, noun, s.From)
	case 6:
		return fmt.Sprintf("Four of five lie more than 1 sigma %s the centre line, %s. The level has probably moved a little: look for what changed since %s %d (setting, tool, material, gauge zero).",
			side, where, noun, s.From)
	case 7:
		return fmt.Sprintf("%d in a row lie within 1 sigma of the centre line, %s. They spread less than the limits expect: look whether the process has become better since the base period (then set new limits), whether the base mixed several sources, or whether readings are repeated or rounded.",
			many, where)
	}
	return fmt.Sprintf("%d in a row lie more than 1 sigma from the centre line, on both sides, %s. Two streams are mixed: chart them apart, by fixture, tool, material or person.", many, where)
}

// sumSignal is a CUSUM's: where the running sum left zero is about where the level moved.
func sumSignal(s spc.Signal, side string, scale Scale) string {
	ends := ""
	if s.To > s.At {
		ends = fmt.Sprintf(" and stays outside until value %d", s.To)
	}
	return fmt.Sprintf("The %s running sum leaves zero at value %d and passes its interval at value %d (%s, interval %s)%s. The level lies %s the target since about value %d: look for what changed there (setting, tool, material, gauge zero).",
		map[bool]string{true: "upper", false: "lower"}[s.Side > 0], s.From, s.At, scale.Number(s.Furthest), scale.Number(s.Limit), ends, side, s.From)
}

// spreadSignal is one of the spread's chart.
func spreadSignal(s spc.Signal, scale Scale) string {
	lead := Upper(places(s)) + " " + lies(s)
	switch numbers := furthest(s, scale); {
	case s.Side < 0:
		return fmt.Sprintf("%s below the lower limit (%s): more alike than the limits expect. Look whether readings are repeated or rounded.", lead, numbers)
	case s.Plotted == spc.MovingRanges:
		return fmt.Sprintf("%s above the upper limit (%s): a jump from one value to the next. Look what changed between the two.", lead, numbers)
	default:
		return fmt.Sprintf("%s above the upper limit (%s): the spread has grown. Look at this before the means, whose limits rest on it: a single odd value, worn or loose fixture, mixed material.", lead, numbers)
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
	words := fmt.Sprintf("Centre line %s, limits %s to %s, sigma inside subgroups %s%s; ", n(c.Center), n(c.Lower), n(c.Upper), n(c.Sigma), in)
	return words + fmt.Sprintf("%ss about %s, limits %s to %s%s", plotted[c.SpreadPlotted()], n(c.SpreadCenter), n(c.SpreadLower), n(c.SpreadUpper), in)
}
