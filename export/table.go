package export

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"
)

// column is one column of a table: its head with the unit, its width in characters and how its cells look.
type column struct {
	head   string
	width  float64
	format string // number format
	words  []word // colours of the words that may stand in it
}

// word is a word that is coloured where it stands in a column.
type word struct {
	text string
	tint tint
}

// table is a sheet of rows under one header row, streamed. Rows and columns count from 0 here.
type table struct {
	book    *book
	name    string
	columns []column
	stream  *excelize.StreamWriter
	rows    int // written, the header counted
	cells   []excelize.Cell
	styles  []int
	row     []any
}

// newTable adds a sheet with its header row. Print set-up and panes go in before the rows: the stream writes them first.
func (b *book) newTable(name string, columns []column) (*table, error) {
	t := &table{book: b, name: name, columns: columns}
	if _, err := b.file.NewSheet(name); err != nil {
		return nil, err
	}
	width := 0.0
	for _, c := range columns {
		width += c.width
	}
	wide := 1
	if width > mostWidth {
		wide = int(math.Ceil(width / pageWidth))
	}
	if err := b.setPage(name, wide); err != nil {
		return nil, err
	}
	// A stream's size is not known before its rows, and readers that trust a wrong one stop early: none is stated.
	if err := b.file.SetSheetDimension(name, ""); err != nil {
		return nil, err
	}
	var err error
	if t.stream, err = b.file.NewStreamWriter(name); err != nil {
		return nil, err
	}
	if err := t.stream.SetPanes(&excelize.Panes{Freeze: true, XSplit: 1, YSplit: 1, TopLeftCell: "B2", ActivePane: "bottomRight"}); err != nil {
		return nil, err
	}
	t.cells = make([]excelize.Cell, len(columns))
	t.styles = make([]int, len(columns))
	t.row = make([]any, len(columns))
	for i, c := range columns {
		if t.styles[i], err = b.styles.id(look{format: c.format, indent: i > 0 && c.format == textFormat}); err != nil {
			return nil, err
		}
		if err := t.stream.SetColWidth(i+1, i+1, c.width); err != nil {
			return nil, err
		}
	}
	lines := 1
	for i, c := range columns {
		t.put(i, c.head)
		l := look{bold: true, wrap: true, fill: paper, line: "bottom", right: c.format != textFormat, indent: i > 0}
		if t.cells[i].StyleID, err = b.styles.id(l); err != nil {
			return nil, err
		}
		lines = max(lines, wrapped(c.head, c.width-2)) // room for the filter's button
	}
	return t, t.write(excelize.RowOpts{Height: float64(14*lines + 4)})
}

// wrapped is about how many lines words take in a column.
func wrapped(s string, width float64) int {
	lines, used := 1, 0.0
	for _, w := range strings.Fields(s) {
		n := float64(utf8.RuneCountInString(w))
		if used > 0 && used+1+n > width {
			lines++
			used = 0
		}
		used += n + 1
	}
	return lines
}

// put sets a cell of the row in the making.
func (t *table) put(i int, value any) {
	t.cells[i] = excelize.Cell{StyleID: t.styles[i], Value: value}
	t.row[i] = &t.cells[i]
}

// text sets a text cell; an empty text leaves the cell out.
func (t *table) text(i int, s string) {
	if s != "" {
		t.put(i, clip(s))
	}
}

// time sets a date cell in local time; the zero time leaves it out.
func (t *table) time(i int, at time.Time) {
	if !at.IsZero() {
		t.put(i, at.In(t.book.opt.Location))
	}
}

// day sets a calendar day, which is kept as midnight UTC and is the same day everywhere.
func (t *table) day(i int, on time.Time) {
	if !on.IsZero() {
		t.put(i, on.UTC())
	}
}

// number sets a number cell where there is a value.
func (t *table) number(i int, v *float64) {
	if v != nil {
		t.put(i, *v)
	}
}

// length sets a number cell from mm where there is a value.
func (t *table) length(i int, mm *float64) {
	if mm != nil {
		t.put(i, t.book.unit.From(*mm))
	}
}

// write ends the row.
func (t *table) write(opts ...excelize.RowOpts) error {
	if err := t.book.ctx.Err(); err != nil {
		return err
	}
	t.rows++
	err := t.stream.SetRow("A"+strconv.Itoa(t.rows), t.row, opts...)
	clear(t.row)
	return err
}

// full says whether the sheet takes no further row.
func (t *table) full() bool { return t.rows >= t.book.opt.rowLimit }

// close adds the filter, the colours of words and the repeated header row, and ends the sheet.
func (t *table) close() error {
	f, last := t.book.file, max(t.rows, 2)
	lastColumn, err := excelize.ColumnNumberToName(len(t.columns))
	if err != nil {
		return err
	}
	if err := f.AutoFilter(t.name, fmt.Sprintf("A1:%s%d", lastColumn, last), nil); err != nil {
		return err
	}
	for i, c := range t.columns {
		if len(c.words) == 0 {
			continue
		}
		name, err := excelize.ColumnNumberToName(i + 1)
		if err != nil {
			return err
		}
		if err := t.book.colour(t.name, fmt.Sprintf("%s2:%s%d", name, name, last), c.words); err != nil {
			return err
		}
	}
	if err := f.SetDefinedName(&excelize.DefinedName{
		Name: "_xlnm.Print_Titles", RefersTo: "'" + t.name + "'!$A:$A,'" + t.name + "'!$1:$1", Scope: t.name,
	}); err != nil {
		return err
	}
	return t.stream.Flush()
}

// colour adds the conditional formats of words to a range.
func (b *book) colour(sheet, cells string, words []word) error {
	var rules []excelize.ConditionalFormatOptions
	for _, w := range words {
		id, err := b.styles.dxf(w.tint)
		if err != nil {
			return err
		}
		rules = append(rules, excelize.ConditionalFormatOptions{Type: "cell", Criteria: "==", Value: `"` + w.text + `"`, Format: &id})
	}
	return b.file.SetConditionalFormat(sheet, cells, rules)
}

// How many characters go across a landscape page: up to mostWidth they are made to fit, beyond that the sheet takes
// several pages of pageWidth, each with the first column repeated.
const (
	mostWidth = 350.0
	pageWidth = 220.0
)

// setPage sets a sheet's print-out: A4 landscape, so many pages wide, with its running head and foot.
func (b *book) setPage(sheet string, wide int) error {
	fit, a4, tall, orientation := true, 9, 0, "landscape"
	if err := b.file.SetSheetProps(sheet, &excelize.SheetPropsOptions{FitToPage: &fit}); err != nil {
		return err
	}
	if err := b.file.SetPageLayout(sheet, &excelize.PageLayoutOptions{Size: &a4, Orientation: &orientation,
		FitToWidth: &wide, FitToHeight: &tall}); err != nil {
		return err
	}
	side, end, running := 0.4, 0.75, 0.3
	if err := b.file.SetPageMargins(sheet, &excelize.PageLayoutMarginsOptions{Left: &side, Right: &side, Top: &end, Bottom: &end,
		Header: &running, Footer: &running}); err != nil {
		return err
	}
	return b.running(sheet)
}

// clip shortens what a cell cannot hold (32,767 UTF-16 units) and says so.
func clip(s string) string {
	const most = 32000
	if len(s) <= most {
		return s
	}
	return strings.ToValidUTF8(s[:most], "") + fmt.Sprintf(" ... (%d bytes in all)", len(s))
}
