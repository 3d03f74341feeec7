package export

import (
	"fmt"
	"math"
	"slices"
	"time"

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
	for i := range b.tracks {
		columns = append(columns, column{head: b.tracks[i].shortHead(b.unit.String()), width: 16, format: format})
	}
	limits := b.reliefLimits()
	for _, l := range limits {
		columns = append(columns, column{head: l.words + " (" + b.unit.String() + ")", width: 14, format: format})
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
	c := chart("Relief at each neck's first inspection", excelize.Scatter)
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
	from, to := float64(first-2), float64(last)
	c.XAxis.Minimum, c.XAxis.Maximum = &from, &to
	c.XAxis.TickLabelPosition = excelize.ChartTickLabelLow
	c.YAxis.Title = title("relief ("+b.unit.String()+")", 9)
	c.YAxis.NumFmt = excelize.ChartNumFmt{CustomNumFmt: numberFormat(b.unit.min)}
	c.YAxis.MajorGridLines = true
	c.Legend.Position = "right" // as many lines as it takes
	low, high := b.reliefRange(first - 2)
	c.YAxis.Minimum, c.YAxis.Maximum = &low, &high
	return c
}

// reliefRange is the span of the run chart from the given neck on: values and limits, out to the next step of 0.05 mm or
// 0.002 in.
func (b *book) reliefRange(from int) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	take := func(mm float64) {
		low, high = min(low, b.unit.From(mm)), max(high, b.unit.From(mm))
	}
	for _, f := range b.firsts[from:] {
		for _, v := range f.values {
			if v != nil {
				take(*v)
			}
		}
	}
	for _, l := range b.reliefLimits() {
		take(l.mm)
	}
	perUnit := 20.0 // steps
	if b.unit.MM() != 1 {
		perUnit = 500
	}
	return (math.Ceil(low*perUnit) - 1) / perUnit, (math.Floor(high*perUnit) + 1) / perUnit
}

// reliefTrack is a relief column with what limits it.
type reliefTrack struct{ group }

// shortHead names the track with fret and datum pair, short enough for a legend.
func (t *reliefTrack) shortHead(unit string) string {
	s := t.key.track
	if t.key.fret > 0 {
		s += fmt.Sprintf(", fret %d", t.key.fret)
	}
	if t.datum != nil {
		s += fmt.Sprintf(" of %d–%d", t.datum[0], t.datum[1])
	}
	return s + " (" + unit + ")"
}

// firstRelief is a neck's relief at its first judged inspection, mm, one value per reliefTrack.
type firstRelief struct {
	at     time.Time
	serial string
	values []*float64
}
