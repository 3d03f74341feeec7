package files

import (
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"sagitta/batch"
	"sagitta/inspect"
)

const goodSpec = `name = "QM Bolt 648"
revision = "B"

[neck]
scale_mm = 648
frets = 5
joint_fret = 4
nut_radius_mm = 305.0
last_fret_radius_mm = 305.0
rod = "double"

[[string]]
number = 1
name = "E4"
pitch_hz = 329.6276
y_nut_mm = 17.5
y_saddle_mm = 26.0
diameter_mm = 0.254
plain = true

[[string]]
number = 2
name = "E2"
pitch_hz = 82.4069
y_nut_mm = -17.5
y_saddle_mm = -26.0
diameter_mm = 1.17
mass_g_per_m = 6.9

[datum]
relief_fret = 2

[routine]
action_frets = [4]
strings = [1, 2]

[[limit]]
characteristic = "relief"
track = "each"
lower_mm = 0.20
upper_mm = 0.36

[[limit]]
characteristic = "action"
string = 2
fret = 4
upper_mm = 2.3

[[limit]]
characteristic = "pitch"
string = "each"
lower_cents = -5.0
upper_cents = 5.0
`

func TestReadSpec(t *testing.T) {
	s, err := ReadSpec("bolt.toml", []byte("\xef\xbb\xbf"+goodSpec))
	if err != nil {
		t.Fatal(err)
	}
	if s.Neck.ScaleMM != 648 || s.Datum.ReliefFret != 2 || s.Datum.FirstFret != 0 || !s.Strings[0].PlainString || *s.Strings[1].MassGPerM != 6.9 {
		t.Errorf("read %+v", s)
	}
	if l := s.Limits; l[1].String != (inspect.Index{Number: 2}) || !l[2].String.Each || l[0].String != (inspect.Index{}) {
		t.Errorf("limits %+v", l)
	}
	if n := s.Routine.Strings; n.Each || !reflect.DeepEqual(n.Numbers, []int{1, 2}) {
		t.Errorf("strings %+v", n)
	}
}

// Each fault is found at its line, with what was found and what is allowed.
func TestReadSpecFaults(t *testing.T) {
	for _, c := range []struct{ name, old, new, want string }{
		{"unknown key", "scale_mm = 648", "scael_mm = 648", `bolt.toml:5: neck.scael_mm: unknown key; did you mean "scale_mm"?`},
		{"the key that is missing then", "frets = 5", "fretz = 5", `bolt.toml:4: neck.frets: is missing; needed: a whole number`},
		{"no scale", "scale_mm = 648\n", "", `bolt.toml:4: neck.scale_mm: is missing; needed: a scale length from 100 to 2000 mm, or for a multi-scale neck the pair scale_bass_mm and scale_treble_mm`},
		{"half a pair", "scale_mm = 648", "scale_bass_mm = 660", `neck.scale_treble_mm: is missing; needed: the scale of the outermost treble string beside scale_bass_mm`},
		{"one scale and a pair", "scale_mm = 648", "scale_mm = 648\nscale_bass_mm = 660\nscale_treble_mm = 635", `bolt.toml:5: neck.scale_mm: found scale_mm with scale_bass_mm or scale_treble_mm; allowed: scale_mm alone`},
		{"a perpendicular fret of one scale", "scale_mm = 648", "scale_mm = 648\nperpendicular_fret = 2", `bolt.toml:6: neck.perpendicular_fret: found 2; allowed: only beside scale_bass_mm and scale_treble_mm`},
		{"unknown key, none near", "frets = 5", "frets = 5\ncolour = 1", "bolt.toml:7: neck.colour: unknown key; known here: scale_mm, scale_bass_mm, scale_treble_mm, perpendicular_fret, frets,"},
		{"unknown table", "[datum]", "[datumm]", `bolt.toml:30: datumm: unknown key; did you mean "datum"?`},
		{"missing in the second string", `name = "E2"` + "\n", "", "bolt.toml:21: string[2].name: is missing; needed: a text in quotes"},
		{"text for a number", "frets = 5", `frets = "5"`, `bolt.toml:6: neck.frets: found "5"; allowed: a whole number`},
		{"fraction for a whole number", "frets = 5", "frets = 5.5", "bolt.toml:6: neck.frets: found 5.5; allowed: a whole number"},
		{"not a number", "305.0\nlast", "nan\nlast", "bolt.toml:8: neck.nut_radius_mm: found NaN; allowed: a finite number"},
		{"infinite", "pitch_hz = 82.4069", "pitch_hz = inf", "bolt.toml:24: string[2].pitch_hz: found +Inf; allowed: a finite number"},
		{"index", "string = 2\n", "string = 0\n", `bolt.toml:45: limit[2].string: found 0; allowed: "each" or a number from 1`},
		{"index in words", "string = 2\n", "string = \"all\"\n", `bolt.toml:45: limit[2].string: found "all"; allowed: "each" or a number from 1`},
		{"list of strings", "[1, 2]", "[1, \"b\"]", `bolt.toml:35: routine.strings[2]: found "b"; allowed: a string number from 1`},
		{"string list", "[1, 2]", "1", `bolt.toml:35: routine.strings: found 1; allowed: "each" or a list of string numbers`},
		{"table for a list", "[[string]]\nnumber = 1", "[string]\nnumber = 1", "bolt.toml"},
		{"syntax", "frets = 5", "frets = = 5", `bolt.toml:6: cannot be read as TOML at column 9: found "= 5"; allowed: key = value`},
		{"twice", "frets = 5", "frets = 5\nfrets = 5", "bolt.toml:7: neck.frets: found the key a second time; allowed: once"},
		{"a table twice", "[datum]", "[neck]\n[datum]", "bolt.toml:30: neck: found the key a second time; allowed: once"},
		{"no value", "frets = 5", "frets =", "bolt.toml:6: cannot be read as TOML at column 8: found the end of the line; allowed: key = value"},
		{"decimal comma", "frets = 5", "frets = 5,5", `bolt.toml:6: cannot be read as TOML at column 10: found ",5"; allowed: key = value`},
		{"no string", "string = 2\nfret = 4\n", "fret = 4\n", `bolt.toml:43: limit[2].string: is missing; needed: "each" or a string's number from 1 to 2`},
		{"wrong suffix", "lower_cents = -5.0", "lower_mm = -5.0", "bolt.toml:52: limit[3].lower_mm"},
		{"limits the wrong way up", "upper_mm = 0.36", "upper_mm = 0.1", "bolt.toml:41: limit[1]."},
		{"rod", `rod = "double"`, `rod = "triple"`, `bolt.toml:10: neck.rod: found "triple"`},
		{"more planned than all", "[routine]", "[plan]\nfirst_pass_percent = 101\n[routine]", "bolt.toml:34: plan.first_pass_percent: found 101; allowed: a share from 0 to 100 percent"},
		{"watched without a limit", "[routine]", "[alarms]\ncharacteristics = [\"relief\",\n \"hump\"]\n[routine]", `bolt.toml:34: alarms.characteristics[2]: found "hump"; allowed: a characteristic with a limit here: "relief"`},
		{"no such run test", "[routine]", "[alarms]\ntests = [1, 9]\n[routine]", "bolt.toml:34: alarms.tests[2]: found 9; allowed: a whole number from 1 to 8"},
		{"unknown key of alarms", "[routine]", "[alarms]\ntest = [1]\n[routine]", `bolt.toml:34: alarms.test: unknown key; did you mean "tests"?`},
		{"second fret too near", "relief_fret = 2", "second_fret = 2\nrelief_fret = 2", "bolt.toml:31: datum.second_fret"},
	} {
		text := strings.Replace(goodSpec, c.old, c.new, 1)
		if text == goodSpec {
			t.Errorf("%s: nothing was changed", c.name)
		}
		_, err := ReadSpec("bolt.toml", []byte(text))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got\n%v\nwant\n%s", c.name, err, c.want)
			continue
		}
		var fault batch.FileError
		if !errors.As(err, &fault) || fault.File != "bolt.toml" || fault.Line == 0 {
			t.Errorf("%s: no line in %+v", c.name, fault)
		}
	}
}

// TestReadSpecOddForms: TOML's other ways of writing strings and numbers, and the tables that few specifications have.
func TestReadSpecOddForms(t *testing.T) {
	odd := strings.NewReplacer(`"QM Bolt 648"`, `"a \"b\" \\ \u00e9 <&>"`, "[1, 2]", `"each"`, "82.4069", "1e2").Replace(goodSpec) +
		"\n[uncertainty]\nresolution_mm = 0.01\ncalibration_mm = 0.0\nrepeatability_mm = 1e-7\nreference_mm = 0.002\n" +
		"[plan]\nfinal_percent = 97.5\n[alarms]\ncharacteristics = []\ntests = [1, 5]\nleast_necks = 7\n"
	s, err := ReadSpec("odd.toml", []byte(odd))
	if err != nil {
		t.Fatal(err)
	}
	if s.Name != `a "b" \ é <&>` || !s.Routine.Strings.Each || s.Uncertainty.RepeatabilityMM != 1e-7 || *s.Plan.FinalPercent != 97.5 ||
		s.Alarms.Characteristics == nil || !slices.Equal(s.Alarms.Tests, []int{1, 5}) || *s.Alarms.LeastNecks != 7 || !slices.ContainsFunc(s.Strings, func(x inspect.String) bool { return x.PitchHz == 100 }) {
		t.Errorf("read %+v", s)
	}
}

func TestReadSpecListsEverything(t *testing.T) {
	text := strings.NewReplacer("scale_mm = 648", `scale_mm = "long"`, "plain = true", "plane = true", "upper_mm = 2.3", "upper_mm = nan").Replace(goodSpec)
	_, err := ReadSpec("bolt.toml", []byte(text))
	if err == nil {
		t.Fatal("no error")
	}
	lines := strings.Split(err.Error(), "\n")
	if len(lines) != 3 || !strings.HasPrefix(lines[0], "bolt.toml:5:") || !strings.HasPrefix(lines[1], "bolt.toml:19:") || !strings.HasPrefix(lines[2], "bolt.toml:47:") {
		t.Errorf("got\n%v\nwant three faults in the file's order", err)
	}
}

const goodReadings = `{
 "serial": "QM-2611-0001",
 "profile": [
  { "track": "bass", "y_nut_mm": -17.5, "y_saddle_mm": -26.0,
    "z_mm": [0.0, 0.013, null,
      0.01, 0] },
  { "track": "treble", "z_mm": [null, null, null, null, 1e-3] }
 ],
 "action": [ { "string": 2, "fret": 4, "height_mm": 1.95 } ],
 "pitch": [
  { "string": 2, "hz": 82.39 },
  { "string": 1, "cents": -2 } ],
 "beam": [ { "track": "bass", "feet_mm": [36.4, 105.3], "plunger_mm": 75.5, "reading_mm": 0.028 } ],
 "climate": { "temperature_c": 21.0 },
 "pitch_declared": false
}
`

func TestReadReadings(t *testing.T) {
	s, err := ReadSpec("bolt.toml", []byte(goodSpec))
	if err != nil {
		t.Fatal(err)
	}
	r, err := ReadReadings("neck.json", []byte(goodReadings), s)
	if err != nil {
		t.Fatal(err)
	}
	if p := r.Profile; len(p) != 2 || p[0].ZMM[2] != nil || *p[0].ZMM[1] != 0.013 || p[1].YNutMM != 17.5 || p[1].YSaddleMM != 26 {
		t.Errorf("profile %+v: nulls and the specification's own place for treble", p)
	}
	if *r.Pitch[1].Cents != -2 || r.Beam[0].FeetMM[1] != 105.3 || *r.Climate.TemperatureC != 21 || r.Climate.HumidityPercent != nil {
		t.Errorf("read %+v", r)
	}
	for _, c := range []struct{ name, old, new, want string }{
		{"unknown key", `"height_mm"`, `"heigth_mm"`, `neck.json:9: action[1].heigth_mm: unknown key; did you mean "height_mm"?`},
		{"missing", `"serial": "QM-2611-0001",`, "", "neck.json:1: serial: is missing; needed: a text in quotes"},
		{"blank serial", `"QM-2611-0001"`, `" "`, `neck.json:2: serial: found " "; allowed: the neck's serial number`},
		{"serial that does not print", `"QM-2611-0001"`, `"QM\u001b[2J"`, `neck.json:2: serial: found "QM\x1b[2J"; allowed: a serial number of characters that can be printed`},
		{"string below the crown", "1.95", "-0.2", "neck.json:9: action[1].height_mm: found -0.2; allowed: a height from 0 to 50 mm"},
		{"no fret", `"fret": 4, `, "", "neck.json:9: action[1].fret: is missing; needed: a whole number from 1 to"},
		{"missing below", `"plunger_mm": 75.5, `, "", "neck.json:13: beam[1].plunger_mm: is missing; needed: a number"},
		{"null for a number", "1.95", "null", "neck.json:9: action[1].height_mm: found null; allowed: a number"},
		{"null for what may be left out", "-2 }", "null }", "neck.json:12: pitch[2].cents: found null; allowed: a number; leave the key out"},
		{"null list", `[36.4, 105.3]`, "null", "neck.json:13: beam[1].feet_mm: found null; allowed: a list"},
		{"text in a list", "0.01, 0]", `0.01, "0"]`, `neck.json:6: profile[1].z_mm[5]: found "0"; allowed: a number`},
		{"too large", "0.013", "1e999", "neck.json:5: profile[1].z_mm[2]: found 1e999; allowed: a finite number"},
		{"no number", "0.013", "NaN", "neck.json:5: cannot be read as JSON"},
		{"too few frets", "0.01, 0]", "0.01]", "neck.json:5: profile[1].z_mm: found a list of 4; allowed: a list of 5"},
		{"three feet", `[36.4, 105.3]`, `[1, 2, 3]`, "neck.json:13: beam[1].feet_mm: found a list of 3; allowed: a list of 2"},
		{"a track without a place", `"treble"`, `"edge"`, "neck.json:7: profile[2].y_nut_mm: is missing; needed where the specification has no track of that name: a number"},
		{"twice", `"serial"`, `"serial": "x", "serial"`, "neck.json:2: serial: found the key a second time; allowed: once"},
		{"string that is not there", `"string": 2, "fret"`, `"string": 7, "fret"`, "neck.json:9: action[1].string: found 7"},
		{"cut short", "false\n}\n", "fal", "neck.json:15: cannot be read as JSON"},
		{"more", "false\n}\n", "false\n}\n{}", "cannot be read as JSON: more after the end"},
		{"no table", goodReadings, "[]", "found a list of 0; allowed: a table"},
		{"empty", goodReadings, "", "cannot be read as JSON: the file ends too early"},
		{"deep", `"QM-2611-0001"`, strings.Repeat("[", 1000) + strings.Repeat("]", 1000), "more than 32 lists"},
	} {
		text := strings.Replace(goodReadings, c.old, c.new, 1)
		if _, err := ReadReadings("neck.json", []byte(text), s); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got\n%v\nwant\n%s", c.name, err, c.want)
		}
	}
}

// The reference necks' files, written to the published formats by another program, read without a fault.
func TestReferenceNecksRead(t *testing.T) {
	folders, err := filepath.Glob(filepath.Join("..", "..", "testdata", "reference", "geometry", "necks", "*"))
	if err != nil || len(folders) < 6 {
		t.Fatalf("%d necks, %v", len(folders), err)
	}
	for _, folder := range folders {
		text, err := os.ReadFile(filepath.Join(folder, "spec.toml"))
		if err != nil {
			t.Fatal(err)
		}
		s, err := ReadSpec("spec.toml", text)
		if err != nil {
			t.Errorf("%s: %v", folder, err)
			continue
		}
		data, err := os.ReadFile(filepath.Join(folder, "readings.json"))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := ReadReadings("readings.json", data, s); err != nil {
			t.Errorf("%s: %v", folder, err)
		}
	}
}

// Whatever the bytes are, reading ends with a value that passes its check, or an error.
func FuzzReadReadings(f *testing.F) {
	s, err := ReadSpec("bolt.toml", []byte(goodSpec))
	if err != nil {
		f.Fatal(err)
	}
	f.Add([]byte(goodReadings))
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := ReadReadings("neck.json", data, s)
		if err == nil && len(r.Check(s)) > 0 {
			t.Errorf("faults passed: %v", r.Check(s))
		}
	})
}

func FuzzReadSpec(f *testing.F) {
	f.Add([]byte(goodSpec))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := ReadSpec("bolt.toml", data)
		if err == nil && len(s.Check()) > 0 {
			t.Errorf("faults passed: %v", s.Check())
		}
	})
}

func FuzzReadMapping(f *testing.F) {
	examples, err := filepath.Glob("../../testdata/import/*.toml")
	if err != nil || len(examples) == 0 {
		f.Fatal("no example", err)
	}
	for _, file := range examples {
		text, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		m, err := ReadMapping("map.toml", text)
		if err != nil && !strings.Contains(err.Error(), "map.toml") {
			t.Errorf("%v does not name the file", err)
		}
		if err == nil && (utf8.RuneCountInString(m.Separator) != 1 || m.Separator == m.Decimal || len(m.Measurements) == 0) {
			t.Errorf("faults passed: %+v", m)
		}
	})
}

// A guard factor of 0 is no guard; left out it is the usual one.
func TestGuardFactorOfAFile(t *testing.T) {
	for line, want := range map[string]float64{"guard_factor = 0\n": 0, "guard_factor = 0.0\n": 0, "guard_factor = 2\n": 2, "": inspect.DefaultGuardFactor} {
		text := strings.Replace(goodSpec, "[neck]", "[decision]\nrule = \"guarded_acceptance\"\n"+line+"[neck]", 1)
		s, err := ReadSpec("bolt.toml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		if got := s.WithDefaults().Decision.Guard(); got != want {
			t.Errorf("%q: %v, want %v", line, got, want)
		}
	}
}

// TestClosingOfAFile: a profile is closed unless the file says no.
func TestClosingOfAFile(t *testing.T) {
	for text, want := range map[string]bool{"": true, "closing = true\n": true, "closing = false\n": false} {
		s, err := ReadSpec("bolt.toml", []byte(strings.Replace(goodSpec, "[routine]\n", "[routine]\n"+text, 1)))
		if err != nil {
			t.Fatal(err)
		}
		if got := *s.WithDefaults().Routine.Closing; got != want {
			t.Errorf("%q: %v", text, got)
		}
	}
	if _, err := ReadSpec("bolt.toml", []byte(strings.Replace(goodSpec, "[routine]\n", "[routine]\nclosing = 1\n", 1))); err == nil {
		t.Error("closing = 1 was read")
	}
}
