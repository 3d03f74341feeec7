package export

import (
	"bytes"
	"math"
	"slices"
	"strconv"
	"testing"

	"github.com/xuri/excelize/v2"
)

// open reads a workbook back with the library.
func open(t testing.TB, workbook []byte) *excelize.File {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(workbook))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

// cell is a cell's raw value.
func cell(t testing.TB, f *excelize.File, sheet, at string) string {
	t.Helper()
	v, err := f.GetCellValue(sheet, at, excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// shown is a cell as its number format shows it.
func shown(t testing.TB, f *excelize.File, sheet, at string) string {
	t.Helper()
	v, err := f.GetCellValue(sheet, at)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// styleOf is a cell's style.
func styleOf(t testing.TB, f *excelize.File, sheet, at string) *excelize.Style {
	t.Helper()
	id, err := f.GetCellStyle(sheet, at)
	if err != nil {
		t.Fatal(err)
	}
	st, err := f.GetStyle(id)
	if err != nil {
		t.Fatal(err)
	}
	return st
}

// formatOf is a cell's number format; 49 is the text format and 1 the whole number (ISO/IEC 29500-1, 18.8.30).
func formatOf(t testing.TB, f *excelize.File, sheet, at string) string {
	t.Helper()
	st := styleOf(t, f, sheet, at)
	if st.CustomNumFmt != nil {
		return *st.CustomNumFmt
	}
	return map[int]string{1: wholeFormat, 2: "0.00", 49: textFormat}[st.NumFmt]
}

// find is the first cell with a text, "" where there is none.
func find(t testing.TB, f *excelize.File, sheet, text string) string {
	t.Helper()
	found, err := f.SearchSheet(sheet, text)
	if err != nil {
		t.Fatal(err)
	}
	if len(found) == 0 {
		return ""
	}
	return found[0]
}

// heads is a sheet's first row.
func heads(t testing.TB, f *excelize.File, sheet string) []string {
	t.Helper()
	rows, err := f.Rows(sheet)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	if !rows.Next() {
		t.Fatalf("%s has no rows", sheet)
	}
	columns, err := rows.Columns()
	if err != nil {
		t.Fatal(err)
	}
	return columns
}

// under is the cell in a row below the head with this text.
func under(t testing.TB, f *excelize.File, sheet, head string, row int) string {
	t.Helper()
	i := slices.Index(heads(t, f, sheet), head)
	if i < 0 {
		t.Fatalf("%s has no column %q", sheet, head)
	}
	return beside(t, "A"+strconv.Itoa(row), i)
}

// beside is the cell so many columns right of another.
func beside(t testing.TB, at string, columns int) string {
	t.Helper()
	c, r, err := excelize.CellNameToCoordinates(at)
	if err != nil {
		t.Fatal(err)
	}
	name, err := excelize.CoordinatesToCellName(c+columns, r)
	if err != nil {
		t.Fatal(err)
	}
	return name
}

// number is a cell's number.
func number(t testing.TB, f *excelize.File, sheet, at string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(cell(t, f, sheet, at), 64)
	if err != nil {
		t.Fatalf("%s!%s: %v", sheet, at, err)
	}
	return v
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s is %v, want %v within %v", what, got, want, within)
	}
}
