package files

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"sagitta/batch"
)

// readJSON parses a JSON text into maps, lists and scalars, and notes the lines of its keys in d.
func readJSON(data []byte, d *document) (any, error) {
	if err := withinBytes(d.file, data); err != nil {
		return nil, err
	}
	data = withoutMark(data)
	d.lines = map[string]int{}
	p := &jsonParser{Decoder: json.NewDecoder(bytes.NewReader(data)), data: data, document: d, line: 1, counting: counting{file: d.file}}
	p.UseNumber()
	value, err := p.value("", 0)
	if err == nil {
		if _, end := p.Token(); !errors.Is(end, io.EOF) {
			err = errors.New("more after the end of the readings")
		}
	}
	var bound batch.FileError
	if errors.As(err, &bound) {
		return nil, err
	}
	if err != nil {
		return nil, p.syntax(err)
	}
	return value, nil
}

// jsonParser reads JSON into maps and lists and notes the line of every key and entry.
type jsonParser struct {
	*json.Decoder
	*document
	counting
	data []byte
	line int   // of offset seen
	seen int64 // counted up to here
}

// here is the line of the decoder's place.
func (p *jsonParser) here() int {
	at := p.InputOffset()
	p.line += bytes.Count(p.data[p.seen:at], []byte("\n"))
	p.seen = at
	return p.line
}

func (p *jsonParser) value(path string, depth int) (any, error) {
	if depth > deepest {
		return nil, fmt.Errorf("%s: more than %d lists and tables inside one another", path, deepest)
	}
	token, err := p.Token()
	if err != nil {
		return nil, err
	}
	if _, ok := p.lines[path]; !ok {
		p.lines[path] = p.here()
	}
	switch token {
	case json.Delim('{'):
		return p.table(path, depth)
	case json.Delim('['):
		all := []any{}
		for p.More() {
			if err := p.entry(p.line); err != nil {
				return nil, err
			}
			one, err := p.value(fmt.Sprintf("%s[%d]", path, len(all)+1), depth+1)
			if err != nil {
				return nil, err
			}
			all = append(all, one)
		}
		_, err := p.Token()
		return all, err
	}
	return token, nil
}

func (p *jsonParser) table(path string, depth int) (any, error) {
	table := map[string]any{}
	for p.More() {
		token, err := p.Token()
		if err != nil {
			return nil, err
		}
		key, _ := token.(string) // the decoder lets only strings through here
		if err := errors.Join(withinKey(p.document.file, p.here(), key), p.key(p.here())); err != nil {
			return nil, err
		}
		below := join(path, key)
		if _, twice := table[key]; twice {
			p.faults = append(p.faults, batch.FileError{File: p.document.file, Line: p.here(), Field: below, Found: "the key a second time", Allowed: "once"})
		}
		p.lines[below] = p.here()
		if table[key], err = p.value(below, depth+1); err != nil {
			return nil, err
		}
	}
	_, err := p.Token()
	return table, err
}

// syntax says where the file stops being JSON: at the first sign after the last token that was read.
func (p *jsonParser) syntax(err error) error {
	rest := bytes.TrimLeft(p.data[p.InputOffset():], " \t\r\n,:")
	read := p.data[:len(p.data)-len(rest)]
	if len(rest) == 0 {
		read = bytes.TrimRight(read, "\n")
	}
	line := 1 + bytes.Count(read, []byte("\n"))
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		err = errors.New("the file ends too early")
	}
	return batch.FileError{File: p.document.file, Line: line, Problem: "cannot be read as JSON: " + err.Error()}
}
