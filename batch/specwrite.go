package batch

import (
	"bytes"
	"fmt"
	"reflect"
	"strconv"
	"strings"

	"sagitta/inspect"
)

// WriteSpec writes a specification as TOML, in the order of its description; keys that have their default by being left
// out are left out. ReadSpec reads it back equal. The error is that of a specification that ReadSpec would refuse.
func WriteSpec(s *inspect.Spec) ([]byte, error) {
	var w bytes.Buffer
	writeTable(&w, reflect.ValueOf(*s), "")
	text := bytes.TrimLeft(w.Bytes(), "\n")
	if _, err := ReadSpec(s.Name, text); err != nil {
		return nil, fmt.Errorf("writing specification %s: %w", s.Name, err)
	}
	return text, nil
}

// writeTable writes a struct's plain keys and then its tables, which TOML wants last.
func writeTable(w *bytes.Buffer, table reflect.Value, path string) {
	var tables []int
	for i := range table.NumField() {
		field := table.Field(i)
		name, _, _ := strings.Cut(table.Type().Field(i).Tag.Get("toml"), ",")
		if field.Kind() == reflect.Pointer {
			if field.IsNil() {
				continue
			}
			field = field.Elem()
		}
		if isTable(field) {
			tables = append(tables, i)
			continue
		}
		if optional := strings.Contains(table.Type().Field(i).Tag.Get("toml"), ",omitempty") || specOptional[join(path, name)]; optional && table.Field(i).IsZero() {
			continue
		}
		fmt.Fprintf(w, "%s = %s\n", name, plain(field))
	}
	for _, i := range tables {
		name, _, _ := strings.Cut(table.Type().Field(i).Tag.Get("toml"), ",")
		field := reflect.Indirect(table.Field(i))
		below := join(path, name)
		switch {
		case field.Kind() == reflect.Slice:
			for j := range field.Len() {
				fmt.Fprintf(w, "\n[[%s]]\n", below)
				writeTable(w, field.Index(j), below)
			}
		case table.Field(i).Kind() == reflect.Pointer || !field.IsZero() || !specOptional[below]:
			fmt.Fprintf(w, "\n[%s]\n", below)
			writeTable(w, field, below)
		}
	}
}

// isTable says whether a value is written as a table or a list of them.
func isTable(v reflect.Value) bool {
	switch v.Interface().(type) {
	case inspect.Index, inspect.StringList:
		return false
	}
	return v.Kind() == reflect.Struct || v.Kind() == reflect.Slice && v.Type().Elem().Kind() == reflect.Struct
}

// plain is a key's value as TOML writes it.
func plain(v reflect.Value) string {
	switch value := v.Interface().(type) {
	case inspect.Index:
		if value.Each {
			return `"each"`
		}
		return strconv.Itoa(value.Number)
	case inspect.StringList:
		if value.Each {
			return `"each"`
		}
		return plain(reflect.ValueOf(value.Numbers))
	case string:
		return quote(value)
	case float64:
		text := strconv.FormatFloat(value, 'g', -1, 64)
		if !strings.ContainsAny(text, ".eIN") {
			text += ".0"
		}
		return strings.ReplaceAll(strings.ReplaceAll(text, "+Inf", "inf"), "-Inf", "-inf")
	}
	if v.Kind() == reflect.Slice {
		entries := make([]string, v.Len())
		for i := range entries {
			entries[i] = plain(v.Index(i))
		}
		return "[" + strings.Join(entries, ", ") + "]"
	}
	return fmt.Sprint(v.Interface())
}

// quote writes a TOML basic string: quotes, backslashes and control characters escaped (TOML 1.0, "String").
func quote(s string) string {
	var w strings.Builder
	w.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			w.WriteString(`\` + string(r))
		case r < ' ' || r == 0x7f:
			fmt.Fprintf(&w, `\u%04x`, r)
		default:
			w.WriteRune(r)
		}
	}
	w.WriteByte('"')
	return w.String()
}
