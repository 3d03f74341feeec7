package specs

import (
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"sagitta/batch"
	"sagitta/batch/files"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/show"
)

// sheet is a specification while it is filled in: what was typed, field by field. A field's name is its key's path with the id
// of its row in every list, as in "limit.3.upper"; ids stay while rows come and go. What is typed as it stood keeps its value to
// the last bit, also in inches.
type sheet struct {
	text    string              // of the file that it began from
	base    *inspect.Spec       // what that says
	typed   map[string]string   // by field; boxes that are ticked on a line each
	rows    map[string][]string // ids of the rows of each list, in order
	lengths unit.Unit
	faults  map[string]string // by field, row ("limit.3") or list
	spec    *inspect.Spec     // what is typed, nil where something of it is wrong
	opened  *sheet            // as it was at first, see asOpened
	gauges  []batch.Gauge     // on file
	at      string            // the section that was worked in
	final   bool              // it is meant to be whole: a row that nobody filled in yet is wrong
}

// asUsual is the box that stands for a list that is left out; noneOf is typed for an empty one.
const (
	asUsual = "as usual"
	noneOf  = "none"
	yes     = "yes"
)

// openSheet shows a specification's text as a form. The error is ReadSpec's.
func openSheet(text string, lengths unit.Unit) (*sheet, error) {
	base, err := files.ReadSpec("", []byte(text))
	if err != nil {
		return nil, err
	}
	s := &sheet{text: text, base: base, typed: map[string]string{}, rows: map[string][]string{}, lengths: lengths, faults: map[string]string{}}
	held := files.SpecValues(base)
	s.take("", held)
	for _, sec := range sections {
		if _, there := held[sec.has]; there {
			s.typed["has."+sec.has] = yes
		}
	}
	for _, of := range slots {
		if _, given := s.typed[of.path]; of.boxes() && !given {
			s.typed[of.path] = asUsual
		}
	}
	s.read()
	return s, nil
}

// take fills in the fields of a table's values; at is its name with the ids of rows.
func (s *sheet) take(at string, values map[string]any) {
	for name, v := range values {
		field := joined(at, name)
		path := pathOf(field)
		list, several := v.([]any)
		switch {
		case lists[path] && several:
			for i, row := range list {
				id := strconv.Itoa(i + 1)
				s.rows[field] = append(s.rows[field], id)
				s.take(field+"."+id, row.(map[string]any))
			}
		case reflect.TypeOf(v).Kind() == reflect.Map:
			s.take(field, v.(map[string]any))
		default:
			_, in, is := boundOf(path)
			if is {
				field = strings.TrimSuffix(field, "_"+in)
			}
			s.typed[field] = s.write(byPath[pathOf(field)], v, is && in == "mm")
		}
	}
}

// pathOf is a field's key in the file: its name without the ids of rows.
func pathOf(field string) string {
	var path string
	for word := range strings.SplitSeq(field, ".") {
		if word != "" && word[0] >= '0' && word[0] <= '9' {
			continue
		}
		path = joined(path, word)
	}
	return path
}

// write is a value as the form shows it.
func (s *sheet) write(of *slot, value any, length bool) string {
	switch v := value.(type) {
	case bool:
		return show.Pick(v, yes, "no")
	case float64:
		if length || of.length {
			return show.ExactNumber(v, s.lengths)
		}
		return show.Plain(v)
	case []any:
		if len(v) == 0 {
			return show.Pick(of.boxes(), "", noneOf)
		}
		texts := make([]string, len(v))
		for i, e := range v {
			texts[i] = s.write(of, e, length)
		}
		return strings.Join(texts, show.Pick(of.boxes(), "\n", ", "))
	case string:
		return strings.TrimSpace(strings.NewReplacer("\r", "", "\n", "").Replace(v)) // as a browser's field gives it back
	}
	return fmt.Sprint(value)
}

// boxes says that the key is a list of words, each with a box.
func (of *slot) boxes() bool { return of.takes == reflect.TypeFor[[]string]() }

// box says that the key is a truth value with one box.
func (of *slot) box() bool { return of.takes.Kind() == reflect.Bool }

// read makes a specification of what is typed, and finds what is wrong.
func (s *sheet) read() {
	s.faults = map[string]string{}
	values := s.values()
	typing := len(s.faults) > 0
	spec, err := files.SpecOf(values)
	if s.spec = spec; typing {
		s.spec = nil
	}
	list, several := err.(interface{ Unwrap() []error })
	if !several {
		return
	}
	for _, e := range list.Unwrap() {
		var fault batch.FileError
		if errors.As(e, &fault) {
			field := s.fieldOf(fault.Field)
			if _, already := s.faults[field]; !already {
				s.faults[field] = s.sentence(field, fault)
			}
		}
	}
}

// sentence says what is wrong with a field: lengths are told in mm, as the file has them.
func (s *sheet) sentence(field string, fault batch.FileError) string {
	words := tell.Upper(fault.Words())
	if of := byPath[pathOf(field)]; of != nil && of.length && s.lengths == unit.Inch && fault.Found != "" {
		words = strings.TrimRight(words, ".") + "; what was found is told in mm"
	}
	return strings.TrimRight(words, ".") + "."
}

// fieldOf is the field of a path as the reader names it, "limit[3].upper_mm"; a row or a list where the reader means all of it.
func (s *sheet) fieldOf(path string) string {
	field := ""
	for word := range strings.SplitSeq(path, ".") {
		name, n, numbered := strings.Cut(strings.TrimSuffix(word, "]"), "[")
		field = joined(field, name)
		if rows := s.meant(field); numbered && lists[pathOf(field)] {
			if i, err := strconv.Atoi(n); err == nil && i >= 1 && i <= len(rows) {
				field += "." + rows[i-1]
			}
		}
	}
	if bound, in, is := boundOf(pathOf(field)); is && bound != "" {
		field = strings.TrimSuffix(field, "_"+in)
	}
	return field
}

// values are what is typed as the file's values; what cannot be read is a fault and left out.
func (s *sheet) values() map[string]any {
	held := files.SpecValues(s.base)
	all := map[string]any{}
	s.fill(all, "", held)
	for _, table := range s.tables() {
		into := map[string]any{}
		old, _ := held[table].(map[string]any)
		s.fill(into, table, old)
		if s.typed["has."+table] == yes || !optionalTable(table) && (len(into) > 0 || table == "neck") {
			all[table] = into
		}
	}
	return all
}

// fill puts the keys and lists of a table into its values; old are those that it began with.
func (s *sheet) fill(into map[string]any, at string, old map[string]any) {
	table := pathOf(at)
	for _, of := range slots {
		if of.table == table {
			s.value(into, at, &of, old)
		}
	}
	for path := range lists {
		name := strings.TrimPrefix(path, table+".")
		if joined(table, name) != path || strings.Contains(name, ".") {
			continue
		}
		if rows := s.listOf(joined(at, name), old[name]); rows != nil {
			into[name] = rows
		}
	}
}

// listOf are the values of a list's rows; nil where it is left out.
func (s *sheet) listOf(field string, old any) []any {
	if len(s.meant(field)) == 0 {
		if none, empty := old.([]any); empty && len(none) == 0 {
			return none
		}
		return nil
	}
	var rows []any
	for _, id := range s.meant(field) {
		row := map[string]any{}
		s.fill(row, field+"."+id, rowOf(old, id))
		rows = append(rows, row)
	}
	return rows
}

// tables are the tables at the file's top, without lists.
func (s *sheet) tables() []string {
	var names []string
	for _, of := range slots {
		if top, _, _ := strings.Cut(of.table, "."); top != "" && !lists[top] && !slices.Contains(names, top) {
			names = append(names, top)
		}
	}
	return names
}

// optionalTable says that a table is there or not as the form's box for it says.
func optionalTable(table string) bool {
	return slices.ContainsFunc(sections, func(sec section) bool { return sec.has == table })
}

// meant are the rows of a list that are looked at: while the form is filled in, not those that nobody has begun.
func (s *sheet) meant(field string) []string {
	return slices.DeleteFunc(slices.Clone(s.rows[field]), func(id string) bool {
		if s.final {
			return false
		}
		for name, typed := range s.typed {
			if typed != "" && strings.HasPrefix(name, field+"."+id+".") {
				return false
			}
		}
		return true
	})
}

// rowOf are the values of a row that was there at the beginning, nil for a new one.
func rowOf(rows any, id string) map[string]any {
	list, _ := rows.([]any)
	if i, err := strconv.Atoi(id); err == nil && i >= 1 && i <= len(list) {
		return list[i-1].(map[string]any)
	}
	return nil
}

// value puts one key's value into its table, nothing where it is left out.
func (s *sheet) value(into map[string]any, at string, of *slot, old map[string]any) {
	name := strings.TrimPrefix(strings.TrimPrefix(of.path, of.table), ".")
	field := joined(at, name)
	if !s.applies(field) {
		return
	}
	length := of.length
	if in, bound := s.boundUnit(field); bound {
		name += "_" + in
		length = in == "mm"
	}
	typed := s.typed[field]
	if v, there := old[name]; there && typed == s.asOpened().typed[field] {
		into[name] = v
		return
	}
	v, there, err := s.parse(of, typed, length)
	if err != nil {
		s.faults[field] = err.Error()
	} else if there {
		into[name] = v
	}
}

// boundUnit is the unit of a limit's bound: that of its row's characteristic.
func (s *sheet) boundUnit(field string) (in string, bound bool) {
	row, name := field[:max(strings.LastIndex(field, "."), 0)], field[strings.LastIndex(field, ".")+1:]
	if pathOf(row) != "limit" || name != "lower" && name != "target" && name != "upper" {
		return "", false
	}
	if in = inspect.KindOf(s.typed[row+".characteristic"]).Unit; in == "" {
		in = "mm"
	}
	return in, true
}

// applies says whether a field of a limit belongs to its characteristic: what does not is kept and not in the file. A bound needs a
// characteristic to have a unit.
func (s *sheet) applies(field string) bool {
	row, name := field[:max(strings.LastIndex(field, "."), 0)], field[strings.LastIndex(field, ".")+1:]
	if pathOf(row) != "limit" {
		return true
	}
	k := inspect.KindOf(s.typed[row+".characteristic"])
	switch name {
	case "track":
		return k.Track
	case "string":
		return k.String
	case "fret":
		return k.Fret
	case "held_fret":
		return k.HeldFret
	case "lower", "target", "upper":
		return k.Limited
	}
	return true
}

// written is the file of what is typed: the one that it began from, with what changed. kept says that its remarks are still there.
func (s *sheet) written() (text string, kept bool) {
	out, kept := files.Rewrite([]byte(s.text), s.spec)
	return string(out), kept
}

// shown is what is typed, or, while something of it is wrong, what it began from.
func (s *sheet) shown() *inspect.Spec {
	if s.spec != nil {
		return s.spec
	}
	return s.base
}

// addRow puts an empty row at the end of a list, or a copy of another, and returns its field.
func (s *sheet) addRow(list, like string) string {
	most := 0
	for field := range s.typed {
		if rest, in := strings.CutPrefix(field, list+"."); in {
			id, _, _ := strings.Cut(rest, ".")
			n, _ := strconv.Atoi(id)
			most = max(most, n)
		}
	}
	most = max(most, len(s.asOpened().rows[list])) // ids of rows that the list began with are not given again
	id := strconv.Itoa(most + 1)
	s.rows[list] = append(s.rows[list], id)
	row := list + "." + id
	for field, v := range maps.Clone(s.typed) {
		if name, in := strings.CutPrefix(field, like+"."); like != "" && in {
			s.typed[row+"."+name] = v
		}
	}
	return row
}

// removeRow takes a row out, by its field.
func (s *sheet) removeRow(row string) {
	list, id := row[:max(strings.LastIndex(row, "."), 0)], row[strings.LastIndex(row, ".")+1:]
	s.rows[list] = slices.DeleteFunc(s.rows[list], func(have string) bool { return have == id })
}

// asOpened is what fields and rows held when the sheet was opened.
func (s *sheet) asOpened() *sheet {
	if s.opened == nil {
		s.opened = &sheet{lengths: s.lengths, typed: map[string]string{}, rows: map[string][]string{}}
		s.opened.take("", files.SpecValues(s.base))
	}
	return s.opened
}
