package files

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"sagitta/batch/files/filestest"
	"sagitta/inspect"
)

// specFiles are the specifications of the tree.
func specFiles(t *testing.T) []string {
	t.Helper()
	var all []string
	for _, pattern := range []string{"../../testdata/reference/geometry/necks/*/spec.toml", "../../testdata/demo/qm-*.toml", "../../station/web/specs/*.toml", "../../station/web/webtest/*.toml"} {
		found, err := filepath.Glob(pattern)
		if err != nil || len(found) == 0 {
			t.Fatalf("%s: %v, %v", pattern, found, err)
		}
		all = append(all, found...)
	}
	return all
}

// sameSpec wants a specification that is the same to the last bit.
func sameSpec(t *testing.T, text []byte, want *inspect.Spec) {
	t.Helper()
	got, err := ReadSpec("written.toml", text)
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	if !reflect.DeepEqual(got, want) {
		t.Fatalf("read back %+v\nwant %+v\n%s", got, want, text)
	}
}

// Every example, written, is the same specification; written into its own text it is the same text, remarks and all.
func TestExamplesAreWrittenAsTheyWere(t *testing.T) {
	for _, file := range specFiles(t) {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		s, err := ReadSpec(file, text)
		if err != nil {
			t.Fatal(err)
		}
		sameSpec(t, WriteSpec(s), s)
		if again, kept := Rewrite(text, s); !kept || string(again) != string(text) {
			t.Errorf("%s: kept %v, written\n%s", file, kept, again)
		}
		made, err := SpecOf(SpecValues(s))
		if err != nil || !reflect.DeepEqual(made, s) {
			t.Errorf("%s: of its values %+v, %v", file, made, err)
		}
	}
}

// A thousand invented specifications, written, read back the same, whether anew or over the text of the one before.
func TestRandomSpecificationsAreWrittenExactly(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 4))
	before, err := os.ReadFile("../../station/web/specs/example.toml")
	if err != nil {
		t.Fatal(err)
	}
	for range 1000 {
		s := filestest.RandomSpec(r)
		if faults := s.Check(); faults != nil {
			t.Fatalf("the invented specification is wrong: %v", faults)
		}
		sameSpec(t, WriteSpec(s), s)
		text, kept := Rewrite(before, s)
		if !kept {
			t.Fatalf("the text before was not followed:\n%s\nto\n%s", before, text)
		}
		sameSpec(t, text, s)
		before = text
	}
}

// What changes is changed where it stands, and remarks stay.
func TestRewriteKeepsRemarks(t *testing.T) {
	const text = `# ours
name = 'Bolt'        # the model
revision = "A"

# the neck
[neck]
scale_mm = 648       # nut to saddle
frets = 22
joint_fret = 17
nut_radius_mm = 305.0
last_fret_radius_mm = 305.0
rod = "double"

# one a string
[[string]]
number = 1
name = "E4"
pitch_hz = 329.6276
y_nut_mm = 17.5
y_saddle_mm = 26.0
diameter_mm = 0.254  # thin
plain = true

# the low one
[[string]]
number = 2
name = "E2"
pitch_hz = 82.4069
y_nut_mm = -17.5
y_saddle_mm = -26.0
diameter_mm = 1.17
mass_g_per_m = 6.9   # weighed

[routine]
action_frets = [
  12,  # as usual
  15,
]

# as the customer wants it
[[limit]]
characteristic = "relief"
track = "each"
lower_mm = 0.20      # not less
upper_mm = 0.36`
	s, err := ReadSpec("", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	s.Revision = "B"
	s.Neck.ScaleMM = 640
	s.Neck.RodTurnsLeft = new(2.0)
	s.Strings[1].Name = `E "low"`
	s.Limits[0].UpperMM = new(0.4)
	s.Limits[0].LowerMM = nil
	s.Limits = append(s.Limits, inspect.Limit{Characteristic: "twist", UpperDeg: new(0.5)})
	s.Pluck = &inspect.Pluck{ForceN: 0.25, DistanceMM: 130}
	s.Routine.Tracks = []string{"bass"}
	want := strings.NewReplacer(`revision = "A"`, `revision = "B"`, "scale_mm = 648       # nut to saddle", "scale_mm = 640.0", "rod = \"double\"\n", "rod = \"double\"\nrod_turns_left = 2.0\n",
		`name = "E2"`, `name = "E \"low\""`, "lower_mm = 0.20      # not less\nupper_mm = 0.36",
		"upper_mm = 0.4\n\n[[limit]]\ncharacteristic = \"twist\"\nupper_deg = 0.5\n\n[pluck]\nforce_n = 0.25\ndistance_mm = 130.0\n", "  15,\n]\n", "  15,\n]\ntracks = [\"bass\"]\n").Replace(text)
	if got, kept := Rewrite([]byte(text), s); !kept || string(got) != want {
		t.Errorf("kept %v, got\n%s\nwant\n%s", kept, got, want)
	}
	s.Strings = s.Strings[:1]
	got, kept := Rewrite([]byte(text), s)
	if sameSpec(t, got, s); !kept || strings.Contains(string(got), "the low one") || !strings.Contains(string(got), "# one a string\n[[string]]") {
		t.Errorf("kept %v, a string went out:\n%s", kept, got)
	}
}

// Where a text is written in a way that is not followed, all of it is written anew, and that is said.
func TestRewriteSaysWhereRemarksGo(t *testing.T) {
	text := strings.Replace(goodSpec, "[datum]\nrelief_fret = 2\n", "", 1)
	text = strings.Replace(text, `revision = "B"`, "revision = \"B\" # ours\ndatum = { relief_fret = 2 }", 1)
	s, err := ReadSpec("", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	got, kept := Rewrite([]byte(text), s)
	if sameSpec(t, got, s); kept {
		t.Errorf("said to be kept:\n%s", got)
	}
}
