package batch

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"
	"unicode"

	"sagitta/inspect"
)

// readingsOptional are the keys of readings with a default: a track that the specification knows brings its place.
var readingsOptional = map[string]bool{
	"profile.y_nut_mm": true, "profile.y_saddle_mm": true, "action.held_fret": true, "nut_height.held_fret": true,
}

const deepest = 32 // tables and lists inside one another

// ReadReadings reads one neck's readings, JSON, and checks them against the specification they are for; file only names
// them in errors. null stands in lists of heights alone and means not measured. The error joins one FileError for
// everything that is wrong: syntax, unknown or repeated keys, missing keys, wrong types, numbers that are not finite, and
// what inspect.Readings.Check finds.
func ReadReadings(file string, data []byte, s *inspect.Spec) (*inspect.Readings, error) {
	data = withoutMark(data)
	d := &document{file: file, tag: "json", lines: map[string]int{}, optional: readingsOptional}
	p := &jsonParser{Decoder: json.NewDecoder(bytes.NewReader(data)), data: data, document: d, line: 1}
	p.UseNumber()
	value, err := p.value("", 0)
	if err == nil {
		if _, end := p.Token(); !errors.Is(end, io.EOF) {
			err = errors.New("more after the end of the readings")
		}
	}
	if err != nil {
		return nil, p.syntax(err)
	}
	readings := new(inspect.Readings)
	d.fill(reflect.ValueOf(readings).Elem(), value, "")
	d.serial(readings.Serial)
	if len(d.faults) == 0 {
		d.places(readings, value, s)
	}
	if len(d.faults) == 0 {
		d.add(readings.Check(s))
	}
	if err := d.err(); err != nil {
		return nil, err
	}
	return readings, nil
}

// serial refuses a serial number that is blank or would not print: the verdict could not be told whose it is.
func (d *document) serial(serial string) {
	const field = "serial"
	if slices.ContainsFunc(d.faults, func(f FileError) bool { return f.Field == field }) {
		return
	}
	switch {
	case strings.TrimSpace(serial) == "":
		d.fault(field, fmt.Sprintf("%q", serial), "the neck's serial number")
	case strings.IndexFunc(serial, func(r rune) bool { return !unicode.IsPrint(r) }) >= 0:
		d.fault(field, fmt.Sprintf("%+q", serial), "a serial number of characters that can be printed")
	}
}

// places gives tracks without a place the one that the specification has for their name.
func (d *document) places(r *inspect.Readings, value any, s *inspect.Spec) {
	top, _ := value.(map[string]any)
	profile, _ := top["profile"].([]any)
	for i, entry := range profile {
		given, _ := entry.(map[string]any)
		t := &r.Profile[i]
		for key, into := range map[string]*float64{"y_nut_mm": &t.YNutMM, "y_saddle_mm": &t.YSaddleMM} {
			if _, ok := given[key]; ok {
				continue
			}
			known := false
			for _, track := range s.TracksOf() {
				if track.Name != t.Track {
					continue
				}
				known = true
				if key == "y_nut_mm" {
					*into = track.YNutMM
				} else {
					*into = track.YSaddleMM
				}
			}
			if !known {
				d.problem(fmt.Sprintf("profile[%d].%s", i+1, key), "is missing; needed where the specification has no track of that name: a number")
			}
		}
	}
}

// jsonParser reads JSON into maps and lists and notes the line of every key and entry.
type jsonParser struct {
	*json.Decoder
	*document
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
		below := join(path, key)
		if _, twice := table[key]; twice {
			p.faults = append(p.faults, FileError{File: p.file, Line: p.here(), Field: below, Found: "the key a second time", Allowed: "once"})
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
	return FileError{File: p.file, Line: line, Problem: "cannot be read as JSON: " + err.Error()}
}
