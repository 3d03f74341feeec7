package files

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"strings"

	"sagitta/batch"
)

// What a document (a specification, readings, a mapping) may be. The largest that anybody needs is some thousandths of it.
const (
	mostDocument = 1 << 20 // bytes
	deepest      = 32      // tables and lists inside one another, parts of a dotted key
	mostKeys     = 5_000   // keys and tables
	mostEntries  = 20_000  // of all lists together
	longestKey   = 200     // bytes
	mostFaults   = 50      // told of one file
)

// ReadDocument reads the file of a name up to 1 MiB, as far as it goes and no further; "-" is what in gives. name is what errors call it.
func ReadDocument(file string, in io.Reader) (name string, text []byte, err error) {
	if file == "-" {
		return read("standard input", in, mostDocument)
	}
	opened, err := os.Open(file)
	if err != nil {
		return file, nil, err
	}
	defer func() { _ = opened.Close() }()
	return read(file, opened, mostDocument)
}

// tooMuch is the error of a bound.
func tooMuch(file string, line int, field, found, allowed string) error {
	return batch.FileError{File: file, Line: line, Field: batch.Shown(field), Found: found, Allowed: allowed}
}

// withinBytes refuses a text that is longer than a document may be.
func withinBytes(file string, text []byte) error {
	if len(text) > mostDocument {
		return tooMuch(file, 0, "", fmt.Sprintf("%d bytes", len(text)), fmt.Sprintf("%d bytes", mostDocument))
	}
	return nil
}

// withinKey refuses a key that is too long.
func withinKey(file string, line int, key string) error {
	if len(key) > longestKey {
		return tooMuch(file, line, key, fmt.Sprintf("a key of %d bytes", len(key)), fmt.Sprintf("keys of %d bytes", longestKey))
	}
	return nil
}

// counting counts what a document holds, and refuses the one too many.
type counting struct {
	file          string
	keys, entries int
}

func (c *counting) key(line int) error {
	if c.keys++; c.keys > mostKeys {
		return tooMuch(c.file, line, "", fmt.Sprintf("more than %d keys", mostKeys), fmt.Sprintf("%d keys in a file", mostKeys))
	}
	return nil
}

func (c *counting) entry(line int) error {
	if c.entries++; c.entries > mostEntries {
		return tooMuch(c.file, line, "", fmt.Sprintf("more than %d entries of lists", mostEntries), fmt.Sprintf("%d in a file", mostEntries))
	}
	return nil
}

// withinDepth refuses a TOML text whose lists and inline tables lie too deep inside one another, before a parser goes down into them.
// What stands in texts and comments does not count.
func withinDepth(file string, text []byte) error {
	depth, line := 0, 1
	for i := 0; i < len(text); i++ {
		switch text[i] {
		case '\n':
			line++
		case '#':
			for i+1 < len(text) && text[i+1] != '\n' {
				i++
			}
		case '"', '\'':
			end := endOfText(text, i)
			line += bytes.Count(text[i:end], []byte("\n"))
			i = end - 1
		case '[', '{':
			if depth++; depth > deepest {
				return tooMuch(file, line, "", fmt.Sprintf("more than %d lists and tables inside one another", deepest), fmt.Sprintf("%d", deepest))
			}
		case ']', '}':
			depth = max(depth-1, 0)
		}
	}
	return nil
}

// endOfText is where a TOML text that begins at a place ends: one in triple marks may run over lines, others end with their line.
func endOfText(text []byte, at int) int {
	mark := text[at : at+1]
	if bytes.HasPrefix(text[at:], bytes.Repeat(mark, 3)) {
		if n := bytes.Index(text[at+3:], bytes.Repeat(mark, 3)); n >= 0 {
			return at + 3 + n + 3
		}
		return len(text)
	}
	for i := at + 1; i < len(text); i++ {
		switch {
		case text[i] == '\\' && mark[0] == '"':
			i++
		case text[i] == mark[0] || text[i] == '\n':
			return i + 1
		}
	}
	return len(text)
}

// shortFaults are the first faults of a file, and how many more there are.
func shortFaults(faults []batch.FileError) []error {
	var errs []error
	for _, f := range faults[:min(len(faults), mostFaults)] {
		errs = append(errs, f)
	}
	if more := len(faults) - mostFaults; more > 0 {
		errs = append(errs, batch.FileError{File: faults[0].File, Problem: fmt.Sprintf("and %d more; the first %d are told", more, mostFaults)})
	}
	return errs
}

// shorter is a value's words in a message: their beginning, its mark kept, where they are long.
func shorter(words string) string {
	short := batch.Shown(words)
	if short != words && strings.HasPrefix(words, `"`) {
		return short + `"`
	}
	return short
}
