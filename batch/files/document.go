// Package files reads the files that people bring: specifications and mappings (TOML), readings (JSON), and delimited files.
// Reading is strict, and everything wrong in a file is said at once: each fault is a [batch.FileError] with the line, what was
// found and what is allowed.
package files

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"

	"github.com/agext/levenshtein"

	"sagitta/batch"
	"sagitta/inspect"
)

// document is a parsed file before its values are given types: maps, lists, strings, numbers, truth values and nulls,
// with the line of every key and list entry. It is filled into a struct strictly, everything wrong being collected.
type document struct {
	file     string
	tag      string          // the struct tag that names keys
	lines    map[string]int  // by path, e.g. limit[3].upper_mm; lists count from 1
	optional map[string]bool // keys that may be left out though their tag does not say so, by path without [..]
	faults   []batch.FileError
}

func (d *document) fault(path, found, allowed string) {
	d.faults = append(d.faults, batch.FileError{File: d.file, Line: d.line(path), Field: path, Found: shorter(found), Allowed: allowed})
}

// problem is fault for what is wrong without anything found.
func (d *document) problem(path, problem string) {
	d.faults = append(d.faults, batch.FileError{File: d.file, Line: d.line(path), Field: path, Problem: problem})
}

// line finds the line of a path or of what it is in.
func (d *document) line(path string) int {
	for path != "" {
		if n := d.lines[path]; n > 0 {
			return n
		}
		path = path[:max(strings.LastIndexAny(path, ".["), 0)]
	}
	return d.lines[""]
}

// fill puts a value into a struct, list, pointer or scalar of inspect's types.
func (d *document) fill(into reflect.Value, value any, path string) {
	switch target := into.Addr().Interface().(type) {
	case *inspect.Index:
		d.index(target, value, path)
		return
	case *inspect.StringList:
		d.strings(target, value, path)
		return
	}
	switch into.Kind() {
	case reflect.Pointer:
		if value == nil {
			d.fault(path, "null", words(into.Type().Elem())+"; leave the key out where there is no value")
			return
		}
		into.Set(reflect.New(into.Type().Elem()))
		d.fill(into.Elem(), value, path)
	case reflect.Struct:
		table, ok := value.(map[string]any)
		if !ok {
			d.wrong(path, value, into.Type())
			return
		}
		d.table(into, table, path)
	case reflect.Slice, reflect.Array:
		d.list(into, value, path)
	default:
		d.scalar(into, value, path)
	}
}

func (d *document) table(into reflect.Value, table map[string]any, path string) {
	fields := map[string]int{}
	var known []string
	for i := range into.NumField() {
		name, options, _ := strings.Cut(into.Type().Field(i).Tag.Get(d.tag), ",")
		if name == "-" {
			continue // in no file
		}
		fields[name] = i
		known = append(known, name)
		below := join(path, name)
		value, given := table[name]
		switch {
		case given:
			d.fill(into.Field(i), value, below)
		case !strings.HasPrefix(options, "omit") && !d.optional[bare(below)]:
			d.problem(below, "is missing; needed: "+words(into.Type().Field(i).Type))
		}
	}
	for key := range table {
		if _, ok := fields[key]; ok {
			continue
		}
		problem := "unknown key; known here: " + strings.Join(known, ", ")
		if near := Nearest(key, known); near != "" {
			problem = fmt.Sprintf("unknown key; did you mean %q?", near)
		}
		d.problem(join(path, key), problem)
	}
}

func (d *document) list(into reflect.Value, value any, path string) {
	entries, ok := value.([]any)
	if !ok {
		d.wrong(path, value, into.Type())
		return
	}
	if into.Kind() == reflect.Array {
		if len(entries) != into.Len() {
			d.fault(path, fmt.Sprintf("a list of %d", len(entries)), fmt.Sprintf("a list of %d", into.Len()))
			return
		}
	} else {
		into.Set(reflect.MakeSlice(into.Type(), len(entries), len(entries)))
	}
	for i, e := range entries {
		if e == nil && into.Type().Elem().Kind() == reflect.Pointer {
			continue // not measured
		}
		d.fill(into.Index(i), e, fmt.Sprintf("%s[%d]", path, i+1))
	}
}

func (d *document) scalar(into reflect.Value, value any, path string) {
	switch into.Kind() {
	case reflect.String:
		if s, ok := value.(string); ok {
			into.SetString(s)
			return
		}
	case reflect.Bool:
		if b, ok := value.(bool); ok {
			into.SetBool(b)
			return
		}
	case reflect.Int:
		if n, ok := whole(value); ok {
			into.SetInt(n)
			return
		}
	case reflect.Float64:
		if f, ok := decimal(value); ok {
			if math.IsNaN(f) || math.IsInf(f, 0) {
				d.fault(path, fmt.Sprint(value), "a finite number")
				return
			}
			into.SetFloat(f)
			return
		}
	}
	d.wrong(path, value, into.Type())
}

// index takes "each" or a number from 1.
func (d *document) index(into *inspect.Index, value any, path string) {
	n, ok := whole(value)
	switch {
	case value == "each":
		*into = inspect.Index{Each: true}
	case ok && n > 0:
		*into = inspect.Index{Number: int(n)}
	default:
		d.fault(path, show(value), `"each" or a number from 1`)
	}
}

// strings takes "each" or a list of numbers from 1.
func (d *document) strings(into *inspect.StringList, value any, path string) {
	if value == "each" {
		into.Each = true
		return
	}
	entries, ok := value.([]any)
	if !ok {
		d.fault(path, show(value), `"each" or a list of string numbers`)
		return
	}
	into.Numbers = []int{}
	for i, e := range entries {
		n, ok := whole(e)
		if !ok || n < 1 {
			d.fault(fmt.Sprintf("%s[%d]", path, i+1), show(e), "a string number from 1")
			continue
		}
		into.Numbers = append(into.Numbers, int(n))
	}
}

func (d *document) wrong(path string, value any, want reflect.Type) {
	d.fault(path, show(value), words(want))
}

// add takes over faults that a check of the values found.
func (d *document) add(faults []inspect.Fault) {
	for _, f := range faults {
		_, given := d.lines[f.Field]
		switch {
		case f.Found != "":
			d.fault(f.Field, f.Found, f.Allowed)
		case given:
			d.problem(f.Field, "is empty or 0; needed: "+f.Allowed)
		default:
			d.problem(f.Field, "is missing; needed: "+f.Allowed)
		}
	}
}

// err is everything found so far, in the file's order, a line each; nil when nothing is. errors.As with a FileError finds
// the first.
func (d *document) err() error {
	slices.SortStableFunc(d.faults, func(a, b batch.FileError) int {
		if a.Line != b.Line {
			return a.Line - b.Line
		}
		return strings.Compare(a.Field, b.Field)
	})
	return errors.Join(shortFaults(d.faults)...)
}

// whole reads a number without a fraction.
func whole(value any) (int64, bool) {
	switch n := value.(type) {
	case int64:
		return n, int64(int(n)) == n
	case json.Number:
		i, err := n.Int64()
		return i, err == nil && int64(int(i)) == i
	}
	return 0, false
}

// decimal reads any number; one too large for the type comes back infinite.
func decimal(value any) (float64, bool) {
	switch n := value.(type) {
	case int64:
		return float64(n), true
	case float64:
		return n, true
	case json.Number:
		f, err := n.Float64()
		return f, err == nil || math.IsInf(f, 0)
	}
	return 0, false
}

// words says what a type takes.
func words(t reflect.Type) string {
	switch t.Kind() {
	case reflect.Pointer:
		return words(t.Elem())
	case reflect.String:
		return "a text in quotes"
	case reflect.Bool:
		return "true or false"
	case reflect.Int:
		return "a whole number"
	case reflect.Float64:
		return "a number"
	case reflect.Slice, reflect.Array:
		if t.Elem().Kind() == reflect.Struct {
			return "a list of tables"
		}
		return "a list"
	}
	return "a table"
}

// show is a value as a person would write it.
func show(value any) string {
	switch v := value.(type) {
	case nil:
		return "null"
	case map[string]any:
		return "a table"
	case []any:
		return fmt.Sprintf("a list of %d", len(v))
	case string:
		return fmt.Sprintf("%q", v)
	}
	return fmt.Sprint(value)
}

// Nearest names the known word nearest to the one given, or nothing when none is near.
func Nearest(word string, known []string) string {
	best, least := "", 4
	for _, k := range known {
		if n := len(word) - len(k); n >= least || -n >= least {
			continue // so many letters are missing at the least
		}
		if d := levenshtein.Distance(word, k, nil); d < least && d < max(len(word), 2) {
			best, least = k, d
		}
	}
	return best
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// bare is a path without its [..].
func bare(path string) string {
	var w strings.Builder
	inside := false
	for _, r := range path {
		switch {
		case r == '[':
			inside = true
		case r == ']':
			inside = false
		case !inside:
			w.WriteRune(r)
		}
	}
	return w.String()
}

// withoutMark drops the byte order mark that some editors put first.
func withoutMark(text []byte) []byte {
	return bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
}
