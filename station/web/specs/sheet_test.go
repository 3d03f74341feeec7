package specs

import (
	"math"
	"math/rand/v2"
	"net/url"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"testing"

	"sagitta/batch/files"
	"sagitta/batch/files/filestest"
	"sagitta/batch/instrument"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// Every key that the reader of specifications knows has a field with words of its own in a section of the form, and no field is of
// a key that it does not know.
func TestEveryKeyHasAField(t *testing.T) {
	shown := map[string]bool{}
	for _, sec := range sections {
		for _, path := range sec.paths {
			for _, k := range inTable[path] {
				shown[k.path] = true
			}
		}
	}
	for _, of := range slots {
		has := slices.ContainsFunc(keys, func(k key) bool { return k.path == of.path && k.label != "" })
		if !has {
			t.Errorf("%s has no entry in the list of keys", of.path)
		}
		if !shown[of.path] {
			t.Errorf("%s is in no section", of.path)
		}
	}
	for i, k := range keys {
		if byPath[k.path] == nil {
			t.Errorf("%s: the reader knows no such key", k.path)
		}
		if slices.ContainsFunc(keys[:i], func(o key) bool { return o.path == k.path }) {
			t.Errorf("%s stands twice in the list", k.path)
		}
	}
}

// sent is what a browser sends of a form: every field that it was given, boxes only where ticked.
func sent(s *sheet) url.Values {
	form := url.Values{"text": {s.text}, "whole": {yes}}
	add := func(f sheetField) {
		if f.Kind == "check" {
			for _, o := range f.Options {
				if o.On {
					form.Add(f.Name, o.Value)
				}
			}
			return
		}
		form.Add(f.Name, f.Value)
	}
	for _, sec := range s.form("", nil) {
		if sec.Has != nil {
			add(sheetField{Field: *sec.Has})
		}
		for _, f := range sec.Fields {
			add(f)
		}
		for _, l := range sec.Lists {
			for _, r := range l.Rows {
				form.Add(rowsPrefix+l.Path, r.ID)
				for _, f := range r.Fields {
					add(f)
				}
			}
		}
	}
	return form
}

// wantsSame opens a text as a form, sends the form as it stands and wants the same specification and the same text.
func wantsSame(t *testing.T, text string, lengths unit.Unit) {
	t.Helper()
	want, err := files.ReadSpec("", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	first, err := openSheet(text, lengths)
	if err != nil {
		t.Fatal(err)
	}
	s, err := sentSheet(sent(first), lengths)
	if err != nil {
		t.Fatal(err)
	}
	if len(s.faults) > 0 || !reflect.DeepEqual(s.spec, want) {
		t.Fatalf("%v: faults %v, got %+v\nwant %+v\n%s", lengths, s.faults, s.spec, want, text)
	}
	if again, kept := s.written(); again != text || !kept {
		t.Fatalf("%v: remarks kept: %v, written\n%s\nwant\n%s", lengths, kept, again, text)
	}
}

// Form and file are the same thing: every example of the tree, opened as a form and sent as it stands, is the same file, in mm
// and in inches.
func TestExamplesGoThroughTheForm(t *testing.T) {
	var texts []string
	for _, pattern := range []string{"../../../testdata/reference/geometry/necks/*/spec.toml", "../../../testdata/demo/qm-*.toml", "*.toml", "../webtest/*.toml"} {
		found, err := filepath.Glob(pattern)
		if err != nil || len(found) == 0 {
			t.Fatalf("%s: %v, %v", pattern, found, err)
		}
		for _, file := range found {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			texts = append(texts, string(text))
		}
	}
	for _, tpl := range instrument.Templates() {
		texts = append(texts, tpl.Text)
	}
	for _, text := range texts {
		wantsSame(t, text, unit.Millimetre)
		wantsSame(t, text, unit.Inch)
	}
}

// So are a thousand invented specifications, to the last bit.
func TestRandomSpecificationsGoThroughTheForm(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 4))
	for i := range 1000 {
		wantsSame(t, string(files.WriteSpec(filestest.RandomSpec(r))), []unit.Unit{unit.Millimetre, unit.Inch}[i%2])
	}
}

// What is typed into an empty form of another specification is that specification: everything goes through the fields alone.
func TestFormTakesAWholeSpecification(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 5))
	for range 200 {
		want := filestest.RandomSpec(r)
		from, err := openSheet(string(files.WriteSpec(want)), unit.Millimetre)
		if err != nil {
			t.Fatal(err)
		}
		form := sent(from)
		form.Set("text", exampleSpec)
		s, err := sentSheet(form, unit.Millimetre)
		if err != nil {
			t.Fatal(err)
		}
		if len(s.faults) > 0 || !sameValues(s.spec, want) {
			t.Fatalf("faults %v, got %+v\nwant %+v", s.faults, s.spec, want)
		}
	}
}

// sameValues compares to a millionth of a mm, which is what a field is read to.
func sameValues(a, b *inspect.Spec) bool {
	return string(files.WriteSpec(rounded(a))) == string(files.WriteSpec(rounded(b)))
}

// rounded is a specification with every length to the nanometre.
func rounded(s *inspect.Spec) *inspect.Spec {
	if s == nil {
		return &inspect.Spec{}
	}
	again, err := files.ReadSpec("", files.WriteSpec(s))
	if err != nil {
		return s
	}
	roundLengths(reflect.ValueOf(again).Elem())
	return again
}

func roundLengths(v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			roundLengths(v.Elem())
		}
	case reflect.Struct:
		for i := range v.NumField() {
			roundLengths(v.Field(i))
		}
	case reflect.Slice:
		for i := range v.Len() {
			roundLengths(v.Index(i))
		}
	case reflect.Float64:
		v.SetFloat(math.Round(v.Float()*1e6) / 1e6)
	}
}
