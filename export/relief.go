package export

import (
	"fmt"
	"slices"

	"github.com/xuri/excelize/v2"
)

// Columns of First relief before the values.
const (
	runOrder = iota
	runSerial
	runTime
	runValues
)

// writeFirstRelief writes the relief of each neck at its first inspection, in the order of inspection: the process, not
// what rework made of it. The limits stand beside the values so that a chart can draw them.
func (b *book) writeFirstRelief() error {
	format := numberFormat(b.decimals)
	columns := []column{
		runOrder:  {head: "Order of inspection", width: 12, format: wholeFormat},
		runSerial: {head: "Serial number", width: 17, format: textFormat},
		runTime:   {head: "First inspected", width: 19, format: timeFormat},
	}
	for _, t := range b.tracks {
		columns = append(columns, column{head: t.words, width: 16, format: format})
	}
	limits := b.reliefLimits()
	for _, l := range limits {
		columns = append(columns, column{head: l.words + " (" + b.unit.name + ")", width: 14, format: format})
	}
	t, err := b.newTable("First relief", columns)
	if err != nil {
		return err
	}
	slices.SortStableFunc(b.firsts, func(x, y firstRelief) int { return x.at.Compare(y.at) })
	for i := range b.firsts {
		f := &b.firsts[i]
		t.put(runOrder, i+1)
		t.text(runSerial, f.serial)
		t.time(runTime, f.at)
		for j, v := range f.values {
			t.length(runValues+j, v)
		}
		for j := range limits {
			t.length(runValues+len(b.tracks)+j, &limits[j].mm)
		}
		if err := t.write(); err != nil {
			return err
		}
	}
	return t.close()
}

// reliefLimit is a line of the run chart.
type reliefLimit struct {
	words string
	mm    float64
	aim   bool // a target, not a limit
}

// reliefLimits are the different limits and targets of the relief columns; a track is named where the tracks differ.
func (b *book) reliefLimits() []reliefLimit {
	var limits []reliefLimit
	for _, part := range []struct {
		words string
		of    func(*group) *float64
	}{
		{"lower limit", func(g *group) *float64 { return g.lower }},
		{"target", func(g *group) *float64 { return g.target }},
		{"upper limit", func(g *group) *float64 { return g.upper }},
	} {
		var each []reliefLimit
		same := true
		for i := range b.tracks {
			g := &b.tracks[i].group
			v := part.of(g)
			if v == nil {
				same = false
				continue
			}
			each = append(each, reliefLimit{part.words + ", " + g.key.track, *v, part.words == "target"})
			same = same && *v == each[0].mm
		}
		if same && len(each) > 0 {
			each[0].words = part.words
			each = each[:1]
		}
		limits = append(limits, each...)
	}
	return limits
}

// charted is how many necks the run chart shows, the newest ones: more cannot be told apart in print.
const charted = 500

// runChart draws First relief: a mark per neck and track, limits as lines.
func (b *book) runChart() *excelize.Chart {
	last := len(b.firsts) + 1
	first := max(2, last-charted+1)
	reference := func(column int) string {
		name, _ := excelize.ColumnNumberToName(column + 1) // far fewer columns than the format allows
		return fmt.Sprintf("'First relief'!$%s$%d:$%s$%d", name, first, name, last)
	}
	head := func(column int) string {
		name, _ := excelize.ColumnNumberToName(column + 1)
		return fmt.Sprintf("'First relief'!$%s$1", name)
	}
	c := chart("Relief at the first inspection of each neck, in order of inspection", excelize.Line)
	if len(b.firsts) > charted {
		c.Title.Paragraph[0].Text += fmt.Sprintf(" (the newest %d of %d)", charted, len(b.firsts))
	}
	marks := []struct{ symbol, color string }{{"circle", blue}, {"diamond", amber}, {"triangle", pink}, {"square", sky}}
	for i := range b.tracks {
		m := marks[i%len(marks)]
		c.Series = append(c.Series, excelize.ChartSeries{
			Name: head(runValues + i), Categories: reference(runOrder), Values: reference(runValues + i),
			Line:   excelize.LineOptions{Type: excelize.LineNone},
			Marker: excelize.ChartMarker{Symbol: m.symbol, Size: 6, Fill: solid(m.color), Border: excelize.LineOptions{Type: excelize.LineNone}},
		})
	}
	for i, l := range b.reliefLimits() {
		line := excelize.LineOptions{Type: excelize.LineSolid, Width: 1.5, Fill: solid(red)}
		if l.aim {
			line = excelize.LineOptions{Type: excelize.LineSolid, Width: 1, Dash: excelize.LineDashDash, Fill: solid(faint)}
		}
		at := runValues + len(b.tracks) + i
		c.Series = append(c.Series, excelize.ChartSeries{
			Name: head(at), Categories: reference(runOrder), Values: reference(at), Fill: line.Fill, Line: line,
			Marker: excelize.ChartMarker{Symbol: "none"},
		})
	}
	c.XAxis.Title = title("order of inspection", 9)
	c.XAxis.TickLabelSkip = max(1, (last-first+1)/10)
	c.XAxis.TickLabelPosition = excelize.ChartTickLabelLow
	c.YAxis.Title = title("relief ("+b.unit.name+")", 9)
	c.YAxis.NumFmt = excelize.ChartNumFmt{CustomNumFmt: numberFormat(b.unit.min)}
	c.YAxis.MajorGridLines = true
	return c
}
