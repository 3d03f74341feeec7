package export

import (
	"fmt"

	"github.com/xuri/excelize/v2"
)

// chart begins a chart in the report's manner: small sober title, legend below, no frame.
func chart(words string, kind excelize.ChartType) *excelize.Chart {
	no := false
	return &excelize.Chart{
		Type: kind, Title: excelize.ChartTitle{Paragraph: title(words, 11).Paragraph},
		Legend:     excelize.ChartLegend{Position: "bottom", Font: &excelize.Font{Size: 9, Color: ink}},
		Dimension:  excelize.ChartDimension{Width: 590, Height: 290},
		VaryColors: &no, ShowBlanksAs: "gap",
		Border: excelize.LineOptions{Type: excelize.LineNone},
		Format: excelize.GraphicOptions{AltText: words},
		XAxis:  excelize.ChartAxis{Font: excelize.Font{Size: 9, Color: ink}},
		YAxis:  excelize.ChartAxis{Font: excelize.Font{Size: 9, Color: ink}},
	}
}

// title is a chart's or axis' title of a size in points.
func title(words string, size float64) excelize.ChartTitle {
	return excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{Text: words, Font: &excelize.Font{Size: size, Bold: size > 10, Color: ink}}}}
}

// solid is a plain fill.
func solid(color string) excelize.Fill {
	return excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{color}}
}

// charts puts the charts beside the tables, one under the other, so that they print on the first page.
func (s *summary) charts() {
	row, into := 3, 0 // pixels into the row: a chart's offset may not pass its row's height
	place := func(c *excelize.Chart, more ...*excelize.Chart) {
		at, err := excelize.CoordinatesToCellName(summaryCharts, row)
		s.keep(err)
		c.Format.OffsetY = into
		s.keep(s.file.AddChart("Summary", at, c, more...))
		into += int(c.Dimension.Height) + 6
		for into >= s.pixels(row) {
			into -= s.pixels(row)
			row++
		}
	}
	if len(s.firsts) > 0 {
		place(s.runChart())
	}
	if s.reasons[0] > 0 {
		place(s.paretoChart())
	}
	place(s.dispositionChart())
}

// pixels is a row's height at 96 pixels to the inch; the usual row is 15 points high.
func (s *summary) pixels(row int) int {
	points, ok := s.heights[row]
	if !ok {
		points = 15
	}
	return int(points * 96 / 72)
}

// paretoChart draws the reasons as columns with the running sum as a line.
func (s *summary) paretoChart() (*excelize.Chart, *excelize.Chart) {
	head := s.reasons[0] - 1
	part := func(column string) string {
		return fmt.Sprintf("Summary!$%s$%d:$%s$%d", column, s.reasons[0], column, s.reasons[1])
	}
	columns := chart("Reasons to fail the first inspection", excelize.Col)
	columns.Series = []excelize.ChartSeries{{Name: fmt.Sprintf("Summary!$B$%d", head), Categories: part("A"), Values: part("B"), Fill: solid(blue)}}
	columns.PlotArea.ShowVal = true
	columns.YAxis.Title = title("necks", 9)
	columns.YAxis.NumFmt = excelize.ChartNumFmt{CustomNumFmt: wholeFormat}
	gap := uint(60)
	columns.GapWidth = &gap
	zero, one := 0.0, 1.0
	columns.YAxis.Minimum = &zero
	line := chart("", excelize.Line)
	line.Series = []excelize.ChartSeries{{Name: fmt.Sprintf("Summary!$D$%d", head), Categories: part("A"), Values: part("D"),
		Fill: solid(ink), Line: excelize.LineOptions{Type: excelize.LineSolid, Width: 1.5, Fill: solid(ink)},
		Marker: excelize.ChartMarker{Symbol: "circle", Size: 5, Fill: solid(ink)}}}
	line.YAxis = excelize.ChartAxis{Secondary: true, Minimum: &zero, Maximum: &one, Title: title("running sum", 9),
		NumFmt: excelize.ChartNumFmt{CustomNumFmt: "0%"}, Font: excelize.Font{Size: 9, Color: ink}}
	return columns, line
}

// dispositionChart draws where the necks stand.
func (s *summary) dispositionChart() *excelize.Chart {
	c := chart("Where the necks stand", excelize.Col)
	c.Series = []excelize.ChartSeries{{Name: fmt.Sprintf("Summary!$B$%d", s.ends[0]-1),
		Categories: fmt.Sprintf("Summary!$A$%d:$A$%d", s.ends[0], s.ends[1]),
		Values:     fmt.Sprintf("Summary!$B$%d:$B$%d", s.ends[0], s.ends[1]), Fill: solid(blue)}}
	c.PlotArea.ShowVal = true
	c.Legend.Position = "none"
	zero := 0.0
	c.YAxis.Minimum = &zero
	c.YAxis.NumFmt = excelize.ChartNumFmt{CustomNumFmt: wholeFormat}
	c.YAxis.Title = title("necks", 9)
	gap := uint(60)
	c.GapWidth = &gap
	return c
}
