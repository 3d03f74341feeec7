package files

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"sagitta/batch"
)

// Table is a comma-separated file read as far as its cells; what a cell holds is judged when its column is asked for. Columns
// are found by their name in the header, in any order; columns nobody asks for are ignored. Every error is a
// [batch.FileError] with the file's line (the header is line 1) and the column's name.
//
//	table, err := files.ReadTable("necks.csv", text)
//	values, err := table.Numbers("value")
//	subgroups, err := table.Labels("subgroup") // only where table.Has("subgroup")
type Table struct {
	file   string
	header []string
	rows   [][]string
	lines  []int // of each row, the header being line 1
}

// ReadTable splits a file's text into cells. file is its name for errors. It refuses what [Delimited] refuses, and a file
// without a row below its header.
func ReadTable(file string, text []byte) (*Table, error) {
	in, err := NewDelimited(file, text, ',')
	if err != nil {
		return nil, err
	}
	t := &Table{file: file, header: in.Header}
	for {
		line, cells, err := in.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		t.rows, t.lines = append(t.rows, cells), append(t.lines, line)
	}
	if len(t.rows) == 0 {
		return nil, noValues(file)
	}
	return t, nil
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
