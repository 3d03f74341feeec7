package files

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"sagitta/batch"
)

// Table is a delimited file read as far as its cells; what a cell holds is judged when its column is asked for. Columns are
// found by their name in the header, in any order; columns nobody asks for are ignored. Every error is a [batch.FileError]
// with the file's line (the header is line 1) and the column's name.
//
//	table, err := files.ReadTable("necks.csv", text)
//	values, err := table.Numbers("value")
//	subgroups, err := table.Labels("subgroup") // only where table.Has("subgroup")
type Table struct {
	file     string
	header   []string
	rows     [][]string
	lines    []int // of each row, the header being line 1
	decimals decimals
	called   map[string]string // columns' names in the file by the others they answer to
}

// mostCells is how many cells a table may have: a million rows of twenty columns.
const mostCells = 20_000_000

// ReadTable splits a file's text into cells; its separator and its decimal sign are found (see [Signs]). file is its name
// for errors. It refuses what [Delimited] refuses, a file without a row below its header and one of more than 20 million
// cells.
func ReadTable(file string, text []byte) (*Table, error) {
	in, err := NewDelimited(file, text, Signs{})
	if err != nil {
		return nil, err
	}
	t := &Table{file: file, header: in.Header, decimals: in.decimals, called: map[string]string{}}
	for {
		line, cells, err := in.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		if (len(t.rows)+1)*len(cells) > mostCells {
			return nil, batch.FileError{File: file, Line: line, Found: fmt.Sprintf("more than %d cells", mostCells), Allowed: "so many in all: divide the file, or leave out columns"}
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

// Call makes a column of the file answer to another name, which errors do not tell: theirs is the file's.
func (t *Table) Call(name, column string) { t.called[name] = column }

// Has says whether the header names a column.
func (t *Table) Has(column string) bool { return slices.Contains(t.header, t.own(column)) }

// Needs refuses a column that the header does not name once.
func (t *Table) Needs(column string) error {
	_, err := t.find(column)
	return err
}

// own is a column's name in the file.
func (t *Table) own(column string) string {
	if own, called := t.called[column]; called {
		return own
	}
	return column
}

// Only refuses a column of the header that is none of those named, and says which it may be meant for.
func (t *Table) Only(columns ...string) error {
	for _, name := range t.header {
		if slices.Contains(columns, name) {
			continue
		}
		fault := batch.FileError{File: t.file, Line: 1, Field: batch.Shown(name), Problem: "unknown column; known here: " + strings.Join(columns, ", ")}
		if near := Nearest(name, columns); near != "" {
			fault.Problem = fmt.Sprintf("unknown column; did you mean %q?", near)
		}
		return fault
	}
	return nil
}

// Numbers are a column's cells as numbers, one for each row, in the file's order: decimal numbers with or without an
// exponent. It refuses a column the header does not name once, an empty cell and one that is no finite number.
func (t *Table) Numbers(column string) ([]float64, error) {
	c, err := t.find(column)
	if err != nil {
		return nil, err
	}
	numbers := make([]float64, len(t.rows))
	for i, cells := range t.rows {
		v, problem := t.decimals.read(strings.TrimSpace(cells[c]))
		if problem != "" {
			return nil, t.Fault(i, column, problem)
		}
		numbers[i] = v
	}
	return numbers, nil
}

// Answers are a column's cells as answers, true for yes, false for no and for an empty cell. It refuses a column the header
// does not name once and any other word.
func (t *Table) Answers(column string) ([]bool, error) {
	c, err := t.find(column)
	if err != nil {
		return nil, err
	}
	answers := make([]bool, len(t.rows))
	for i, cells := range t.rows {
		switch word := strings.TrimSpace(cells[c]); word {
		case "yes":
			answers[i] = true
		case "no", "":
		default:
			return nil, t.Fault(i, column, found(word)+"; allowed: yes, no or nothing")
		}
	}
	return answers, nil
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
	return batch.FileError{File: t.file, Line: t.lines[row], Field: t.own(column), Problem: problem}
}

// find is a column's place in the header.
func (t *Table) find(column string) (int, error) {
	name := t.own(column)
	c := slices.Index(t.header, name)
	fault := batch.FileError{File: t.file, Line: 1, Field: batch.Shown(name)}
	switch {
	case c >= 0 && slices.Contains(t.header[c+1:], name):
		fault.Problem = "is named twice in the header; allowed: once"
		return 0, fault
	case c >= 0:
		return c, nil
	}
	fault.Problem = "is missing; the header names: " + batch.Shown(strings.Join(t.header, ", "))
	if near := Nearest(name, t.header); near != "" {
		fault.Problem += fmt.Sprintf("; did you mean %q?", near)
	}
	if len(t.header) == 1 && strings.ContainsAny(t.header[0], "|:/") {
		fault.Problem = fmt.Sprintf("is missing; the header is the one cell %q; allowed: cells divided by commas, semicolons or tabs", batch.Shown(t.header[0]))
	}
	return 0, fault
}

func found(cell string) string {
	if cell == "" {
		return "found an empty cell"
	}
	return fmt.Sprintf("found %q", batch.Shown(cell))
}
