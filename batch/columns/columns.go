// Package columns reads the columns of a delimited file: comma-separated, a header row, UTF-8 with or without a byte order
// mark, cells quoted where they need it (RFC 4180). Columns are found by their name in the header, in any order; columns
// nobody asks for are ignored. Every error is a [batch.FileError] with the file's line (the header is line 1) and the
// column's name.
//
//	table, err := columns.Read("necks.csv", text)
//	values, err := table.Numbers("value")
//	subgroups, err := table.Labels("subgroup") // only where table.Has("subgroup")
package columns

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"sagitta/batch"
)

// Table is a file read as far as its cells; what a cell holds is judged when its column is asked for.
type Table struct {
	file   string
	header []string
	rows   [][]string
	lines  []int // of each row, the header being line 1
}

var byteOrderMark = []byte("\ufeff")

// Read splits a file's text into cells. file is its name for errors. It refuses text that is not UTF-8, a file without a
// header or without a row below it, a quotation mark out of place and a row whose number of cells is not the header's.
// Empty lines are passed over in a file of several columns and at the end; within a single column one is an empty cell.
func Read(file string, text []byte) (*Table, error) {
	text, err := Text(file, text)
	if err != nil {
		return nil, err
	}
	t := &Table{file: file}
	in := csv.NewReader(bytes.NewReader(text))
	in.TrimLeadingSpace = true
	var end int64 // of the row before
	for {
		cells, err := in.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, t.syntax(err, len(cells))
		}
		if t.header == nil {
			t.header = cells
			for i := range cells {
				cells[i] = strings.TrimSpace(cells[i])
			}
			end = in.InputOffset()
			continue
		}
		line, _ := in.FieldPos(0)
		if len(t.header) == 1 && emptyLine(text[end:]) {
			return nil, batch.FileError{File: file, Line: 1 + bytes.Count(text[:end], []byte("\n")), Field: t.header[0],
				Problem: found("") + "; allowed: a value in every row"}
		}
		end = in.InputOffset()
		t.rows, t.lines = append(t.rows, cells), append(t.lines, line)
	}
	if len(t.rows) == 0 {
		return nil, batch.FileError{File: file, Line: 1, Problem: "holds no values; needed: a header row with the columns' names and a row for each value"}
	}
	return t, nil
}

// Text is a delimited file's text without its byte order mark; what is not UTF-8 is a [batch.FileError] with the line.
func Text(file string, text []byte) ([]byte, error) {
	text = bytes.TrimPrefix(text, byteOrderMark)
	if !utf8.Valid(text) {
		return nil, batch.FileError{File: file, Line: 1 + bytes.Count(text[:validPrefix(text)], []byte("\n")),
			Problem: "found bytes that are not UTF-8; allowed: UTF-8 text: save the file as CSV in UTF-8"}
	}
	return text, nil
}

// emptyLine says whether a text begins with an empty line.
func emptyLine(text []byte) bool {
	return bytes.HasPrefix(text, []byte("\n")) || bytes.HasPrefix(text, []byte("\r\n"))
}

// syntax is what the CSV reader refused, in our words.
func (t *Table) syntax(err error, cells int) error {
	var at *csv.ParseError
	if !errors.As(err, &at) {
		return fmt.Errorf("%s: %w", t.file, err)
	}
	if errors.Is(err, csv.ErrFieldCount) {
		return batch.FileError{File: t.file, Line: at.Line, Found: count(cells),
			Allowed: fmt.Sprintf("%s, as in the header (a cell that holds a comma is put in quotation marks)", count(len(t.header)))}
	}
	return Misquoted(t.file, at)
}

// Misquoted is a fault of the quotation marks that keeps the rest of a file from being split into cells.
func Misquoted(file string, err *csv.ParseError) batch.FileError {
	return batch.FileError{File: file, Line: err.Line, Problem: "found a quotation mark out of place; allowed: marks around a whole cell, doubled inside it"}
}

func count(cells int) string {
	if cells == 1 {
		return "1 cell"
	}
	return fmt.Sprintf("%d cells", cells)
}

// Rows is how many rows stand below the header.
func (t *Table) Rows() int { return len(t.rows) }

// Has says whether the header names a column.
func (t *Table) Has(column string) bool { return slices.Contains(t.header, column) }

// Numbers are a column's cells as numbers, one for each row, in the file's order: decimal numbers with a point, with or
// without an exponent. It refuses a column the header does not name once, an empty cell and one that is no finite number.
func (t *Table) Numbers(column string) ([]float64, error) {
	c, err := t.find(column)
	if err != nil {
		return nil, err
	}
	numbers := make([]float64, len(t.rows))
	for i, cells := range t.rows {
		cell := strings.TrimSpace(cells[c])
		v, ok := number(cell)
		if !ok {
			return nil, t.Fault(i, column, found(cell)+"; allowed: a number, such as 0.31")
		}
		numbers[i] = v
	}
	return numbers, nil
}

// Labels are a column's cells as text without the space around it, one for each row. It refuses a column the header does
// not name once and an empty cell.
func (t *Table) Labels(column string) ([]string, error) {
	c, err := t.find(column)
	if err != nil {
		return nil, err
	}
	labels := make([]string, len(t.rows))
	for i, cells := range t.rows {
		labels[i] = strings.TrimSpace(cells[c])
		if labels[i] == "" {
			return nil, t.Fault(i, column, found("")+"; allowed: a name or a number")
		}
	}
	return labels, nil
}

// Fault is an error about one cell: row counts from 0 below the header, problem says what was found and what is allowed.
func (t *Table) Fault(row int, column, problem string) error {
	return batch.FileError{File: t.file, Line: t.lines[row], Field: column, Problem: problem}
}

// find is a column's place in the header.
func (t *Table) find(column string) (int, error) {
	c := slices.Index(t.header, column)
	fault := batch.FileError{File: t.file, Line: 1, Field: column}
	switch {
	case c >= 0 && slices.Contains(t.header[c+1:], column):
		fault.Problem = "is named twice in the header; allowed: once"
		return 0, fault
	case c >= 0:
		return c, nil
	}
	fault.Problem = fmt.Sprintf("is missing; the header names: %s", strings.Join(t.header, ", "))
	if len(t.header) == 1 && strings.ContainsAny(t.header[0], ";\t|") {
		fault.Problem = fmt.Sprintf("is missing; the header is the one cell %q; allowed: cells divided by commas", t.header[0])
	}
	return 0, fault
}

func found(cell string) string {
	if cell == "" {
		return "found an empty cell"
	}
	return fmt.Sprintf("found %q", cell)
}

// number reads a decimal number; other notations that Go knows (hexadecimal, underscores, words) are none.
func number(cell string) (float64, bool) {
	for _, r := range cell {
		if (r < '0' || r > '9') && !strings.ContainsRune("+-.eE", r) {
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(cell, 64)
	return v, err == nil && !math.IsInf(v, 0)
}

// validPrefix is how many bytes of the text are UTF-8 before the first that are not.
func validPrefix(text []byte) int {
	n := 0
	for n < len(text) {
		r, size := utf8.DecodeRune(text[n:])
		if r == utf8.RuneError && size == 1 {
			break
		}
		n += size
	}
	return n
}
