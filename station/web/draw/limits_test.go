package draw

import (
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"sagitta/batch/files"
	"sagitta/batch/instrument"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

var limitLabel = regexp.MustCompile(`<text class="limit-label" x="([-0-9.]+)" y="([-0-9.]+)">([^<]*)</text>`)

// Every limit of a string or track is written on the neck with its bounds, no label lies over another or beyond the drawing, and what has
// no place is listed; each string or side that a limit is of has its mark.
func TestLimitsOnTheNeck(t *testing.T) {
	texts := map[string]string{}
	for _, tpl := range instrument.Templates() {
		texts[tpl.Name] = tpl.Text
	}
	demo, err := filepath.Glob("../../../testdata/demo/qm-*.toml")
	if err != nil || len(demo) == 0 {
		t.Fatal(demo, err)
	}
	for _, file := range demo {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		texts[file] = string(text)
	}
	for name, text := range texts {
		spec, err := files.ReadSpec(name, []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		spec = spec.WithDefaults()
		for _, lengths := range []unit.Unit{unit.Millimetre, unit.Inch} {
			svg := string(Limits(spec, lengths))
			whole := strings.Join(tell.WholeNeck(spec, lengths), "\n")
			marks := 0
			for _, l := range spec.Limits {
				k := inspect.KindOf(l.Characteristic)
				switch {
				case !k.Track && !k.String:
					if !strings.Contains(whole, tell.LimitName(l)) {
						t.Errorf("%s: %s is told nowhere", name, tell.LimitName(l))
					}
					continue
				case l.Track == "each":
					marks += len(spec.TrackNames())
				case l.String.Each:
					marks += len(spec.Strings)
				default:
					marks++
				}
				if !strings.Contains(svg, ">"+k.Words+" "+tell.BoundsInShort(l, lengths)) {
					t.Errorf("%s: %s is not on the neck", name, tell.LimitName(l))
				}
			}
			if n := strings.Count(svg, `class="place"`); n != marks {
				t.Errorf("%s: %d marks, want %d", name, n, marks)
			}
			labelsApart(t, name, svg)
		}
	}
}

func labelsApart(t *testing.T, name, svg string) {
	t.Helper()
	type box struct{ x0, y0, x1 float64 }
	var boxes []box
	for _, m := range limitLabel.FindAllStringSubmatch(svg, -1) {
		x, errX := strconv.ParseFloat(m[1], 64)
		y, errY := strconv.ParseFloat(m[2], 64)
		if errX != nil || errY != nil {
			t.Fatal(m)
		}
		b := box{x, y, x + letterWide*float64(utf8.RuneCountInString(m[3]))}
		if b.x0 < 0 || b.x1 > drawWidth {
			t.Errorf("%s: %q lies from %.0f to %.0f", name, m[3], b.x0, b.x1)
		}
		for _, o := range boxes {
			if b.x0 < o.x1 && b.x1 > o.x0 && b.y0 > o.y0-letterHigh+2 && b.y0 < o.y0+letterHigh-2 {
				t.Errorf("%s: %q lies over another", name, m[3])
			}
		}
		boxes = append(boxes, b)
	}
}
