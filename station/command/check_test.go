package command

import (
	"encoding/json"
	"os"
	"regexp"
	"strings"
	"testing"

	"sagitta/inspect"
)

// TestCheckShowsWhatAStepWillDo: the terminal's text of a neck with too much relief says how far to turn, what relief and action
// will then be, and who may do what; the figures are those of the JSON.
func TestCheckShowsWhatAStepWillDo(t *testing.T) {
	spec, readings := neck("W2-too-much-relief", "spec.toml"), neck("W2-too-much-relief", "readings.json")
	code, text, _ := sagitta(t, "", "check", spec, readings)
	if code != exitReject {
		t.Fatalf("exit status %d", code)
	}
	_, line, _ := sagitta(t, "", "check", spec, readings, "--json")
	var res inspect.Result
	if err := json.Unmarshal([]byte(line), &res); err != nil {
		t.Fatal(err)
	}
	shown := 0
	for _, p := range res.Advice[0].Predicted {
		if p.ZoneBefore == inspect.Conforming && p.Zone == inspect.Conforming {
			continue
		}
		shown++
		c := inspect.Characteristic{Unit: p.Unit, Value: &p.Value, Lower: p.Lower, Upper: p.Upper}
		r := c.Rounded(0.01, 1) // the specification's resolution
		signed := inspect.KindOf(p.Name).Signed
		after, before := r.Value(p.Value, signed)+" "+p.Unit, r.Value(*p.Before, signed)
		if !regexp.MustCompile(regexp.QuoteMeta(before) + " +" + regexp.QuoteMeta(after)).MatchString(text) {
			t.Errorf("%s: %s, then %s is not in the text", p.Name, before, after)
		}
	}
	if shown < 3 {
		t.Errorf("only %d predictions", shown)
	}
	for _, want := range []string{"tighten 1/4 turn", "more values change and stay inside their limits", "over-bow (common practice)", "by the inspector", "Caution: Never force the rod"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
}

// TestExplainEveryCharacteristic: formula, inputs, intermediate values, source and uncertainty of every characteristic there is.
func TestExplainEveryCharacteristic(t *testing.T) {
	spec := neck("W1-good-neck", "spec.toml")
	data, err := os.ReadFile(neck("W1-good-neck", "readings.json"))
	if err != nil {
		t.Fatal(err)
	}
	var readings map[string]any
	if err := json.Unmarshal(data, &readings); err != nil {
		t.Fatal(err)
	}
	readings["intonation"] = []any{map[string]any{"string": 6, "fret": 12, "open_hz": 82.41, "fretted_hz": 164.9}}
	place := make([]any, 22)
	place[0] = 36.4
	readings["fret_x_mm"] = place
	if data, err = json.Marshal(readings); err != nil {
		t.Fatal(err)
	}
	for _, name := range append(inspect.CharacteristicNames(), "intonation", "fret_position") {
		code, text, errs := sagitta(t, string(data), "check", spec, "-", "--explain", name)
		if code != exitDone {
			t.Fatalf("%s: exit status %d: %s", name, code, errs)
		}
		for _, want := range []string{"source: ", " = "} {
			if !strings.Contains(text, want) {
				t.Errorf("%s: no %q", name, want)
			}
		}
		if !strings.Contains(text, "expanded, U = 2u") && !strings.Contains(text, "uncertainty: 0; no reading") {
			t.Errorf("%s without uncertainty:\n%s", name, text)
		}
	}
	const leaves = "W6-leaves-and-beam-only"
	_, text, _ := sagitta(t, "", "check", neck(leaves, "spec.toml"), neck(leaves, "readings.json"), "--explain", "relief")
	for _, want := range []string{"thickest leaf that passes  0.350 mm", "width / sqrt(12): 0.01443 mm", "bass side, beam on two feet"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
}

// TestCheckSaysWhatIsMissing: twist takes both sides at the datum frets, which feeler leaves and a beam do not give.
func TestCheckSaysWhatIsMissing(t *testing.T) {
	spec, readings := neck("W6-leaves-and-beam-only", "spec.toml"), neck("W6-leaves-and-beam-only", "readings.json")
	for _, c := range []struct {
		args []string
		code int
		want string
	}{
		{[]string{spec, readings, "--explain", "twist"}, exitFailed, "missing: crowns of the bass side at frets 1 and 17; crowns of the treble side at frets 1 and 17"},
		{[]string{spec, readings, "--explain", "board_radius"}, exitFailed, "a third track"},
		{[]string{spec, readings, "--explain", ""}, exitUsage, "relief_side_difference"},
		{[]string{spec, readings, "--explain", "relief", "--json"}, exitUsage, "exclude each other"},
		{[]string{spec, "-", readings, "-"}, exitUsage, "standard input can be read once"},
	} {
		if code, _, errs := sagitta(t, "", append([]string{"check"}, c.args...)...); code != c.code || !strings.Contains(errs, c.want) {
			t.Errorf("%v: exit status %d, %s; want %d, %s", c.args, code, errs, c.code, c.want)
		}
	}
	_, text, _ := sagitta(t, "", "check", neck("W4-low-with-missing-crowns", "spec.toml"), neck("W4-low-with-missing-crowns", "readings.json"), "--explain", "hump")
	if !strings.Contains(text, "missing: crowns of the treble side at fret 20\n") {
		t.Errorf("no crown of fret 20 in\n%s", text)
	}
	_, text, _ = sagitta(t, "", "check", spec, readings)
	text = strings.Join(strings.Fields(text), " ")
	if want := "too close to a limit to decide; measure again. Not fully measured: relief side difference"; !strings.Contains(text, want) {
		t.Errorf("no %q in\n%s", want, text)
	}
}
