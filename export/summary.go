package export

import (
	"fmt"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"

	"github.com/xuri/excelize/v2"
)

// The Summary's columns: tables on the left, charts on the right.
const (
	summaryTables = 6 // A to F
	summaryCharts = 8 // H
)

// How many characters of running text go into a line of the Summary: across the whole width, from B or C on, and in the
// columns A, B and the others.
const (
	whole  = 100.0
	fromB  = 78.0
	fromC  = 58.0
	label  = 28.0
	where  = 20.0
	narrow = 13.5
)

// summary is the Summary in the making: one row after another. Errors are kept until the end.
type summary struct {
	*book
	row     int             // next row, from 1
	heights map[int]float64 // of rows, points, where they are not the usual one
	reasons [2]int
	ends    [2]int
	err     error
}

// writeSummary writes the first sheet: the answer, what was judged and how, the counts, and where to sign.
func (b *book) writeSummary() error {
	s := &summary{book: b, row: 1, heights: map[int]float64{}}
	s.layout()
	s.title()
	s.counted()
	s.yields()
	s.pareto()
	s.dispositions()
	s.about()
	s.limits()
	s.gaugeLines()
	s.meanings()
	s.signatures()
	s.anchor()
	s.charts()
	return s.err
}

// keep keeps the first error.
func (s *summary) keep(err error) {
	if s.err == nil {
		s.err = err
	}
}

// layout sets widths, view and print-out.
func (s *summary) layout() {
	const sheet = "Summary"
	s.keep(s.setPage(sheet, 1))
	s.keep(s.file.SetSheetDimension(sheet, "")) // the library states A1 whatever is written
	s.keep(s.file.SetColWidth(sheet, "A", "A", 24))
	s.keep(s.file.SetColWidth(sheet, "B", "B", 16))
	s.keep(s.file.SetColWidth(sheet, "C", "F", 11))
	s.keep(s.file.SetColWidth(sheet, "G", "G", 2))
	s.keep(s.file.SetColWidth(sheet, "H", "N", 11))
	hidden := false
	s.keep(s.file.SetSheetView(sheet, 0, &excelize.ViewOptions{ShowGridLines: &hidden}))
	s.keep(s.file.SetPanes(sheet, &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}))
	s.keep(s.file.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", RefersTo: "'Summary'!$1:$1", Scope: sheet}))
}

// cell sets one cell of the current row; column 0 is A.
func (s *summary) cell(column int, value any, l look) {
	at, err := excelize.CoordinatesToCellName(column+1, s.row)
	s.keep(err)
	id, err := s.styles.id(l)
	s.keep(err)
	if text, ok := value.(string); ok {
		value = clip(text)
		if l.format == "" {
			l.format = textFormat
			id, err = s.styles.id(l)
			s.keep(err)
		}
	}
	s.keep(s.file.SetCellValue("Summary", at, value))
	s.keep(s.file.SetCellStyle("Summary", at, at, id))
}

// across merges cells of the current row from column on to the last of the tables, and makes the row high enough.
func (s *summary) across(column int, text string, l look, width float64) {
	l.wrap = true
	s.cell(column, text, l)
	from, _ := excelize.CoordinatesToCellName(column+1, s.row) // in range
	to, _ := excelize.CoordinatesToCellName(summaryTables, s.row)
	s.keep(s.file.MergeCell("Summary", from, to))
	s.height(float64(14*wrapped(text, width) + 2))
}

// height sets the current row's height in points.
func (s *summary) height(points float64) {
	s.heights[s.row] = points
	s.keep(s.file.SetRowHeight("Summary", s.row, points))
}

// section begins a block with its heading.
func (s *summary) section(name string) {
	s.row++
	for i := range summaryTables {
		l := look{bold: true, size: 11, line: "bottom"}
		if i == 0 {
			s.cell(i, name, l)
		} else {
			s.cell(i, nil, l)
		}
	}
	s.height(18)
	s.row++
}

// heads writes a table's header row.
func (s *summary) heads(names ...string) {
	lines := 1
	for i, n := range names {
		s.cell(i, n, look{bold: true, fill: paper, wrap: true, right: i > 0})
		if i > 0 {
			lines = max(lines, wrapped(n, map[bool]float64{true: where, false: narrow}[i == 1]))
		}
	}
	s.height(float64(14*lines + 2))
	s.row++
}

// fact writes a labelled line.
func (s *summary) fact(name, text string) {
	if text == "" {
		return
	}
	s.cell(0, name, look{color: faint, top: true})
	s.across(1, text, look{top: true}, fromB)
	s.row++
}

// title writes the batch's number and the answer.
func (s *summary) title() {
	s.cell(0, "Batch "+s.batch.Number, look{bold: true, size: 18, signed: true})
	s.height(28)
	s.sign()
	s.row++
	line := s.batch.Spec.Name + ", revision " + s.batch.Spec.Revision + "; report made " + s.moment(s.opt.Now)
	if s.opt.Station != "" {
		line += " at " + s.opt.Station
	}
	s.across(0, line, look{color: faint}, whole)
	s.row++
	s.across(0, tell.Batch(s.counts), look{size: 12, top: true}, whole/1.2)
	s.height(float64(17*wrapped(tell.Batch(s.counts), whole/1.2) + 4))
	s.row++
}

// moment is a time in words, local.
func (s *summary) moment(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.In(s.opt.Location).Format("2006-01-02 15:04")
}

// counted lists the counts with what they mean.
func (s *summary) counted() {
	s.section("Counts")
	for _, line := range tell.Meanings(s.counts) {
		s.cell(0, line.Name, look{})
		s.cell(1, line.Count, look{format: wholeFormat, right: true})
		s.across(2, line.Means, look{color: faint, indent: true}, fromC)
		s.row++
	}
}

// yields writes first-pass and final yield with their intervals.
func (s *summary) yields() {
	c := s.counts
	s.section("Yield of the necks inspected")
	s.heads("", "Necks", "Of", "Yield", "95 % from", "95 % to")
	s.yield("First-pass yield", c.FirstPass, c.Inspected)
	s.yield("Final yield", c.Passed, c.Inspected)
	if f := s.first; f.All.InDoubt > 0 {
		s.yield("First-pass yield without doubt", f.Sound.FirstPass, f.Sound.Inspected)
		s.yield("Final yield without doubt", f.Sound.FinalPass, f.Sound.Inspected)
		s.across(0, tell.InStatistics(f.All.InDoubt, f.All.Inspected, false)+" The lines without doubt leave them out.", look{color: faint}, whole)
		s.row++
	}
	s.across(0, tell.YieldNote, look{color: faint}, whole)
	s.row++
}

// yield writes one yield of so many necks.
func (s *summary) yield(name string, k, of int) {
	s.cell(0, name, look{wrap: true})
	s.cell(1, k, look{format: wholeFormat, right: true})
	s.cell(2, of, look{format: wholeFormat, right: true})
	if of > 0 {
		lo, hi := batch.Wilson(k, of, 0.95)
		for i, v := range []float64{float64(k) / float64(of), lo, hi} {
			s.cell(3+i, v, look{format: shareFormat, right: true, bold: i == 0})
		}
	}
	s.height(float64(14*wrapped(name, label) + 2))
	s.row++
}

// pareto writes the reasons, most frequent first, with shares and their running sum.
func (s *summary) pareto() {
	s.section("Reasons: first characteristic to fail at the first inspection")
	reasons := s.counts.Reasons
	if len(reasons) == 0 {
		s.across(0, "No neck failed its first inspection.", look{}, whole)
		s.row++
		return
	}
	s.heads("Characteristic", "Necks", "Share", "Running sum")
	total, sum := 0, 0
	for _, r := range reasons {
		total += r.Necks
	}
	s.reasons = [2]int{s.row, s.row + len(reasons) - 1}
	for _, r := range reasons {
		sum += r.Necks
		s.cell(0, inspect.Name(r.Name), look{wrap: true})
		s.cell(1, r.Necks, look{format: wholeFormat, right: true})
		s.cell(2, float64(r.Necks)/float64(total), look{format: shareFormat, right: true})
		s.cell(3, float64(sum)/float64(total), look{format: shareFormat, right: true})
		s.height(float64(14*wrapped(r.Name, label) + 2))
		s.row++
	}
	s.cell(0, "All", look{bold: true, line: "top"})
	s.cell(1, total, look{format: wholeFormat, right: true, bold: true, line: "top"})
	s.row++
}

// dispositions writes where the necks stand.
func (s *summary) dispositions() {
	c := s.counts
	s.section("Dispositions: where the necks stand now")
	s.heads("Disposition", "Necks")
	s.ends = [2]int{s.row, s.row + len(tell.Dispositions) - 1}
	for _, d := range tell.Dispositions {
		s.cell(0, string(d), look{})
		s.cell(1, c.Of(d), look{format: wholeFormat, right: true})
		s.across(2, tell.Disposition(d), look{color: faint, indent: true}, fromC)
		s.row++
	}
	s.keep(s.colour("Summary", fmt.Sprintf("A%d:A%d", s.ends[0], s.ends[1]), dispositionWords))
}

// signatures leaves room to sign.
func (s *summary) signatures() {
	s.row++
	signed, err := s.src.Signatures(s.ctx, s.batch.Number)
	s.keep(err)
	for _, g := range signed {
		s.across(0, tell.Signed(g, s.opt.Location), look{}, whole)
		s.row++
	}
	for _, line := range []string{"Inspected by", "Released by", "Date"} {
		s.cell(0, line, look{bold: true})
		for i := 1; i < 4; i++ {
			s.cell(i, nil, look{line: "bottom"})
		}
		s.height(30)
		s.row++
	}
}
