package draw

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"sagitta/batch/files"
	"sagitta/batch/instrument"
)

var (
	pinnedPicture = regexp.MustCompile(`<a href="#([0-9]+)" aria-label="fret ([0-9]+)"><image href="/p([0-9]+)" x="([0-9.]+)" y="([0-9.]+)" width="96" height="72"`)
	pinnedLine    = regexp.MustCompile(`<path class="pin" d="M([0-9.]+) ([0-9.]+)V([0-9.]+)"/>`)
	viewBox       = regexp.MustCompile(`viewBox="0 0 ([0-9.]+) ([0-9.]+)"`)
)

// TestPinned: with a picture at each fret of every kind of neck, each stands in the drawing, none lies over another or over the board, and each is tied to its own fret.
func TestPinned(t *testing.T) {
	for _, tpl := range instrument.Templates() {
		spec, err := files.ReadSpec(tpl.Name, []byte(tpl.Text))
		if err != nil {
			t.Fatal(err)
		}
		spec = spec.WithDefaults()
		for _, handed := range []string{"", "left"} {
			var pins []Pin
			for n := spec.Neck.Frets; n >= 1; n-- {
				pins = append(pins, Pin{Fret: n, Picture: fmt.Sprintf("/p%d", n), Path: fmt.Sprintf("#%d", n), Words: fmt.Sprintf("fret %d", n)})
			}
			svg := string(Pinned(spec, pins, handed))
			pictures, lines := pinnedPicture.FindAllStringSubmatch(svg, -1), pinnedLine.FindAllStringSubmatch(svg, -1)
			if len(pictures) != len(pins) || len(lines) != len(pins) {
				t.Fatalf("%s: %d pictures and %d lines of %d", tpl.Name, len(pictures), len(lines), len(pins))
			}
			size := viewBox.FindStringSubmatch(svg)
			o := outlineOf(spec)
			under := o.high
			if handed == "left" {
				under = o.low
			}
			board := 2 * (o.half()*o.axis().Scale + 8)
			for i, p := range pictures {
				x, y := number(p[4]), number(p[5])
				if p[1] != p[2] || p[2] != p[3] {
					t.Errorf("%s: the picture of fret %s is %s and leads to %s", tpl.Name, p[2], p[3], p[1])
				}
				if x < 0 || x+pinWide > number(size[1]) || y < board+18 || y+pinHigh > number(size[2]) {
					t.Errorf("%s: fret %s at %g, %g leaves the drawing or meets the board", tpl.Name, p[2], x, y)
				}
				line := lines[len(lines)-1-i]
				at := o.axis().At(under.At(int(number(p[2]))))
				if d := number(line[1]) - at; d > 0.06 || d < -0.06 || number(line[3]) != y || at < x || at > x+pinWide {
					t.Errorf("%s: fret %s is at %g, its line at %s to %s, its picture at %g, %g", tpl.Name, p[2], at, line[1], line[3], x, y)
				}
				for _, q := range pictures[:i] {
					if dx, dy := x-number(q[4]), y-number(q[5]); dx < pinWide && -dx < pinWide && dy < pinHigh && -dy < pinHigh {
						t.Errorf("%s: the pictures of frets %s and %s meet", tpl.Name, p[2], q[2])
					}
				}
			}
		}
	}
	spec, _ := files.ReadSpec("x", []byte(instrument.Templates()[0].Text))
	if svg := string(Pinned(spec.WithDefaults(), []Pin{{Fret: 99, Words: `a "word"`}, {Fret: 3, Words: "fret 3"}}, "")); !strings.Contains(svg, `The neck from above with a photograph at fret 3 and a &#34;word&#34;.`) {
		t.Errorf("its words: %.400s", svg)
	}
}

func number(text string) float64 {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		panic(err)
	}
	return v
}
