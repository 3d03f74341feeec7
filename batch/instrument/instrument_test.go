package instrument_test

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"sagitta/batch/files"
	"sagitta/batch/instrument"
	"sagitta/inspect"
)

func read(t *testing.T, tpl instrument.Template) *inspect.Spec {
	t.Helper()
	spec, err := files.ReadSpec(tpl.Name+".toml", []byte(tpl.Text))
	if err != nil {
		t.Fatal(err)
	}
	return spec
}

// TestTemplates: each is a specification that the strict reader takes, of a kind and with a joint, its strings those of the set and
// the tuning that it names, and every length, angle and factor of it says where it is from.
func TestTemplates(t *testing.T) {
	kinds := map[string]bool{}
	for _, tpl := range instrument.Templates() {
		spec := read(t, tpl)
		kinds[spec.Neck.Kind+", "+spec.Neck.Joint] = true
		if spec.Name != tpl.Title || tpl.For == "" {
			t.Errorf("%s: the name in it is %q, its title %q, for %q", tpl.Name, spec.Name, tpl.Title, tpl.For)
		}
		matched := false
		for _, set := range instrument.Sets() {
			for _, tuning := range instrument.Tunings(len(set.Gauge)) {
				if !strings.Contains(tpl.Text, "# Strings: "+set.Name+" (") || !strings.Contains(tpl.Text, "# tuning: "+tuning.Name+" (") {
					continue
				}
				first, last := spec.Strings[0], spec.Strings[len(spec.Strings)-1]
				rows, err := instrument.Rows(set, tuning, first.YNutMM-last.YNutMM, first.YSaddleMM-last.YSaddleMM)
				if err != nil {
					t.Fatal(err)
				}
				if matched = true; !reflect.DeepEqual(rows, spec.Strings) {
					t.Errorf("%s: its strings are not the library's:\n%+v\n%+v", tpl.Name, spec.Strings, rows)
				}
				if set.Kind != spec.Neck.Kind {
					t.Errorf("%s: strings for %s", tpl.Name, set.Kind)
				}
			}
		}
		if !matched {
			t.Errorf("%s names no set and tuning of the library", tpl.Name)
		}
		for line := range strings.Lines(tpl.Text) {
			key, value, isValue := strings.Cut(strings.TrimSpace(line), " = ")
			figure := isValue && (strings.HasSuffix(key, "_mm") || strings.HasSuffix(key, "_deg") || strings.HasSuffix(key, "_n") || strings.HasSuffix(key, "_g_per_m"))
			if _, mark, marked := strings.Cut(value, "# "); figure && (!marked || mark == "") {
				t.Errorf("%s: %q does not say where it is from", tpl.Name, line)
			}
		}
		for path, note := range tpl.Notes {
			if note == "" || strings.Contains(path, " ") {
				t.Errorf("%s: note %q: %q", tpl.Name, path, note)
			}
		}
		if tpl.Notes["neck.scale_mm"] == "" && tpl.Notes["neck.scale_bass_mm"] == "" || tpl.Notes["limit[1].target_mm"] == "" || tpl.Notes["string[2].diameter_mm"] == "" {
			t.Errorf("%s: notes %v", tpl.Name, tpl.Notes)
		}
	}
	for _, kind := range []string{"electric, bolt-on", "electric, set", "steel-string acoustic, set", "classical, set", "bass, bolt-on", "bass, set"} {
		if !kinds[kind] {
			t.Errorf("no template for %s", kind)
		}
	}
}

// TestTemplatesAimAtTheKindsRelief: a template's target is what its kind is worked towards without one.
func TestTemplatesAimAtTheKindsRelief(t *testing.T) {
	for _, tpl := range instrument.Templates() {
		spec := read(t, tpl)
		for _, l := range spec.Limits {
			if l.Characteristic == inspect.Relief && *l.TargetMM != spec.UsualReliefMM() {
				t.Errorf("%s: target %v, the kind's %v", tpl.Name, *l.TargetMM, spec.UsualReliefMM())
			}
		}
	}
}

// TestPull: what the strings of the templates pull together lies where the trade has it (totals from memory, no source: light electric
// 380 to 460 N, steel-string acoustic 650 to 800, classical 370 to 450, four-string bass 650 to 850); the classical set's total is
// published (Woodhouse 2004, from memory): 398.7 N.
func TestPull(t *testing.T) {
	between := map[string][2]float64{
		"electric-bolt-on": {380, 480}, "steel-acoustic": {650, 800}, "classical": {370, 450}, "bass-bolt-on": {650, 850},
	}
	for _, tpl := range instrument.Templates() {
		spec := read(t, tpl)
		pull, u := spec.PullOf()
		t.Logf("%s: %.0f ± %.0f N", tpl.Name, pull, 2*u)
		if want, known := between[tpl.Name]; known && (pull < want[0] || pull > want[1]) {
			t.Errorf("%s: the strings pull %.0f N, usual %v", tpl.Name, pull, want)
		}
		if tpl.Name == "classical" && (math.Abs(pull-398.7) > 0.01*398.7 || u != 0) {
			t.Errorf("classical: %.1f ± %.1f N, published 398.7", pull, u)
		}
	}
}

// TestPairs: the two strings of a course stand together, courses evenly, outermost strings at the span.
func TestPairs(t *testing.T) {
	for _, set := range instrument.Sets() {
		if !set.Pairs {
			continue
		}
		rows, err := instrument.Rows(set, instrument.Tunings(12)[0], 41, 58)
		if err != nil {
			t.Fatal(err)
		}
		if rows[0].YNutMM != 20.5 || rows[11].YNutMM != -20.5 || rows[0].YSaddleMM != 29 || rows[11].YSaddleMM != -29 {
			t.Errorf("outer strings %+v %+v", rows[0], rows[11])
		}
		for i := 0; i < 12; i += 2 {
			near, far := rows[i], rows[i+1]
			if gap := near.YNutMM - far.YNutMM; math.Abs(gap-2) > 2e-3 {
				t.Errorf("course %d: %v apart", i/2+1, gap)
			}
			if i > 0 && math.Abs(rows[i-1].YNutMM-near.YNutMM-(39.0/5-2)) > 2e-3 {
				t.Errorf("course %d: %v from the one before", i/2+1, rows[i-1].YNutMM-near.YNutMM)
			}
			if ratio := far.PitchHz / near.PitchHz; math.Abs(ratio-1) > 1e-4 && math.Abs(ratio-2) > 1e-4 {
				t.Errorf("course %d: pitches %v apart", i/2+1, ratio)
			}
		}
	}
	if _, err := instrument.Rows(instrument.Sets()[0], instrument.Tunings(7)[0], 41, 58); err == nil {
		t.Error("six strings in a tuning of seven notes")
	}
}

// TestHz: equal-tempered notes to the two decimals of B. H. Suits, Physics of Music - Notes, and what is no note.
func TestHz(t *testing.T) {
	for note, hz := range map[string]float64{"A4": 440, "E2": 82.41, "B0": 30.87, "F#1": 46.25, "Bb3": 233.08, "E4": 329.63, "C3": 130.81} {
		if got, err := instrument.Hz(note); err != nil || math.Abs(got-hz) > 0.005 {
			t.Errorf("%s: %v, %v; want %v", note, got, err, hz)
		}
	}
	for _, word := range []string{"", "H2", "E", "E9", "Ex2", "e2", "E#", "E22"} {
		if hz, err := instrument.Hz(word); err == nil {
			t.Errorf("%q is %v Hz", word, hz)
		}
	}
}
