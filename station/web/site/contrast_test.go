package site

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// luminance is a colour's relative luminance (WCAG 2.2, definition of relative luminance).
func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	v, err := strconv.ParseUint(strings.TrimPrefix(hex, "#"), 16, 32)
	if err != nil || len(hex) != 7 {
		t.Fatalf("%q is no colour", hex)
	}
	linear := func(shift uint) float64 {
		c := float64(v>>shift&0xFF) / 255
		if c <= 0.04045 {
			return c / 12.92
		}
		return math.Pow((c+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(16) + 0.7152*linear(8) + 0.0722*linear(0)
}

// contrast is the contrast ratio of two colours (WCAG 2.2, definition of contrast ratio): (lighter + 0.05)/(darker + 0.05).
func contrast(t *testing.T, a, b string) float64 {
	x, y := luminance(t, a), luminance(t, b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

// Text has 4.5:1 on its ground and what is drawn 3:1 (WCAG 2.2, 1.4.3 and 1.4.11), by day and by night.
func TestColoursHaveContrast(t *testing.T) {
	// Black on white is 21:1 by definition; #777777 on white is 4.48:1, the best known near miss (WebAIM's contrast checker).
	if c := contrast(t, "#000000", "#FFFFFF"); math.Abs(c-21) > 1e-9 {
		t.Fatalf("black on white: %v", c)
	}
	if c := contrast(t, "#777777", "#FFFFFF"); math.Abs(c-4.48) > 0.005 {
		t.Fatalf("#777777 on white: %v", c)
	}
	sheet, err := files.ReadFile("assets/style.css")
	if err != nil {
		t.Fatal(err)
	}
	screen, _, _ := strings.Cut(string(sheet), "@media print") // paper is black on white
	blocks := regexp.MustCompile(`(?s)color-scheme: (light|dark);(.*?)\}`).FindAllStringSubmatch(screen, -1)
	if len(blocks) != 3 {
		t.Fatalf("%d sets of colours, want the light one and the dark one twice", len(blocks))
	}
	for _, block := range blocks {
		colour := map[string]string{}
		for _, m := range regexp.MustCompile(`--([a-z-]+): (#[0-9A-Fa-f]{6});`).FindAllStringSubmatch(block[2], -1) {
			colour[m[1]] = m[2]
		}
		for _, pair := range []struct {
			on    string
			least float64
			names []string
		}{
			{"paper", 4.5, []string{"ink", "quiet", "accent", "conforming", "nonconforming", "undecided", "doubt"}},
			{"wood", 3, []string{"ink", "quiet", "accent", "conforming", "nonconforming", "undecided", "doubt", "band"}},
			{"accent", 4.5, []string{"on-accent"}},
		} {
			for _, name := range pair.names {
				if c := contrast(t, colour[name], colour[pair.on]); c < pair.least {
					t.Errorf("%s: %s on %s has %.2f:1, want %.1f:1", block[1], name, pair.on, c, pair.least)
				}
			}
		}
	}
}

// A page that is dark on the screen is printed in ink on white: the system's dark colours are the screen's alone, and a
// chosen dark page gives way to paper.
func TestDarkPagesPrintInInk(t *testing.T) {
	sheet, err := files.ReadFile("assets/style.css")
	if err != nil {
		t.Fatal(err)
	}
	if m := regexp.MustCompile(`@media ([^{]*)\{\s*:root:not\(\[data-light="light"\]\)`).FindStringSubmatch(string(sheet)); m == nil || !strings.HasPrefix(m[1], "screen and") {
		t.Errorf("the system's dark colours hold for %q", m)
	}
	dark, print := strings.Index(string(sheet), `:root[data-light="dark"]`), strings.Index(string(sheet), ":root, :root[data-light] { color-scheme: light; --paper: #fff; --ink: #000;")
	if dark < 0 || print < dark {
		t.Errorf("paper's colours stand at %d, those of a chosen dark page at %d: the later ones hold", print, dark)
	}
}
