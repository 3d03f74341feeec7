package files

import (
	"bytes"
	"errors"
	"fmt"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"sagitta/batch"
)

// readTOML parses a TOML file; optional are the keys that may be left out though their tag does not say so.
func readTOML(file string, text []byte, optional map[string]bool) (d *document, values map[string]any, err error) {
	if err := errors.Join(withinBytes(file, text), withinDepth(file, text)); err != nil {
		return nil, nil, err
	}
	text = withoutMark(text)
	keys := keysOf(file, text)
	if keys.over != nil {
		return nil, nil, keys.over
	}
	if err := toml.Unmarshal(text, &values); err != nil {
		return nil, nil, tomlError(file, text, keys, err)
	}
	return &document{file: file, tag: "toml", optional: optional, lines: keys.lines}, values, nil
}

// oneLine is what a line of TOML may be.
const oneLine = "key = value, each key once; the value a number (decimals with a point), true, false, a text in quotes or a list in [ ]"

// tomlError says in our words what a parser refused: a key that is there twice, or what stands where it stopped.
func tomlError(file string, text []byte, keys *tomlKeys, err error) error {
	var at *toml.DecodeError
	if !errors.As(err, &at) {
		return batch.FileError{File: file, Problem: fmt.Sprintf("cannot be read as TOML: %v", err)}
	}
	line, column := at.Position()
	for path, again := range keys.twice {
		if again == line {
			return batch.FileError{File: file, Line: line, Field: path, Found: "the key a second time", Allowed: "once"}
		}
	}
	found := "the end of the line"
	if lines := bytes.Split(text, []byte("\n")); line <= len(lines) {
		if rest := strings.TrimSpace(string(lines[line-1][min(max(column-1, 0), len(lines[line-1])):])); rest != "" {
			found = fmt.Sprintf("%.30q", rest)
		}
	}
	return batch.FileError{File: file, Line: line, Problem: fmt.Sprintf("cannot be read as TOML at column %d: found %s; allowed: %s", column, found, oneLine)}
}

// tomlKeys are the lines of a text's tables and keys, by path.
type tomlKeys struct {
	lines map[string]int
	twice map[string]int // where a key stands that was there before

	parser unstable.Parser
	count  map[string]int // of each array of tables
	held   counting
	over   error // of a bound, nil while all are kept
}

// keysOf finds the line of every table and key, as far as the text can be read and the bounds are kept.
func keysOf(file string, text []byte) *tomlKeys {
	k := &tomlKeys{held: counting{file: file}, lines: map[string]int{}, twice: map[string]int{}, count: map[string]int{}}
	prefix := ""
	k.parser.Reset(text)
	for k.over == nil && k.parser.NextExpression() {
		e := k.parser.Expression()
		switch e.Kind {
		case unstable.Table, unstable.ArrayTable:
			path, line := k.path(e, "", k.count)
			if e.Kind == unstable.ArrayTable {
				k.count[path]++
				if k.count[path] == 1 {
					k.lines[path] = line
				}
				path = fmt.Sprintf("%s[%d]", path, k.count[path])
			}
			prefix = path
			k.note(path, line)
		case unstable.KeyValue:
			k.value(e, prefix)
		}
	}
	return k
}

func (k *tomlKeys) note(path string, line int) {
	k.keep(k.held.key(line))
	if k.lines[path] > 0 {
		k.twice[path] = line
	}
	k.lines[path] = line
}

// path is the dotted path of an expression's key under prefix, and its line. A parent that is an array of tables stands for
// its newest entry.
func (k *tomlKeys) path(e *unstable.Node, prefix string, count map[string]int) (string, int) {
	path, line, parts := prefix, 0, 0
	for key := e.Key(); key.Next(); {
		if parts++; parts > deepest {
			k.keep(tooMuch(k.held.file, line, "", fmt.Sprintf("a key of more than %d parts", deepest), fmt.Sprintf("%d parts", deepest)))
			return path, line
		}
		if n := count[path]; n > 0 {
			path = fmt.Sprintf("%s[%d]", path, n)
		}
		if line == 0 {
			line = k.parser.Shape(key.Node().Raw).Start.Line
		}
		if err := withinKey(k.held.file, line, string(key.Node().Data)); err != nil {
			k.keep(err)
			return path, line
		}
		path = join(path, string(key.Node().Data))
	}
	return path, line
}

// value notes the line of a key and of the keys of inline tables under it.
func (k *tomlKeys) value(e *unstable.Node, prefix string) {
	path, line := k.path(e, prefix, nil)
	k.note(path, line)
	k.inside(e.Value(), path)
}

func (k *tomlKeys) inside(value *unstable.Node, path string) {
	if k.over != nil {
		return
	}
	children := value.Children()
	switch value.Kind {
	case unstable.InlineTable:
		for children.Next() {
			k.value(children.Node(), path)
		}
	case unstable.Array:
		for i := 1; children.Next(); i++ {
			k.keep(k.held.entry(k.lines[path]))
			k.inside(children.Node(), fmt.Sprintf("%s[%d]", path, i))
		}
	}
}

// keep notes the first bound that is passed.
func (k *tomlKeys) keep(err error) {
	if k.over == nil {
		k.over = err
	}
}
