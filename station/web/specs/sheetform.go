package specs

import (
	"cmp"
	"html/template"
	"net/url"
	"regexp"
	"slices"
	"strings"

	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
)

// What a sheet's form sends: its fields after fieldPrefix, the ids of each list's rows, and the text that it began from.
const (
	fieldPrefix = "spec."
	rowsPrefix  = "rows."
	mostRows    = 1700 // of a list: more than a file's keys can make
	fewRows     = 8    // of limits are unfolded at first
)

// rowID is what a row may be called.
var rowID = regexp.MustCompile(`^[1-9][0-9]{0,4}$`)

// sentSheet is the sheet that a form sent.
func sentSheet(sent url.Values, lengths unit.Unit) (*sheet, error) {
	s, err := openSheet(strings.ReplaceAll(sent.Get("text"), "\r\n", "\n"), lengths)
	if err != nil {
		return nil, err
	}
	if sent.Get("whole") == "" {
		return s, nil // the text alone was sent
	}
	s.typed, s.rows = map[string]string{}, map[string][]string{}
	for name, values := range sent {
		if list, is := strings.CutPrefix(name, rowsPrefix); is && lists[list] {
			s.rows[list] = slices.DeleteFunc(values[:min(len(values), mostRows)], func(id string) bool { return !rowID.MatchString(id) })
		}
		field, is := strings.CutPrefix(name, fieldPrefix)
		if !is {
			continue
		}
		if of := byPath[pathOf(field)]; of != nil && of.boxes() {
			s.typed[field] = ticked(values)
			continue
		}
		s.typed[field] = strings.TrimSpace(values[0])
	}
	s.read()
	return s, nil
}

// ticked are the boxes of a list: with as usual among them it is left out.
func ticked(values []string) string {
	if slices.Contains(values, asUsual) {
		return asUsual
	}
	return strings.Join(values, "\n")
}

// sheetSection is a part of the form with what was typed.
type sheetSection struct {
	section
	Summary string
	Open    bool
	Has     *form.Field // whether its table is there
	Fields  []sheetField
	Lists   []sheetList
	Figures []template.HTML
	Fault   string
	Wrong   []form.Field
}

// sheetField is a field with what it means.
type sheetField struct {
	form.Field
	About string
	Note  string // where its value is from, while it is the template's
	Shown bool   // false: it does not apply, and keeps what was typed
}

// sheetList are the rows of a list.
type sheetList struct {
	Path  string
	One   string // what a row is
	Rows  []sheetRow
	Fault string
}

// sheetRow is one entry of a list.
type sheetRow struct {
	ID, Field string
	Title     string
	Fields    []sheetField
	Figure    template.HTML
	Fault     string
}

// rowWords say what a list's row is.
var rowWords = map[string]string{"string": "string", "track": "track", "plan.reason": "reason", "limit": "limit"}

// form lists the sections with their fields. opened is the section that was worked in; at first it is the neck of a new specification, or the
// limits, which are changed most.
func (s *sheet) form(opened string, notes map[string]string) []sheetSection {
	var all []sheetSection
	first := show.Pick(notes != nil || len(s.rows["limit"]) > fewRows, "neck", "limit")
	for _, sec := range sections {
		v := sheetSection{section: sec, Open: sec.ID == cmp.Or(opened, first), Summary: s.summary(sec.ID)}
		if sec.has != "" {
			v.Has = &form.Field{Name: fieldPrefix + "has." + sec.has, Kind: "check", Label: sec.Title, Options: []form.Option{{Value: yes, Label: "in the specification", On: s.typed["has."+sec.has] == yes}}}
		}
		for _, path := range sec.paths {
			if lists[path] {
				v.Lists = append(v.Lists, s.list(path, notes))
				v.Fault = cmp.Or(v.Fault, s.faults[path])
				continue
			}
			for _, k := range inTable[path] {
				v.Fields = append(v.Fields, s.field(k, k.path, notes))
			}
			v.Fault = cmp.Or(v.Fault, show.Pick(path == "", "", s.faults[path]))
		}
		v.Wrong = v.wrong()
		v.Open = v.Open || len(v.Wrong) > 0
		for _, name := range sec.figures {
			v.Figures = append(v.Figures, s.figure(name))
		}
		all = append(all, v)
	}
	return all
}

// wrong are the fields and rows of the section that need another look; of a row and of the section as a whole the place alone.
func (v *sheetSection) wrong() []form.Field {
	var wrong []form.Field
	if v.Fault != "" {
		wrong = append(wrong, form.Field{Name: fieldPrefix + v.ID, Label: v.Title})
	}
	add := func(fields []sheetField, of string) {
		for _, f := range fields {
			if f.Error != "" && f.Shown {
				f.Label = strings.TrimPrefix(of+", "+tell.Lower(f.Label), ", ")
				wrong = append(wrong, f.Field)
			}
		}
	}
	add(v.Fields, "")
	for _, l := range v.Lists {
		for _, r := range l.Rows {
			if r.Fault != "" {
				wrong = append(wrong, form.Field{Name: fieldPrefix + r.Field, Label: r.Title})
			}
			add(r.Fields, r.Title)
		}
	}
	return wrong
}

func (s *sheet) list(path string, notes map[string]string) sheetList {
	l := sheetList{Path: path, One: cmp.Or(rowWords[path], path)}
	for i, id := range s.rows[path] {
		row := sheetRow{ID: id, Field: path + "." + id, Fault: s.faults[path+"."+id]}
		row.Title = s.rowTitle(path, row.Field)
		for _, k := range inTable[path] {
			f := s.field(k, row.Field+strings.TrimPrefix(k.path, path), notes)
			if i > 0 { // what is allowed stands in the first row
				f.Allowed, f.About = "", ""
			}
			row.Fields = append(row.Fields, f)
		}
		if path == "limit" {
			row.Figure = s.figure(s.typed[row.Field+".characteristic"])
		}
		l.Rows = append(l.Rows, row)
	}
	return l
}

// rowTitle names a row by what is typed in it.
func (s *sheet) rowTitle(path, row string) string {
	switch path {
	case "limit":
		if name := s.typed[row+".characteristic"]; name != "" {
			return tell.Upper(inspect.Name(name))
		}
	case "string":
		return strings.TrimSpace("String " + s.typed[row+".number"])
	case "track":
		return strings.TrimSpace("Track " + s.typed[row+".name"])
	}
	return "New " + cmp.Or(rowWords[path], path)
}

// field is one field with what was typed.
func (s *sheet) field(k key, name string, notes map[string]string) sheetField {
	of := byPath[k.path]
	f := sheetField{Field: form.Field{Name: fieldPrefix + name, Label: k.label, Kind: "text", Unit: k.unit, Allowed: k.allowed, Value: s.typed[name], Error: s.faults[name]},
		About: k.about, Shown: s.applies(name)}
	if k.unit == "mm" {
		f.Unit = s.lengths.String()
	}
	if in, bound := s.boundUnit(name); bound {
		f.Unit, f.Kind = tell.Scale{Of: in, In: s.lengths}.Symbol(), "number"
	}
	if f.Allowed == "" && k.high > k.low {
		f.Allowed = show.Plain(k.low) + " to " + show.Plain(k.high)
		if of.length {
			f.Allowed = show.ExactNumber(k.low, s.lengths) + " to " + show.ExactNumber(k.high, s.lengths)
		}
	}
	if k.high > k.low {
		f.Kind = "number"
	}
	s.offer(&f, k, of, name)
	if f.Kind == "select" || f.Kind == "check" {
		f.Set(strings.Split(s.typed[name], "\n")...)
	}
	if note := notes[s.filePath(name)]; note != "" && s.typed[name] == s.asOpened().typed[name] {
		f.Note = note
	}
	return f
}

// offer gives a field its choices.
func (s *sheet) offer(f *sheetField, k key, of *slot, name string) {
	limited := s.limited()
	switch {
	case k.path == "limit.characteristic" || k.path == "plan.reason.characteristic":
		f.Kind, f.Options = "select", []form.Option{{Label: "choose"}}
		for _, n := range inspect.CharacteristicNames() {
			if k.path == "limit.characteristic" || slices.Contains(limited, n) || n == s.typed[name] {
				f.Options = append(f.Options, form.Option{Value: n, Label: inspect.Name(n)})
			}
		}
	case k.path == "limit.track":
		f.Kind, f.Options = "select", []form.Option{{Label: "choose"}, {Value: "each", Label: "each"}}
		f.Options = append(f.Options, plainOptions(s.tracks())...)
	case k.path == "routine.tracks":
		f.Kind, f.Options = "check", append([]form.Option{{Value: asUsual, Label: asUsual}}, plainOptions(firstOf(s.typed[name], s.tracks()))...)
	case k.path == "alarms.characteristics":
		f.Kind, f.Options = "check", []form.Option{{Value: asUsual, Label: asUsual}}
		for _, n := range firstOf(s.typed[name], limited) {
			f.Options = append(f.Options, form.Option{Value: n, Label: inspect.Name(n)})
		}
	case of.box():
		f.Kind, f.Options = "check", []form.Option{{Value: yes, Label: k.besideBox()}}
	case len(k.choices) > 0:
		f.Kind, f.Options = "select", s.costs(name, k.options())
	}
	if f.Kind == "select" && !slices.ContainsFunc(f.Options, func(o form.Option) bool { return o.Value == s.typed[name] }) {
		f.Options = append(f.Options, form.Option{Value: s.typed[name], Label: s.typed[name]})
	}
}

// besideBox are the words beside the one box of a truth value.
func (k key) besideBox() string {
	if len(k.choices) > 0 {
		return k.choices[0].words
	}
	return yes
}

func plainOptions(names []string) []form.Option {
	options := make([]form.Option, len(names))
	for i, n := range names {
		options[i] = form.Option{Value: n, Label: n}
	}
	return options
}

// firstOf are the names that are ticked, in their order, and then the others.
func firstOf(typed string, others []string) []string {
	names := strings.FieldsFunc(typed, func(r rune) bool { return r == '\n' })
	names = slices.DeleteFunc(names, func(n string) bool { return n == asUsual })
	for _, n := range others {
		if !slices.Contains(names, n) {
			names = append(names, n)
		}
	}
	return names
}

// tracks are the names that a limit and the routine may use.
func (s *sheet) tracks() []string {
	names := []string{"bass", "centre", "treble"}
	for _, id := range s.rows["track"] {
		if name := s.typed["track."+id+".name"]; name != "" && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}

// limited are the characteristics that have a limit in the form.
func (s *sheet) limited() []string {
	var names []string
	for _, id := range s.rows["limit"] {
		if name := s.typed["limit."+id+".characteristic"]; name != "" && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}

// filePath is a field's place as the file that the sheet began from has it: "limit[3].upper_mm".
func (s *sheet) filePath(field string) string {
	var path, at string
	for word := range strings.SplitSeq(field, ".") {
		if rowID.MatchString(word) && lists[pathOf(at)] {
			path += "[" + word + "]"
		} else {
			path = joined(path, word)
		}
		at = joined(at, word)
	}
	if in, bound := s.boundUnit(field); bound {
		path += "_" + in
	}
	return path
}
