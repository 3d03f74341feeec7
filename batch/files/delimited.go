package files

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"sagitta/batch"
)

// Delimited reads a delimited file row by row: a header row, UTF-8 or UTF-16 with or without a byte order mark, cells quoted
// where they need it (RFC 4180). Empty lines are passed over in a file of several columns and at the end; within a single
// column one is a fault.
type Delimited struct {
	Header []string // the columns' names, without the space around them

	file     string
	text     []byte
	in       *csv.Reader
	decimals decimals
	end      int64 // of the row before
	over     bool  // what follows cannot be split into cells
}

// Signs are the signs of a delimited file. Those that are not given are found: the separator among comma, semicolon and tab by
// the header and the row below it, the decimal comma by the first number that has one, where the separator is no comma.
type Signs struct {
	Separator string // between cells: one character, or ""
	Decimal   string // ".", "," or ""
}

// longestHeader bounds the header, bytes.
const longestHeader = 64 << 10

// mostColumns is how many columns a file may have.
const mostColumns = 1000

// NewDelimited reads the header. file is the file's name for errors, each a [batch.FileError]: text that is neither UTF-8
// nor UTF-16, no header or one of more than a thousand columns, a quotation mark out of place.
func NewDelimited(file string, text []byte, signs Signs) (*Delimited, error) {
	text, err := unicodeText(file, text)
	if err != nil {
		return nil, err
	}
	if n := bytes.IndexByte(text[:min(len(text), longestHeader+1)], '\n'); n < 0 && len(text) > longestHeader {
		return nil, tooMuch(file, 1, "", fmt.Sprintf("a header of more than %d bytes", longestHeader), fmt.Sprintf("%d bytes", longestHeader))
	}
	separator, _ := utf8.DecodeRuneInString(signs.Separator)
	if signs.Separator == "" {
		separator = findSeparator(text)
	}
	d := &Delimited{file: file, text: text, in: csv.NewReader(bytes.NewReader(text)), decimals: newDecimals(signs.Decimal, separator)}
	d.in.Comma, d.in.TrimLeadingSpace = separator, separator != '\t' && separator != ' '
	header, err := d.in.Read()
	if errors.Is(err, io.EOF) {
		return nil, noValues(file)
	} else if err != nil {
		return nil, d.syntax(err, 0)
	}
	if len(header) > mostColumns {
		return nil, batch.FileError{File: file, Line: 1, Found: count(len(header)), Allowed: fmt.Sprintf("%d columns", mostColumns)}
	}
	for i := range header {
		header[i] = strings.TrimSpace(header[i])
	}
	d.Header, d.end = header, d.in.InputOffset()
	return d, nil
}

// Number reads a cell that is a decimal number, with or without an exponent; problem says what was found and what is allowed
// instead. All numbers of a file have the same decimal sign.
func (d *Delimited) Number(cell string) (v float64, problem string) { return d.decimals.read(cell) }

// Next returns the next row's cells, as many as the header's, and its line, from 1; io.EOF after the last. Other errors are a
// [batch.FileError] each. After one about the number of cells reading may go on; a quotation mark out of place ends it.
func (d *Delimited) Next() (line int, cells []string, err error) {
	if d.over {
		return 0, nil, io.EOF
	}
	before := d.end
	if cells, err = d.in.Read(); errors.Is(err, io.EOF) {
		return 0, nil, io.EOF
	}
	d.end = d.in.InputOffset()
	if err != nil {
		return 0, nil, d.syntax(err, len(cells))
	}
	if len(d.Header) == 1 && startsEmpty(d.text[before:]) {
		return 0, nil, batch.FileError{File: d.file, Line: 1 + bytes.Count(d.text[:before], []byte("\n")), Field: d.Header[0],
			Problem: found("") + "; allowed: a value in every row"}
	}
	line, _ = d.in.FieldPos(0)
	return line, cells, nil
}

// syntax is what the reader of cells refused, in our words.
func (d *Delimited) syntax(err error, cells int) error {
	var at *csv.ParseError
	if !errors.As(err, &at) {
		d.over = true
		return fmt.Errorf("%s: %w", d.file, err)
	}
	if errors.Is(err, csv.ErrFieldCount) {
		return batch.FileError{File: d.file, Line: at.Line, Found: count(cells),
			Allowed: fmt.Sprintf("%s, as in the header (a cell that holds the sign between cells is put in quotation marks)", count(len(d.Header)))}
	}
	d.over = true
	return batch.FileError{File: d.file, Line: at.Line, Problem: "found a quotation mark out of place; allowed: marks around a whole cell, doubled inside it"}
}

func noValues(file string) error {
	return batch.FileError{File: file, Line: 1, Problem: "holds no values; needed: a header row with the columns' names and a row below it for each"}
}

// startsEmpty says whether a text begins with an empty line.
func startsEmpty(text []byte) bool {
	return bytes.HasPrefix(text, []byte("\n")) || bytes.HasPrefix(text, []byte("\r\n"))
}

func count(cells int) string {
	if cells == 1 {
		return "1 cell"
	}
	return fmt.Sprintf("%d cells", cells)
}
