package instruments

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/batch/files"
	"sagitta/batch/instrument"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// longestSetName bounds the name of a set of strings, characters.
const longestSetName = 100

// strungForm asks which strings an instrument was given since it was measured as spec says, and when.
func (s *server) strungForm(c *site.Request, spec *inspect.Spec) (*form.Form, error) {
	by, err := c.ByField(batch.Measure)
	set := form.Field{Name: "set", Label: "Set", Kind: "select"}
	for _, name := range setsFor(spec) {
		set.Options = append(set.Options, form.Option{Value: name, Label: name})
	}
	set.Options = append(set.Options, form.Option{Label: "another one, as follows"})
	n, hint := len(spec.Strings), "of another set, with blanks between them; w: wound, as in 0.25 0.33 0.66w"
	if slices.ContainsFunc(spec.Strings, weighed) {
		hint = "of another set, with blanks between them, each with its mass in g/m; w: wound, as in 0.71:0.42 0.75w:1.9"
	}
	f := &form.Form{Groups: []form.Group{{Fields: []form.Field{set,
		{Name: "name", Label: "Name", Kind: "text", Allowed: "of another set"},
		{Name: "diameters", Label: fmt.Sprintf("Diameters, string 1 to %d", n), Kind: "area", Rows: 1, Allowed: hint, Unit: c.Unit().String()},
		{Name: "fitted", Label: "Fitted", Kind: "date", Value: string(batch.DayOf(s.opt.Now())), Needed: true}, by}}}}
	return f.Apart("strings"), err
}

// weighed says that a string's mass is not told by its diameter: nylon.
func weighed(st inspect.String) bool { return st.MassGPerM != nil }

// lastSpec is what an instrument was last measured by, nil before that.
func lastSpec(visits []batch.Visit) *inspect.Spec {
	if len(visits) == 0 {
		return nil
	}
	return visits[len(visits)-1].Batch.Spec.Spec
}

// takeStrings keeps which strings an instrument was given.
func (s *server) takeStrings(c *site.Request) error {
	ctx, serial := c.Request.Context(), c.Param("serial")
	visits, err := s.opt.Record.Visits(ctx, serial)
	if err != nil {
		return err
	}
	spec := lastSpec(visits)
	if spec == nil {
		return batch.Conflict.Errorf("%s has not been here yet: its strings are entered with its first visit", batch.Shown(serial))
	}
	f, err := s.strungForm(c, spec)
	if err != nil {
		return err
	}
	f.Fill(c)
	set, by := typedStrings(f, spec, c.Unit()), f.Choice("by")
	set.Serial, set.Fitted = serial, s.fitted(f)
	if f.Ok() {
		if err := s.opt.Record.FitStrings(ctx, by, set); err != nil {
			f.Refuse(err)
		}
	}
	if !f.Ok() {
		return s.show(c, c.Refused(f), refused{strings: f})
	}
	return c.To(site.InstrumentPath(serial) + "#strings")
}

// fitted reads the day on which strings were put on: not one to come.
func (s *server) fitted(f *form.Form) batch.Day {
	fd, today := f.Field("fitted"), batch.DayOf(s.opt.Now())
	day, err := batch.ParseDay(fd.Value)
	switch {
	case err != nil:
		fd.Fail("%s", tell.Sentence(err))
	case day > today:
		fd.Fail("%s is to come. Give the day on which they were put on, at the latest today, %s.", day, today)
	}
	return day
}

// typedStrings reads a set: one of the library's, or another with its name and its strings' diameters; pitches and places stay.
func typedStrings(f *form.Form, spec *inspect.Spec, lengths unit.Unit) batch.StringSet {
	chosen, name, typed := f.Choice("set"), f.Text("name", longestSetName), f.Text("diameters", longestWords)
	if i := slices.IndexFunc(instrument.Sets(), func(s instrument.Set) bool { return s.Name == chosen }); i >= 0 {
		for _, of := range []string{"name", "diameters"} {
			if fd := f.Field(of); fd.Value != "" {
				fd.Fail("This is of another set, and %s is chosen. Leave this empty, or choose another set.", chosen)
			}
		}
		on, _ := instrument.Restrung(instrument.Sets()[i], spec.Strings)
		return batch.StringSet{Name: chosen, Strings: on}
	}
	if name == "" {
		f.Field("name").Fail("Nothing is here. Give the set's name.")
	}
	on, err := strungWith(spec, strings.Fields(typed), lengths)
	if err != nil {
		f.Field("diameters").Fail("%s", tell.Sentence(err))
	}
	return batch.StringSet{Name: name, Strings: on}
}

// strungWith are a specification's strings with other diameters, string 1 first; one that ends in w is wound, and after a colon comes its mass, g/m.
// The specification's reader bounds them.
func strungWith(spec *inspect.Spec, diameters []string, lengths unit.Unit) ([]inspect.String, error) {
	if len(diameters) != len(spec.Strings) {
		return nil, batch.Mendable.Errorf("found %s; it has %s", tell.Count(len(diameters), "diameter"), tell.Count(len(spec.Strings), "string"))
	}
	other := *spec
	other.Strings = slices.Clone(spec.Strings)
	for i := range other.Strings {
		st := &other.Strings[i]
		text := diameters[st.Number-1]
		diameter, mass, masses := strings.Cut(text, ":")
		bare := strings.TrimRight(diameter, "wW")
		mm, err := show.ParseLength(bare, lengths)
		if err != nil {
			return nil, batch.Mendable.Errorf("%q is not a diameter, as in 0.25 or .046w", batch.Shown(text))
		}
		st.DiameterMM, st.PlainString, st.MassGPerM = mm, bare == diameter, nil
		if masses {
			g, err := show.ParseNumber(mass)
			if err != nil {
				return nil, batch.Mendable.Errorf("%q does not end in a mass in g/m, as in 0.71:0.42", batch.Shown(text))
			}
			st.MassGPerM = &g
		}
	}
	if _, err := files.SpecOf(files.SpecValues(&other)); err != nil {
		return nil, ofString(err, other.Strings)
	}
	return other.Strings, nil
}

// strungNow is what an instrument was last measured by, with the strings that it has now.
func (s *server) strungNow(ctx context.Context, serial string, last *inspect.Spec) (*inspect.Spec, error) {
	sets, err := s.opt.Record.StringSets(ctx, serial)
	if err != nil || len(sets) == 0 || len(sets[len(sets)-1].Strings) != len(last.Strings) {
		return last, err
	}
	now, on := *last, sets[len(sets)-1].Strings
	now.Strings = slices.Clone(last.Strings)
	for i := range now.Strings {
		st := &now.Strings[i]
		st.DiameterMM, st.PlainString, st.MassGPerM, st.Material = on[i].DiameterMM, on[i].PlainString, on[i].MassGPerM, on[i].Material
	}
	return &now, nil
}

// ofString is what is wrong first with one of the strings of a specification, by its number.
func ofString(err error, all []inspect.String) error {
	var fault batch.FileError
	n := 0
	if errors.As(err, &fault) {
		_, _ = fmt.Sscanf(fault.Field, "string[%d].", &n)
	}
	if n < 1 || n > len(all) {
		return err
	}
	return batch.Mendable.Errorf("string %d: %s", all[n-1].Number, fault.Words())
}
