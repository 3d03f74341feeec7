package draw

import (
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"

	"sagitta/inspect"
)

// TestSketches: every figure that the catalogue names is drawn, tells its words, and names the specification's datum frets.
func TestSketches(t *testing.T) {
	d, drawn := inspect.Datum{FirstFret: 2, SecondFret: 15, ReliefFret: 6}, 0
	for _, k := range inspect.Catalogue() {
		got := string(Sketch(k.Figure, d))
		if (got != "") != (k.Figure != "") {
			t.Errorf("%s has the figure %q and its drawing %q", k.Name, k.Figure, got)
		}
		if got == "" {
			continue
		}
		drawn++
		if !strings.Contains(got, ">"+k.Words+"</text>") {
			t.Errorf("the figure of %s does not name it: %s", k.Name, got)
		}
		if k.Name != inspect.Rocker && (!strings.Contains(got, "fret 2") || !strings.Contains(got, "fret 15")) {
			t.Errorf("the figure of %s does not name the datum frets: %s", k.Name, got)
		}
		for x := xml.NewDecoder(strings.NewReader(got)); ; {
			if _, err := x.Token(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Fatalf("the figure of %s: %v", k.Name, err)
			}
		}
	}
	if drawn != 3 {
		t.Errorf("%d figures, want 3", drawn)
	}
}
