package instruments

import (
	"cmp"
	"net/url"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/batch/instrument"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
)

// How the form sends the fields of an entry, and what was chosen when it was shown.
const (
	fieldPrefix = "e."
	wasPrefix   = "was."
)

// longestWords bounds what a player said, characters.
const longestWords = 2000

// wishForm is the form of a wished set-up: what is said of the instrument and its player, the choices, and the figures that come of them.
type wishForm struct {
	Said    []form.Field // of the instrument and its player
	Besides []form.Field // of them, folded
	Picked  []form.Field // choices that propose the rest
	Neck    []noted
	More    []noted
	Strings []stringRow
	Limits  []limitRow
	Was     choices
	Wishes  string   // what the choices make of the limits, in a sentence
	Kept    string   // what stayed as it was typed
	Left    string   // what no gauge measures
	Hardly  []string // what a gauge measures, and is too coarse for
	Unit    string
	Before  bool // the last visit's values stand beside the limits
	Error   string
	Wrong   []form.Field
}

// noted is a field with where its value is from.
type noted struct {
	form.Field
	Note string
}

type stringRow struct {
	Number int
	Fields []form.Field
}

type limitRow struct {
	Name, Unit, Note string
	Before           string // what the last visit measured
	Fields           []form.Field
}

// sentEntry is the entry that a form sent, and what of it stayed as it was typed where a choice has changed since the form was shown. start
// proposes what choices make.
func sentEntry(sent url.Values, start func(choices) (*entry, error)) (e *entry, kept []string, err error) {
	is, was := choicesIn(sent, ""), choicesIn(sent, wasPrefix)
	if e, err = start(is); err != nil {
		return nil, nil, err
	}
	before := e
	if changed := was != (choices{}) && was != is; changed {
		if before, err = start(was); err != nil {
			return nil, nil, err
		}
	}
	typed := map[string]string{}
	for name, values := range sent {
		if field, is := strings.CutPrefix(name, fieldPrefix); is {
			typed[field] = strings.TrimSpace(values[0])
		}
	}
	kept = e.over(typed, before.proposed)
	if before == e {
		kept = nil
	}
	return e, kept, nil
}

func choicesIn(sent url.Values, prefix string) choices {
	return choices{sent.Get(prefix + "kind"), sent.Get(prefix + "set"), sent.Get(prefix + "tuning"), instrument.Wish(sent.Get(prefix + "action")), instrument.Wish(sent.Get(prefix + "hand"))}
}

// form shows an entry. said and besides are the fields about instrument and player, which the page brings; kinds says whether the kind may be chosen.
func (e *entry) form(said, besides []form.Field, kinds bool, kept []string) wishForm {
	w := wishForm{Said: said, Besides: besides, Was: e.choices, Unit: e.lengths.String(), Error: e.faults[""], Wishes: e.wishes(), Before: len(e.before) > 0}
	if len(kept) > 0 {
		w.Kept = "Kept as you typed it: " + tell.List(kept) + "."
	}
	if kinds {
		fd := form.Field{Name: "kind", Label: "Kind of instrument", Kind: "select", Needed: true}
		for _, t := range instrument.Templates() {
			fd.Options = append(fd.Options, form.Option{Value: t.Name, Label: t.Title + ": " + t.For, On: t.Name == e.Kind})
		}
		w.Picked = append(w.Picked, fd)
	}
	w.Picked = append(w.Picked, picked("set", "Strings", setsFor(e.base), e.Set), picked("tuning", "Tuning", tuningsFor(e.base), e.Tuning),
		wish("action", "Action wanted", e.Action, e.first, instrument.Low, instrument.High),
		wish("hand", "Played", e.Hand, e.first, instrument.Light, instrument.Hard))
	for _, k := range keys {
		if k.applies(e.base) {
			if f := e.field(k); k.first {
				w.Neck = append(w.Neck, f)
			} else {
				w.More = append(w.More, f)
			}
		}
	}
	for _, s := range spans {
		w.More = append(w.More, noted{e.length(s.field, s.label), ""})
	}
	for _, st := range tell.BassToTreble(e.base.Strings) {
		row := stringRow{Number: st.Number}
		for i, label := range []string{"note", "diameter", "mass"} {
			fd := e.length(stringField(st, stringKeys[i]), label)
			if i != 1 {
				fd.Kind, fd.Unit = "text", show.Pick(i == 2, "g/m", "")
			}
			row.Fields = append(row.Fields, fd)
		}
		w.Strings = append(w.Strings, row)
	}
	e.limitRows(&w)
	w.Wrong = e.wrong(&w)
	return w
}

// wishWords are what a choice of wishes is called.
var wishWords = map[instrument.Wish]string{
	instrument.Usual: "as usual", instrument.Low: "low", instrument.High: "high", instrument.Light: "with a light hand", instrument.Hard: "hard, with a pick",
}

// wish is a choice of wishes; first says what no wish is, "" for as usual.
func wish(name, label string, on instrument.Wish, first string, others ...instrument.Wish) form.Field {
	fd := form.Field{Name: name, Label: label, Kind: "select"}
	if first != "" {
		fd.Options = []form.Option{{Label: first, On: on == instrument.AsItIs}}
	}
	for _, w := range append([]instrument.Wish{instrument.Usual}, others...) {
		fd.Options = append(fd.Options, form.Option{Value: string(w), Label: wishWords[w], On: w == on})
	}
	return fd
}

// moves says that a wish is another than what is usual.
func moves(w instrument.Wish) bool { return w != instrument.AsItIs && w != instrument.Usual }

func picked(name, label string, names []string, on string) form.Field {
	fd := form.Field{Name: name, Label: label, Kind: "select"}
	if on == "" {
		fd.Options = []form.Option{{Label: "others, as they stand below", On: true}}
	}
	for _, n := range names {
		fd.Options = append(fd.Options, form.Option{Value: n, Label: n, On: n == on})
	}
	return fd
}

// wishes says what the choices make of the limits.
func (e *entry) wishes() string {
	var said []string
	for _, l := range tell.BassToTreble(e.base.Strings) {
		for _, limit := range e.base.Limits {
			outer := l.Number == 1 || l.Number == len(e.base.Strings)
			if limit.Characteristic == inspect.Action && limit.String.Number == l.Number && outer && bounded(limit) {
				said = append(said, tell.LimitName(limit)+": "+tell.Bounds(limit, e.lengths))
			}
		}
	}
	for _, limit := range e.base.Limits {
		if limit.Characteristic == inspect.Relief && bounded(limit) {
			said = append(said, inspect.Name(inspect.Relief)+": "+tell.Bounds(limit, e.lengths))
			break
		}
	}
	if len(said) == 0 {
		return ""
	}
	return tell.Upper(strings.Join(said, "; ")) + ". " + tell.WishSource(moves(e.Action) || moves(e.Hand), e.first != "")
}

// bounded says that a limit bounds something.
func bounded(l inspect.Limit) bool {
	lower, _, upper := l.Bounds()
	return lower != nil || upper != nil
}

// field is a field of the neck with what was typed.
func (e *entry) field(k key) noted {
	fd := form.Field{Name: fieldPrefix + k.path, Label: k.label, Kind: "number", Allowed: k.allowed, Value: e.typed[k.path], Error: e.faults[k.path]}
	if k.length() {
		fd.Unit = e.lengths.String()
	}
	if k.usual != "" && k.allowed == "" {
		fd.Allowed = "empty: " + k.usual
	}
	if k.choices != nil {
		fd.Kind = "select"
		if k.usual != "" {
			fd.Options = append(fd.Options, form.Option{Label: k.usual, On: fd.Value == ""})
		}
		for _, name := range k.choices {
			words := name
			switch k.path {
			case "neck.rod":
				words = tell.Rod(name)
			case "neck.rod_end":
				words = "at the " + name
			case "routine.repairs":
				words = show.Pick(name == inspect.Myself, "I do this work myself", "goes to a repairer")
			}
			fd.Options = append(fd.Options, form.Option{Value: name, Label: words, On: name == fd.Value})
		}
		return noted{Field: fd} // what may be chosen stands there
	}
	return noted{fd, e.note(k.path, k.path)}
}

// note is where a field's value is from, while it is the one proposed.
func (e *entry) note(field, path string) string {
	if e.typed[field] != e.proposed[field] {
		return "as you typed it"
	}
	return e.notes[path]
}

// length is a field of a length.
func (e *entry) length(field, label string) form.Field {
	return form.Field{Name: fieldPrefix + field, Label: label, Kind: "number", Unit: e.lengths.String(), Value: e.typed[field], Error: e.faults[field]}
}

func (e *entry) limitRows(w *wishForm) {
	for i, l := range e.base.Limits {
		in := inspect.KindOf(l.Characteristic).Unit
		r := limitRow{Name: tell.Upper(tell.LimitName(l)), Unit: tell.Scale{Of: in, In: e.lengths}.Symbol(), Before: e.before[limitField(l)]}
		for _, name := range limitKeys {
			field := limitField(l) + "." + name
			fd := e.length(field, name)
			fd.Unit = r.Unit
			r.Fields = append(r.Fields, fd)
			if note := e.note(field, row("limit", i+1)+"."+name+"_"+in); e.typed[field] != "" || note == "as you typed it" {
				r.Note = cmp.Or(r.Note, note)
			}
		}
		if wished := l.Characteristic == inspect.Action && moves(e.Action) || l.Characteristic == inspect.Relief && moves(e.Hand); wished && r.Note != "as you typed it" {
			r.Note = "practice, for what is wished"
		}
		w.Limits = append(w.Limits, r)
	}
}

// wrong are the fields that need another look.
func (e *entry) wrong(w *wishForm) (wrong []form.Field) {
	add := func(of string, fields ...form.Field) {
		for _, f := range fields {
			if f.Error != "" {
				f.Label = strings.TrimPrefix(of+", "+tell.Lower(f.Label), ", ")
				wrong = append(wrong, f)
			}
		}
	}
	add("", append(slices.Clone(w.Said), w.Besides...)...)
	for _, f := range append(slices.Clone(w.Neck), w.More...) {
		add("", f.Field)
	}
	for _, r := range w.Strings {
		add(inspect.Place("", r.Number, 0), r.Fields...)
	}
	for _, r := range w.Limits {
		add(tell.Lower(r.Name), r.Fields...)
	}
	return wrong
}

// MoreOpen, StringsOpen and LimitsOpen say that something in a folded part is wrong.
func (w wishForm) MoreOpen() bool {
	return wrongIn(w.Besides) || slices.ContainsFunc(w.More, func(f noted) bool { return f.Error != "" })
}
func (w wishForm) StringsOpen() bool {
	return slices.ContainsFunc(w.Strings, func(r stringRow) bool { return wrongIn(r.Fields) })
}
func (w wishForm) LimitsOpen() bool {
	return slices.ContainsFunc(w.Limits, func(r limitRow) bool { return wrongIn(r.Fields) })
}

func wrongIn(fields []form.Field) bool {
	return slices.ContainsFunc(fields, func(f form.Field) bool { return f.Error != "" })
}

// fitted is a specification's routine fitted to the gauges; in sentences, what of its limits is left out, and what of them the gauges can tell.
func fitted(spec *inspect.Spec, gauges []batch.Gauge, lengths unit.Unit) (left string, hardly []string) {
	out, coarse, had := show.FitWished(spec, gauges)
	if len(out) > 0 {
		left = "Not asked for, because no gauge of yours measures it well enough: " + strings.Join(show.LeftOut(out, had), ", ") + "."
	}
	with := map[*batch.Gauge][]inspect.Limit{}
	for _, i := range slices.Backward(coarse) { // bass to treble
		g := show.Finest(had[i], gauges)
		with[g] = append(with[g], had[i])
	}
	for i := range gauges {
		if of := with[&gauges[i]]; len(of) > 0 {
			hardly = append(hardly, tell.HardlyTold(gauges[i].Name, gauges[i].U(), of, lengths))
		}
	}
	return left, hardly
}
