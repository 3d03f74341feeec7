package command

import (
	"bytes"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"sagitta/batch/files"
	"sagitta/inspect"
)

// worked are the worked necks and what has to be done with each.
var worked = map[string]inspect.Disposition{
	"W1-good-neck": inspect.Pass, "W2-too-much-relief": inspect.Rework, "W3-high-fret-guarded": inspect.Rework,
	"W4-low-with-missing-crowns": inspect.Remeasure, "W5-hump": inspect.Repair, "W6-leaves-and-beam-only": inspect.Remeasure,
}

// printed is the text of a worked neck on a page.
func printed(t *testing.T, name string, p page) (string, *inspect.Result) {
	t.Helper()
	data, err := os.ReadFile(neck(name, "spec.toml"))
	if err != nil {
		t.Fatal(err)
	}
	spec, err := files.ReadSpec("spec.toml", data)
	if err != nil {
		t.Fatal(err)
	}
	_, res, err := checkFile(nil, spec, neck(name, "readings.json"))
	if err != nil {
		t.Fatal(err)
	}
	var text bytes.Buffer
	printResult(&text, spec, res, p.width)
	return string(p.set(text.Bytes())), res
}

// TestCheckFitsThePage: on a page of 80 and of 120 columns no line of a verdict is longer, the answer stands in the first line, the
// parts come worst first and in each the margins of one kind rise; nothing but characters, no control sequences.
func TestCheckFitsThePage(t *testing.T) {
	row := regexp.MustCompile(`^    (relief|nut height|rocker|action|fall-away|hump), .* ([−+]?[0-9.]+)$`)
	for name, disposition := range worked {
		for _, width := range []int{80, 120} {
			text, _ := printed(t, name, page{width: width})
			lines := strings.Split(text, "\n")
			if !strings.HasSuffix(lines[0], ": "+strings.ToUpper(string(disposition))) {
				t.Errorf("%s: begins %q", name, lines[0])
			}
			last := map[string]float64{}
			for _, line := range lines {
				if n := utf8.RuneCountInString(line); n > width {
					t.Errorf("%s: %d columns of %d: %s", name, n, width, line)
				}
				if strings.ContainsAny(line, "\x1b\t\r") || strings.HasSuffix(line, " ") {
					t.Errorf("%s: %q", name, line)
				}
				if regexp.MustCompile(`(^|[\s(])-\d`).MatchString(line) {
					t.Errorf("%s: a hyphen for a minus: %s", name, line)
				}
				for _, z := range zoneHeads {
					if strings.TrimSpace(line) == z.head {
						clear(last)
					}
				}
				if m := row.FindStringSubmatch(line); m != nil && strings.Contains(line, " mm ") {
					v, err := strconv.ParseFloat(strings.ReplaceAll(m[2], "−", "-"), 64)
					if err != nil {
						t.Fatal(err)
					}
					if before, seen := last[m[1]]; seen && v < before && m[1] != "relief" { // the sides have limits of their own
						t.Errorf("%s: margin %v after %v: %s", name, v, before, line)
					}
					last[m[1]] = v
				}
			}
		}
	}
}

// TestCheckRoundsToTheGauge: the specification's gauge has a step of 0.01 mm (0.044 against 0.040 needs one digit more), and none of
// the values is shown with more digits than its limit needs.
func TestCheckRoundsToTheGauge(t *testing.T) {
	text, _ := printed(t, "W3-high-fret-guarded", page{width: 120})
	for _, want := range []string{
		`rocker, treble side, fret 12 +\+0\.07 mm +0\.01 +−0\.04 to 0\.04 +−0\.03\n`,
		`rocker, centre, fret 12 +\+0\.044 mm +0\.012 +−0\.040 to 0\.040 +−0\.004\n`,
		`rocker, treble side, fret 13 +−0\.038 mm +0\.012 +−0\.040 to 0\.040 +\+0\.002\n`,
		`relief, bass side, fret 7 over frets 1–17 +\+0\.27 mm +0\.01 +0\.20 to 0\.36 +\+0\.07\n`,
		`take off 0\.07 mm`,
	} {
		if !regexp.MustCompile(want).MatchString(text) {
			t.Errorf("no %s in\n%s", want, text)
		}
	}
}

// TestCheckSetsCautionsBesideTheStep: the rod's cautions stand between its step and the remedies, and who may do what is said.
func TestCheckSetsCautionsBesideTheStep(t *testing.T) {
	text, _ := printed(t, "W5-hump", page{width: 120})
	repairer, wait, remedy := strings.Index(text, "1. hand the neck"), strings.Index(text, "2. set the action"), strings.Index(text, "by the repairer")
	caution := strings.Index(text, "A stuck or bottomed-out rod")
	saddle := strings.Index(text, "Slacken the string before")
	if !(repairer > 0 && repairer < caution && caution < wait && wait < saddle && saddle < remedy) {
		t.Errorf("step 1 at %d, its caution at %d, step 2 at %d, its caution at %d, remedies at %d in\n%s", repairer, caution, wait, saddle, remedy, text)
	}
}

// TestUnmeasuredFretsAreOneLine: a track whose crowns were not taken has one line, not one a fret.
func TestUnmeasuredFretsAreOneLine(t *testing.T) {
	text, _ := printed(t, "W6-leaves-and-beam-only", page{width: 120})
	if !strings.Contains(text, "rocker, bass side, frets 2–21 ") || strings.Count(text, "rocker") != 2 {
		t.Errorf("rockers in\n%s", text)
	}
	text, _ = printed(t, "W4-low-with-missing-crowns", page{width: 120})
	if !strings.Contains(text, "rocker, bass side, frets 3–5 ") || !strings.Contains(text, "rocker, treble side, fret 19 ") {
		t.Errorf("rockers in\n%s", text)
	}
}

// TestPlainTerminal: where the locale is not UTF-8 every character is ASCII, and no column moves.
func TestPlainTerminal(t *testing.T) {
	for name := range worked {
		rich, _ := printed(t, name, page{width: 80})
		text, _ := printed(t, name, page{width: 80, ascii: true})
		if utf8.RuneCountInString(text) != len(text) || len(text) != utf8.RuneCountInString(rich) {
			t.Errorf("%s: %d bytes, %d characters, %d with signs", name, len(text), utf8.RuneCountInString(text), utf8.RuneCountInString(rich))
		}
	}
	for _, c := range []struct {
		env  map[string]string
		want bool
	}{
		{map[string]string{"LANG": "de_AT.UTF-8"}, true}, {map[string]string{"LANG": "C.utf8"}, true}, {nil, false},
		{map[string]string{"LANG": "en_GB.UTF-8", "LC_ALL": "C"}, false}, {map[string]string{"LANG": "C", "LC_CTYPE": "C.UTF-8"}, true},
	} {
		if got := utf8Locale(func(name string) string { return c.env[name] }); got != c.want {
			t.Errorf("%v: UTF-8 %v", c.env, got)
		}
	}
}

// TestCheckTellsOfTheRod: that the last step of the rod went the wrong way is printed though relief conforms.
func TestCheckTellsOfTheRod(t *testing.T) {
	var text bytes.Buffer
	printResult(&text, &inspect.Spec{}, &inspect.Result{Disposition: inspect.Pass, Why: "all conform", RodNote: "The rod went the wrong way"}, 80)
	if !strings.Contains(text.String(), "  all conform.\n  The rod went the wrong way.\n") {
		t.Error(text.String())
	}
}

// TestCheckShowsSigns: a value that can be negative has its sign, one that cannot has none.
func TestCheckShowsSigns(t *testing.T) {
	row := regexp.MustCompile(`(?m)^    (.*?\S)  +([−+]?)(\d[0-9.]*) (mm|deg|cents)\b`)
	seen := map[bool]int{}
	for name := range worked {
		text, res := printed(t, name, page{width: 120})
		for _, m := range row.FindAllStringSubmatch(text, -1) {
			for _, k := range inspect.Catalogue() {
				if m[1] != k.Words && !strings.HasPrefix(m[1], k.Words+",") && !strings.HasPrefix(m[1], k.Words+" over") {
					continue
				}
				nothing := strings.Trim(m[3], "0.") == ""
				if signed := m[2] != ""; signed != (k.Signed && !nothing) && (k.Signed || m[2] == "+") {
					t.Errorf("%s, %s: %s", name, res.Serial, m[0])
				}
				seen[k.Signed]++
			}
		}
	}
	if seen[true] < 20 || seen[false] < 10 {
		t.Errorf("%v values looked at", seen)
	}
}
