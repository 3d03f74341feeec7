package instruments

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"sagitta/batch/files"
	"sagitta/batch/instrument"
	"sagitta/batch/record/recordtest"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

func begun(t *testing.T, ch choices, in unit.Unit) *entry {
	t.Helper()
	return recordtest.Must(begin(ch, in))(t)
}

// TestEveryKindAsProposed: of every kind, in mm and inch, what nobody changed is the template's specification to the last bit, but for the
// relief's second datum fret, which goes with the joint, and for repairs, which whoever sets up single instruments does.
func TestEveryKindAsProposed(t *testing.T) {
	for _, tpl := range instrument.Templates() {
		want := recordtest.Must(files.ReadSpec("t.toml", []byte(tpl.Text)))(t)
		want.Datum.SecondFret = 0
		want.Routine.Repairs = inspect.Myself
		for _, in := range []unit.Unit{unit.Millimetre, unit.Inch} {
			e := begun(t, choices{Kind: tpl.Name}, in)
			if got := e.spec(); !reflect.DeepEqual(got, want) {
				t.Errorf("%s, %v: %v\n%+v\n%+v", tpl.Name, in, e.faults, got, want)
			}
			if !slices.Contains(setsFor(e.base), e.Set) || !slices.Contains(tuningsFor(e.base), e.Tuning) {
				t.Errorf("%s: strings %q in %q are not the library's", tpl.Name, e.Set, e.Tuning)
			}
		}
	}
	if _, err := begin(choices{Kind: "lute"}, unit.Millimetre); err == nil {
		t.Error("a lute is begun")
	}
}

// TestTyped: what is typed stands in the specification, in the page's unit; what is wrong is told at its field.
func TestTyped(t *testing.T) {
	e := begun(t, choices{Kind: "electric-bolt-on", Set: "electric, .009 to .042", Tuning: "guitar, dropped D", Action: instrument.Low}, unit.Inch)
	e.typed["neck.scale_mm"] = "25"
	e.typed["neck.joint_fret"] = "16"
	e.typed["neck.rod"] = "single"
	e.typed["span.nut"] = "1.4"
	e.typed["limit.relief.each.upper"] = "0.3 mm"
	for _, name := range limitKeys {
		e.typed["limit.hump.each."+name] = ""
	}
	spec := e.spec()
	if spec == nil {
		t.Fatal(e.faults)
	}
	last := spec.Strings[5]
	if spec.Neck.ScaleMM != 635 || spec.Neck.JointFret != 16 || spec.WithDefaults().Datum.SecondFret != 16 || spec.Neck.Rod != "single" ||
		last.Name != "D2" || last.DiameterMM != 1.067 || last.YNutMM != -17.78 || last.YSaddleMM != -26 {
		t.Errorf("%+v\n%+v\n%+v", spec.Neck, spec.Datum, last)
	}
	for _, l := range spec.Limits {
		switch {
		case l.Characteristic == inspect.Hump:
			t.Error("a limit whose bounds were emptied is there")
		case l.Characteristic == inspect.Relief && *l.UpperMM != 0.3, l.Characteristic == inspect.Action && l.String.Number == 6 && *l.UpperMM != 1.6:
			t.Errorf("%+v", l)
		}
	}
	for field, typed := range map[string]string{
		"neck.scale_mm": "long", "neck.frets": "2", "neck.joint_fret": "", "neck.bridge": "wall", "string.6.name": "H2", "span.saddle": "-3",
		"limit.relief.each.lower": "2",
	} {
		e := begun(t, choices{Kind: "electric-bolt-on"}, unit.Millimetre)
		e.typed[field] = typed
		if e.spec() != nil {
			t.Errorf("%s = %q is taken", field, typed)
		} else if e.faults[field] == "" && !(field == "limit.relief.each.lower" && len(e.faults) == 1) {
			t.Errorf("%s = %q: %v", field, typed, e.faults)
		}
	}
}

// TestAnotherKind: the defaults of another kind come, and what was typed stays where the kind has it.
func TestAnotherKind(t *testing.T) {
	was := begun(t, choices{Kind: "electric-bolt-on"}, unit.Millimetre)
	typed := map[string]string{}
	for field, text := range was.proposed {
		typed[field] = text
	}
	typed["neck.scale_mm"], typed["neck.frets"], typed["limit.relief.each.upper"], typed["string.1.diameter_mm"] = "650", "19", "0.33", "0.24"
	for _, c := range []struct{ kind, scale string }{{"steel-acoustic", "650"}, {"electric-multi-scale-eight", ""}, {"bass-bolt-on", "650"}} {
		is := begun(t, choices{Kind: c.kind, Set: was.Set, Tuning: was.Tuning}, unit.Millimetre)
		kept := is.over(typed, was.proposed)
		if is.typed["neck.frets"] != "19" || is.typed["neck.scale_mm"] != c.scale || is.typed["limit.relief.each.upper"] != "0.33" || is.typed["string.1.diameter_mm"] != "0.24" {
			t.Errorf("%s: what was typed is lost: %v", c.kind, is.typed)
		}
		if is.typed["neck.joint_fret"] != is.proposed["neck.joint_fret"] || is.typed["limit.relief.each.lower"] != is.proposed["limit.relief.each.lower"] {
			t.Errorf("%s: a default of the kind before stays", c.kind)
		}
		if words := strings.Join(kept, "; "); !strings.Contains(words, "frets") || !strings.Contains(words, "string 1") || strings.Contains(words, "joint") {
			t.Errorf("%s: kept %s", c.kind, words)
		}
	}
}

// TestWhereWishesAreFrom: what is said of the limits is true of those that are proposed, for a new instrument and for a visit, whose last one was
// judged by relief alone.
func TestWhereWishesAreFrom(t *testing.T) {
	mm := unit.Millimetre
	last := begun(t, choices{Kind: "electric-bolt-on", Hand: instrument.Light}, mm).spec()
	last.Limits = slices.DeleteFunc(last.Limits, func(l inspect.Limit) bool { return l.Characteristic != inspect.Relief })
	for _, c := range []struct {
		e    *entry
		want string
	}{
		{begun(t, choices{Kind: "electric-bolt-on"}, mm), "string 6, fret 12: 1.3 mm to 2.4 mm, target 1.8 mm; action, string 1, fret 12: 1 mm to 2 mm, target 1.4 mm; relief: 0 mm to 0.45 mm, target 0.3 mm. Usual for the kind"},
		{begun(t, choices{Kind: "electric-bolt-on", Action: instrument.Low}, mm), "string 6, fret 12: 1.3 mm to 1.6 mm, target 1.45 mm; action, string 1, fret 12: 1 mm to 1.2 mm, target 1.1 mm; relief: 0 mm to 0.45 mm, target 0.3 mm. The trade's ranges"},
		{recordtest.Must(again(choices{Kind: "electric-bolt-on"}, last, mm))(t), "Relief: 0.05 mm to 0.15 mm, target 0.1 mm. As at the last visit"},
		{recordtest.Must(again(choices{Kind: "electric-bolt-on", Hand: instrument.Hard}, last, mm))(t), "Relief: 0.15 mm to 0.45 mm, target 0.3 mm. What is wished has"},
	} {
		if got := c.e.wishes(); !strings.Contains(got, c.want) {
			t.Errorf("it says %q, want %q", got, c.want)
		}
	}
}
