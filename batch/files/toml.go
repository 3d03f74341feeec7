package files

import (
	"errors"
	"fmt"
	"regexp"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"sagitta/batch"
)

// readTOML parses a TOML file; optional are the keys that may be left out though their tag does not say so.
func readTOML(file string, text []byte, optional map[string]bool) (d *document, values map[string]any, err error) {
	text = withoutMark(text)
	if err := toml.Unmarshal(text, &values); err != nil {
		return nil, nil, tomlError(file, err)
	}
	d = &document{file: file, tag: "toml", optional: optional}
	if d.lines, err = tomlLines(text); err != nil {
		return nil, nil, tomlError(file, err)
	}
	return d, values, nil
}

func tomlError(file string, err error) error {
	var at *toml.DecodeError
	if errors.As(err, &at) {
		line, column := at.Position()
		return batch.FileError{File: file, Line: line, Problem: fmt.Sprintf("cannot be read as TOML at column %d: %s", column, tomlWords(at))}
	}
	return batch.FileError{File: file, Problem: fmt.Sprintf("cannot be read as TOML: %v", err)}
}

// codePoint is how the parser names a character before quoting it.
var codePoint = regexp.MustCompile(`U\+[0-9A-F]{4,6} '(.)'`)

// tomlWords says a parser's complaint in plain words, with what to write instead where that is known.
func tomlWords(err error) string {
	words := codePoint.ReplaceAllString(strings.TrimPrefix(err.Error(), "toml: "), "$1")
	for _, plain := range []struct{ complaint, words string }{
		{"at start of value", "; a value is a number, true, false, a text in quotes or a list in [ ]"},
		{"expected '=' after key", "; write key = value"},
		{"at start of key", "; write key = value"},
		{"expected newline", "; one key = value a line, decimals with a point"},
		{"already", "; each may be given once"},
	} {
		if strings.Contains(words, plain.complaint) {
			return words + plain.words
		}
	}
	return words
}

// tomlLines finds the line of every table and key, by path.
func tomlLines(text []byte) (map[string]int, error) {
	lines := map[string]int{}
	count := map[string]int{} // of each array of tables
	prefix := ""
	var p unstable.Parser
	p.Reset(text)
	for p.NextExpression() {
		e := p.Expression()
		switch e.Kind {
		case unstable.Table, unstable.ArrayTable:
			path, line := keyPath(&p, e, "", count)
			if e.Kind == unstable.ArrayTable {
				count[path]++
				if count[path] == 1 {
					lines[path] = line
				}
				path = fmt.Sprintf("%s[%d]", path, count[path])
			}
			prefix = path
			lines[path] = line
		case unstable.KeyValue:
			valueLines(&p, e, prefix, lines)
		}
	}
	return lines, p.Error()
}

// keyPath is the dotted path of an expression's key under prefix, and its line. A parent that is an array of tables
// stands for its newest entry.
func keyPath(p *unstable.Parser, e *unstable.Node, prefix string, count map[string]int) (string, int) {
	path, line := prefix, 0
	for key := e.Key(); key.Next(); {
		if n := count[path]; n > 0 {
			path = fmt.Sprintf("%s[%d]", path, n)
		}
		if line == 0 {
			line = p.Shape(key.Node().Raw).Start.Line
		}
		path = join(path, string(key.Node().Data))
	}
	return path, line
}

// valueLines notes the line of a key and of the keys of inline tables under it.
func valueLines(p *unstable.Parser, e *unstable.Node, prefix string, lines map[string]int) {
	path, line := keyPath(p, e, prefix, nil)
	lines[path] = line
	insideLines(p, e.Value(), path, lines)
}

func insideLines(p *unstable.Parser, value *unstable.Node, path string, lines map[string]int) {
	children := value.Children()
	switch value.Kind {
	case unstable.InlineTable:
		for children.Next() {
			valueLines(p, children.Node(), path, lines)
		}
	case unstable.Array:
		for i := 1; children.Next(); i++ {
			insideLines(p, children.Node(), fmt.Sprintf("%s[%d]", path, i), lines)
		}
	}
}
