package files

import (
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"

	"sagitta/inspect"
)

// WriteSpec writes a specification as TOML, every key in the order of inspect's types: ReadSpec makes the same specification of
// it, to the last bit of every number. What is absent stays absent.
func WriteSpec(s *inspect.Spec) []byte {
	var b strings.Builder
	writeTable(&b, tableOf(reflect.ValueOf(s).Elem(), ""), "")
	return []byte(b.String())
}

// SpecValues are the values of a specification's file by key, nested as tables are: map[string]any, []any, string, float64, int64
// and bool. SpecOf makes the same specification of them.
func SpecValues(s *inspect.Spec) map[string]any {
	return tableOf(reflect.ValueOf(s).Elem(), "").values()
}

// table is a table of a TOML file: its keys with their values, then the tables in it.
type table struct {
	keys []tableKey
	subs []subTables
}

type tableKey struct {
	name  string
	value any // string, float64, int64, bool or []any of them
}

// subTables are a table in a table, or a list of them.
type subTables struct {
	name    string
	list    bool
	entries []*table
}

// tableOf is what a file says of a struct; path is its own without [..].
func tableOf(of reflect.Value, path string) *table {
	t := &table{}
	for i := range of.NumField() {
		name, options, _ := strings.Cut(of.Type().Field(i).Tag.Get("toml"), ",")
		if name == "-" {
			continue
		}
		below := join(path, name)
		field := of.Field(i)
		if field.IsZero() && (strings.HasPrefix(options, "omit") || specOptional[below]) {
			continue
		}
		if field.Kind() == reflect.Pointer {
			field = field.Elem()
		}
		t.put(name, below, field)
	}
	return t
}

// put adds a key or the tables of one.
func (t *table) put(name, path string, field reflect.Value) {
	value, plain := plainValue(field)
	switch {
	case plain:
		t.keys = append(t.keys, tableKey{name, value})
	case field.Kind() == reflect.Struct:
		t.subs = append(t.subs, subTables{name: name, entries: []*table{tableOf(field, path)}})
	default:
		sub := subTables{name: name, list: true}
		for i := range field.Len() {
			sub.entries = append(sub.entries, tableOf(field.Index(i), path))
		}
		t.subs = append(t.subs, sub)
	}
}

// plainValue is the value of a key that is no table; ok is false for tables and lists of tables.
func plainValue(v reflect.Value) (value any, ok bool) {
	switch held := v.Interface().(type) {
	case inspect.Index:
		if held.Each {
			return held.String(), true
		}
		return int64(held.Number), true
	case inspect.StringList:
		if held.Each {
			return "each", true
		}
		return plainValue(reflect.ValueOf(held.Numbers))
	}
	switch v.Kind() {
	case reflect.String:
		return v.String(), true
	case reflect.Bool:
		return v.Bool(), true
	case reflect.Int:
		return v.Int(), true
	case reflect.Float64:
		return v.Float(), true
	case reflect.Slice:
		if v.Type().Elem().Kind() == reflect.Struct && v.Len() > 0 {
			return nil, false
		}
		entries := make([]any, v.Len())
		for i := range entries {
			entries[i], _ = plainValue(v.Index(i))
		}
		return entries, true
	}
	return nil, false
}

// values are the table's as a reader of TOML gives them.
func (t *table) values() map[string]any {
	values := map[string]any{}
	for _, k := range t.keys {
		values[k.name] = k.value
	}
	for _, sub := range t.subs {
		if !sub.list {
			values[sub.name] = sub.entries[0].values()
			continue
		}
		list := make([]any, len(sub.entries))
		for i, e := range sub.entries {
			list[i] = e.values()
		}
		values[sub.name] = list
	}
	return values
}

// writeTable writes a table's keys and then the tables in it, each under its head.
func writeTable(b *strings.Builder, t *table, path string) {
	for _, k := range t.keys {
		b.WriteString(k.line())
	}
	for _, sub := range t.subs {
		for _, e := range sub.entries {
			below := join(path, sub.name)
			b.WriteString("\n" + headOf(below, sub.list) + "\n")
			writeTable(b, e, below)
		}
	}
}

// headOf is the line over a table.
func headOf(path string, list bool) string {
	if list {
		return "[[" + path + "]]"
	}
	return "[" + path + "]"
}

// line is the key's line.
func (k tableKey) line() string { return k.name + " = " + tomlValue(k.value) + "\n" }

// tomlValue writes a value so that it reads back as it was.
func tomlValue(value any) string {
	switch v := value.(type) {
	case string:
		return tomlText(v)
	case float64:
		return tomlNumber(v)
	case []any:
		entries := make([]string, len(v))
		for i, e := range v {
			entries[i] = tomlValue(e)
		}
		return "[" + strings.Join(entries, ", ") + "]"
	}
	return fmt.Sprint(value)
}

// tomlNumber writes a number with as few digits as bring back every bit, and a point, as TOML tells numbers from whole ones.
func tomlNumber(v float64) string {
	format := byte('f')
	if size := math.Abs(v); size != 0 && (size < 1e-6 || size >= 1e15) {
		format = 'e'
	}
	text := strconv.FormatFloat(v, format, -1, 64)
	if !strings.ContainsAny(text, ".e") {
		text += ".0"
	}
	return text
}

// tomlText writes a text in quotes.
func tomlText(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\r':
			b.WriteString(`\r`)
		case r == '\t':
			b.WriteString(`\t`)
		case r < ' ' || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
