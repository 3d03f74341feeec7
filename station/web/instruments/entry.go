package instruments

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"sagitta/batch"
	"sagitta/batch/files"
	"sagitta/batch/instrument"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/show"
)

// choices are what a person picks first, and what all else has its default from.
type choices struct {
	Kind        string // a template's name
	Set, Tuning string // of the library; "" for those that are there
	Action      instrument.Wish
	Hand        instrument.Wish
}

// entry is a wished set-up while it is filled in: its choices, what they propose, and what was typed over it, field by field.
type entry struct {
	choices
	lengths  unit.Unit
	first    string            // what no wish is called, "" where all is as usual
	notes    map[string]string // where its figures are from, by path
	base     *inspect.Spec     // what the choices propose
	proposed map[string]string // that, by field
	typed    map[string]string
	faults   map[string]string
	before   map[string]string // what the last visit measured, by limit's field
}

// begin proposes what choices make of a template. Of a set or a tuning that the kind has not it takes its usual one.
func begin(ch choices, lengths unit.Unit) (*entry, error) {
	i := slices.IndexFunc(instrument.Templates(), func(t instrument.Template) bool { return t.Name == ch.Kind })
	if i < 0 {
		return nil, batch.Mendable.Errorf("%q is no kind of instrument that is offered", ch.Kind)
	}
	t := instrument.Templates()[i]
	spec, err := files.ReadSpec(t.Name+".toml", []byte(t.Text))
	if err != nil {
		return nil, err
	}
	instrument.Wished(spec, ch.Action, ch.Hand)
	return propose(ch, spec, t.Notes, lengths)
}

// propose strings a specification with the set and the tuning chosen.
func propose(ch choices, spec *inspect.Spec, notes map[string]string, lengths unit.Unit) (*entry, error) {
	e := &entry{choices: ch, lengths: lengths, notes: notes, base: spec, faults: map[string]string{}}
	set, tuning := instrument.Strung(spec.Strings)
	sets, tunings := setsFor(spec), tuningsFor(spec)
	if !slices.Contains(sets, e.Set) {
		e.Set = set
	}
	if !slices.Contains(tunings, e.Tuning) {
		e.Tuning = tuning
	}
	if e.Set != set || e.Tuning != tuning {
		if err := restring(spec, e.Set, e.Tuning); err != nil {
			return nil, err
		}
	}
	if spec.Datum.SecondFret == spec.Neck.JointFret {
		spec.Datum.SecondFret = 0 // it goes with the joint
	}
	if spec.Routine != nil && spec.Routine.Repairs == "" {
		spec.Routine.Repairs = inspect.Myself // whoever sets up single instruments does
	}
	e.proposed = fieldsOf(spec, lengths)
	e.typed = fieldsOf(spec, lengths)
	return e, nil
}

// setsFor are the names of the sets that a neck can be strung with, tuningsFor those of the tunings.
func setsFor(spec *inspect.Spec) (names []string) {
	for _, s := range instrument.Sets() {
		if len(s.Gauge) == len(spec.Strings) && s.Kind == spec.Neck.Kind {
			names = append(names, s.Name)
		}
	}
	return names
}

func tuningsFor(spec *inspect.Spec) (names []string) {
	for _, t := range instrument.Tunings(len(spec.Strings)) {
		names = append(names, t.Name)
	}
	return names
}

// restring gives a specification the strings of a set in a tuning, at the places of its own; what is "" stays as it is.
func restring(spec *inspect.Spec, set, tuning string) error {
	for _, s := range instrument.Sets() {
		if s.Name != set {
			continue
		}
		for i := range spec.Strings {
			st, g := &spec.Strings[i], s.Gauge[spec.Strings[i].Number-1]
			st.DiameterMM, st.PlainString, st.MassGPerM, st.Material = g.DiameterMM, g.Plain, g.MassGPerM, ""
			if g.MassGPerM != nil {
				st.Material = inspect.Nylon
			}
		}
	}
	for _, t := range instrument.Tunings(len(spec.Strings)) {
		if t.Name != tuning {
			continue
		}
		for i := range spec.Strings {
			note := t.Notes[spec.Strings[i].Number-1]
			if err := tuned(&spec.Strings[i], note); err != nil {
				return err
			}
		}
	}
	return nil
}

func tuned(st *inspect.String, note string) error {
	hz, err := instrument.Hz(note)
	st.Name, st.PitchHz = note, math.Round(hz*10000)/10000
	return err
}

// fieldsOf are a specification's values as the form shows them.
func fieldsOf(spec *inspect.Spec, lengths unit.Unit) map[string]string {
	fields, values := map[string]string{}, files.SpecValues(spec)
	write := func(v any, length bool) string {
		f, number := v.(float64)
		switch {
		case v == nil:
			return ""
		case number && length:
			return show.ExactNumber(f, lengths)
		case number:
			return show.Plain(f)
		}
		return fmt.Sprint(v)
	}
	for _, k := range keys {
		if k.applies(spec) {
			fields[k.path] = write(at(values, k.path), k.length())
			if k.usual != "" && fields[k.path] == "0" && k.whole {
				fields[k.path] = ""
			}
		}
	}
	for i, st := range spec.Strings {
		for _, name := range stringKeys {
			fields[stringField(st, name)] = write(at(values, row("string", i+1)+"."+name), strings.HasSuffix(name, "_mm"))
		}
	}
	for _, s := range spans {
		fields[s.field] = show.ExactNumber(spanOf(spec, s.of), lengths)
	}
	for i, l := range spec.Limits {
		in := inspect.KindOf(l.Characteristic).Unit
		for _, name := range limitKeys {
			fields[limitField(l)+"."+name] = write(at(values, row("limit", i+1)+"."+name+"_"+in), in == "mm")
		}
	}
	return fields
}

func stringField(st inspect.String, name string) string {
	return "string." + strconv.Itoa(st.Number) + "." + name
}

// spanOf is how far the outermost strings stand apart, mm.
func spanOf(spec *inspect.Spec, of string) float64 {
	var ys []float64
	for _, st := range spec.Strings {
		y := st.YNutMM
		if of == "y_saddle_mm" {
			y = st.YSaddleMM
		}
		ys = append(ys, y)
	}
	if len(ys) == 0 {
		return 0
	}
	return math.Round((slices.Max(ys)-slices.Min(ys))*1e6) / 1e6
}

// over takes over what a person typed over what another choice had proposed, and names it; the rest is what this one proposes.
func (e *entry) over(typed, was map[string]string) (kept []string) {
	for field := range e.proposed {
		text, there := typed[field]
		if proposed, before := was[field]; !there || before && text == proposed {
			continue
		}
		if e.typed[field] = text; text != e.proposed[field] {
			kept = append(kept, e.label(field))
		}
	}
	slices.Sort(kept)
	return slices.Compact(kept)
}

// label names a field for people.
func (e *entry) label(field string) string {
	for _, k := range keys {
		if k.path == field {
			return tell.Lower(k.label)
		}
	}
	for _, s := range spans {
		if s.field == field {
			return tell.Lower(s.label)
		}
	}
	for _, l := range e.base.Limits {
		if strings.HasPrefix(field, limitField(l)+".") {
			return tell.LimitName(l)
		}
	}
	return strings.Join(strings.Split(field, ".")[:2], " ")
}

// spec is the specification that is typed; nil where something of it is wrong, which the fields then say.
func (e *entry) spec() *inspect.Spec {
	e.faults = map[string]string{}
	spec := *e.base
	spec.Strings, spec.Limits = slices.Clone(e.base.Strings), slices.DeleteFunc(slices.Clone(e.base.Limits), e.unlimited)
	e.stretch(&spec)
	values := files.SpecValues(&spec)
	paths := map[string]string{} // of the file, to the field
	set := func(field, path string, v any, err error) {
		paths[path] = field
		if err != nil {
			e.faults[field] = tell.Sentence(err)
		} else if e.typed[field] != e.proposed[field] {
			put(values, path, v)
		}
	}
	for _, k := range keys {
		if k.applies(e.base) {
			v, err := e.value(e.typed[k.path], k)
			set(k.path, k.path, v, err)
		}
	}
	for i, st := range spec.Strings {
		e.string(i, st, set)
	}
	for i, l := range spec.Limits {
		in := inspect.KindOf(l.Characteristic).Unit
		for _, name := range limitKeys {
			field := limitField(l) + "." + name
			v, err := e.value(e.typed[field], key{path: name + "_" + in, usual: "none"})
			set(field, row("limit", i+1)+"."+name+"_"+in, v, err)
		}
	}
	made, err := files.SpecOf(values)
	e.blame(err, paths)
	if len(e.faults) > 0 {
		return nil
	}
	return made
}

// stretch brings the strings as far apart as is typed.
func (e *entry) stretch(spec *inspect.Spec) {
	for _, s := range spans {
		text := e.typed[s.field]
		if text == e.proposed[s.field] {
			continue
		}
		mm, err := show.ParseLength(text, e.lengths)
		was := spanOf(e.base, s.of)
		if err != nil || mm <= 0 || mm > 400 || was == 0 {
			e.faults[s.field] = fmt.Sprintf("%q is not how far apart strings stand.", text)
			continue
		}
		for i := range spec.Strings {
			y := &spec.Strings[i].YNutMM
			if s.of == "y_saddle_mm" {
				y = &spec.Strings[i].YSaddleMM
			}
			*y = math.Round(*y*mm/was*1000) / 1000
		}
	}
}

// string reads the fields of one string.
func (e *entry) string(i int, st inspect.String, set func(field, path string, v any, err error)) {
	for _, name := range stringKeys {
		field, path := stringField(st, name), row("string", i+1)+"."+name
		if name != "name" {
			v, err := e.value(e.typed[field], key{path: name, usual: show.Pick(name == "mass_g_per_m", "estimated", "")})
			set(field, path, v, err)
			continue
		}
		note := e.typed[field]
		set(field, path, note, nil)
		if note != e.proposed[field] {
			err := tuned(&st, note)
			set(field, row("string", i+1)+".pitch_hz", st.PitchHz, err)
		}
	}
}

// value reads what is typed for a key; nil where it is left out.
func (e *entry) value(text string, k key) (any, error) {
	text = strings.TrimSpace(text)
	switch {
	case text == "" && k.usual != "":
		return nil, nil
	case k.choices != nil:
		if !slices.Contains(k.choices, text) {
			return nil, fmt.Errorf("%q is not offered; choose one of the list", text)
		}
		return text, nil
	case text == "":
		return nil, errors.New("nothing is here; give it")
	case k.whole:
		n, err := strconv.ParseInt(text, 10, 64)
		if err != nil {
			return nil, fmt.Errorf("%q is not a whole number", text)
		}
		return n, nil
	case k.length():
		mm, err := show.ParseLength(text, e.lengths)
		if err != nil {
			return nil, fmt.Errorf("%q is not a length, as in 0.25 or 7/64 in", text)
		}
		return mm, nil
	}
	v, err := show.ParseNumber(text)
	if err != nil {
		return nil, fmt.Errorf("%q is not a number", text)
	}
	return v, nil
}

// unlimited says that all bounds of a limit were emptied: what it bounds is measured and not judged.
func (e *entry) unlimited(l inspect.Limit) bool {
	return !slices.ContainsFunc(limitKeys, func(name string) bool { return strings.TrimSpace(e.typed[limitField(l)+"."+name]) != "" })
}

// blame puts what is wrong with a specification beside its fields; what has none is told of the whole.
func (e *entry) blame(err error, paths map[string]string) {
	if err == nil {
		return
	}
	all := []error{err}
	if list, several := err.(interface{ Unwrap() []error }); several {
		all = list.Unwrap()
	}
	for _, one := range all {
		var fault batch.FileError
		if !errors.As(one, &fault) {
			e.faults[""] = tell.Sentence(one)
			continue
		}
		field, known := paths[fault.Field]
		words := tell.Upper(strings.TrimRight(fault.Words(), ".")) + "."
		if !known {
			words = fault.Field + ": " + words
		}
		if _, told := e.faults[field]; !told {
			e.faults[field] = words
		}
	}
}
