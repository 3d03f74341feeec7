package draw

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"sagitta/batch"
	"sagitta/inspect"
)

// words are the words of a drawing with the room that they take, letters about as wide as a common sans serif's.
type words struct {
	text      string
	x0, x1, y float64
}

// wordsOf reads a figure, which has to be whole, and returns its words.
func wordsOf(t *testing.T, name string, fig Figure) []words {
	t.Helper()
	var all []words
	var now *words
	anchor := ""
	for x := xml.NewDecoder(strings.NewReader(string(fig.SVG))); ; {
		token, err := x.Token()
		if errors.Is(err, io.EOF) {
			return all
		} else if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		switch e := token.(type) {
		case xml.StartElement:
			if e.Name.Local != "text" {
				continue
			}
			now = &words{}
			for _, a := range e.Attr {
				switch a.Name.Local {
				case "x":
					now.x0, _ = strconv.ParseFloat(a.Value, 64)
				case "y":
					now.y, _ = strconv.ParseFloat(a.Value, 64)
				case "text-anchor":
					anchor = a.Value
				}
			}
		case xml.CharData:
			if now == nil {
				continue
			}
			now.text = string(e)
			wide := letter * float64(utf8.RuneCountInString(now.text))
			now.x0 -= map[string]float64{"start": 0, "middle": wide / 2, "end": wide}[anchor]
			now.x1 = now.x0 + wide
			all, now = append(all, *now), nil
		}
	}
}

// figureNecks are those whose figures are looked at: the example, and others that specifications describe.
func figureNecks() map[string]*inspect.Spec {
	short := Example()
	short.Neck.ScaleMM, short.Neck.Frets, short.Neck.JointFret, short.Neck.NutRadiusMM = 609.6, 20, 14, 0
	short.Datum = inspect.Datum{FirstFret: 2, SecondFret: 14, ReliefFret: 6}
	long := Example()
	long.Neck.ScaleMM, long.Neck.Frets, long.Neck.JointFret, long.Neck.NutRadiusMM = 863.6, 24, 16, 241
	long.Datum = inspect.Datum{FirstFret: 1, SecondFret: 16, ReliefFret: 8}
	small := Example() // the example is drawn instead
	small.Neck.Frets, small.Neck.JointFret, small.Datum = 5, 5, inspect.Datum{FirstFret: 1, SecondFret: 5, ReliefFret: 3}
	fanned := Example()
	fanned.Neck.ScaleMM, fanned.Neck.ScaleBassMM, fanned.Neck.ScaleTrebleMM = 0, 685.8, 647.7
	return map[string]*inspect.Spec{"example": Example(), "short": short, "long": long, "fanned": fanned, "small": small}
}

// TestFigures: every characteristic has both figures and every gauge one; each is whole, has words, and its labels stand inside it and not
// on one another, on necks of several shapes.
func TestFigures(t *testing.T) {
	for _, k := range inspect.Catalogue() {
		if defines[k.Name] == nil || measures[k.Name] == nil {
			t.Errorf("%s has no figure of what it is, or of how it is measured", k.Name)
		}
	}
	if Defines("no such thing", Example()) != (Figure{}) || Measures("no such thing", Example()) != (Figure{}) {
		t.Error("an unknown name has a figure")
	}
	held := map[string]func(f *figure){"leaf": (*figure).holdLeaf, "beam": (*figure).holdBeam}
	for _, fret := range []int{1, 2, 12, 20} {
		held[fmt.Sprintf("ruler over fret %d", fret)] = func(f *figure) { f.holdRuler(fret) }
	}
	for neck, spec := range figureNecks() {
		for way, figures := range map[string]map[string]func(f *figure){"is": defines, "measured": measures, "held": held} {
			for _, name := range slices.Sorted(maps.Keys(figures)) {
				at := neck + ": " + name + ", " + way
				fig := drawn(figures[name], spec)
				if len(fig.Words) < 40 || !strings.HasSuffix(fig.Words, ".") {
					t.Errorf("%s: told as %q", at, fig.Words)
				}
				all := wordsOf(t, at, fig)
				if len(all) == 0 {
					t.Errorf("%s has no label", at)
				}
				_, tall, _ := strings.Cut(string(fig.SVG), `viewBox="0 0 400 `)
				tall, _, _ = strings.Cut(tall, `"`)
				height, err := strconv.ParseFloat(tall, 64)
				if err != nil {
					t.Errorf("%s: %v", at, err)
				}
				for i, w := range all {
					if w.x0 < 0 || w.x1 > figureWidth || w.y < 10 || w.y > height-1 {
						t.Errorf("%s: %q reaches out of the picture: %.0f to %.0f at %.0f of %.0f", at, w.text, w.x0, w.x1, w.y, height)
					}
					for _, o := range all[:i] {
						if w.x0 < o.x1 && o.x0 < w.x1 && max(w.y-o.y, o.y-w.y) < 12 {
							t.Errorf("%s: %q stands on %q", at, w.text, o.text)
						}
					}
				}
			}
		}
	}
}

// TestFiguresSayWhichWayIsPositive: what is drawn from crowns has, evaluated as readings, a value of the sign that its figure shows as
// positive, and the figure's words name the frets where it lies.
func TestFiguresSayWhichWayIsPositive(t *testing.T) {
	for neck, spec := range figureNecks() {
		f := &figure{spec: spec, board: outlineOf(spec), frets: spec.Fan().Centre.X, a: spec.Datum.FirstFret, k: spec.Datum.ReliefFret, b: spec.Datum.SecondFret, last: spec.Neck.Frets}
		for _, k := range inspect.Catalogue() {
			if !slices.Equal(k.Points, []string{inspect.PointCrown}) && k.Name != inspect.Relief || k.Name == inspect.BoardRadius {
				continue
			}
			flat := *spec
			flat.Neck.NutRadiusMM, flat.Neck.LastFretRadiusMM = 0, 0
			readings := &inspect.Readings{Serial: "F", PitchDeclared: true}
			for side, z := range f.planted(k.Name) {
				track := inspect.TrackReading{Track: side, YNutMM: map[string]float64{"bass": -17.5, "treble": 17.5}[side], YSaddleMM: map[string]float64{"bass": -26, "treble": 26}[side]}
				for i := range z {
					track.ZMM = append(track.ZMM, &z[i])
				}
				readings.Profile = append(readings.Profile, track)
			}
			if spec.Neck.MultiScale() || !shows(spec) { // what figures show along one line is worked out along one line
				continue
			}
			res, err := inspect.Evaluate(&flat, readings, inspect.Options{SkipUncertainty: true})
			if err != nil {
				t.Fatalf("%s: %s: %v", neck, k.Name, err)
			}
			best, fret := 0.0, 0
			for _, c := range res.Characteristics {
				if c.Name == k.Name && c.Value != nil && *c.Value > best {
					best, fret = *c.Value, c.Fret
				}
			}
			if label := "fret " + strconv.Itoa(fret) + "</text>"; (k.AtEveryFret() || k.Found) && !strings.Contains(string(Defines(k.Name, spec).SVG), label) {
				t.Errorf("%s: %s is largest at fret %d, which its figure does not name", neck, k.Name, fret)
			}
			if best < 0.01 {
				t.Errorf("%s: the figure of %s is drawn of a neck whose value is %.3f, not positive", neck, k.Name, best)
			}
		}
	}
}

// TestHoldSaysThisNecksFrets: what is drawn beside a question names the frets of this neck, and a neck without room has no drawing of another.
func TestHoldSaysThisNecksFrets(t *testing.T) {
	for neck, spec := range figureNecks() {
		d := spec.Datum
		for _, c := range []struct {
			point batch.Point
			says  []string
		}{
			{batch.Point{Kind: batch.LeafPasses, Track: "bass", Fret: d.ReliefFret}, []string{fmt.Sprintf("capo at fret %d<", d.FirstFret), fmt.Sprintf("press at fret %d<", d.SecondFret), fmt.Sprintf(">fret %d<", d.ReliefFret)}},
			{batch.Point{Kind: batch.BeamReading, Track: "bass", Fret: d.ReliefFret}, []string{"first foot", fmt.Sprintf(">fret %d<", d.ReliefFret), "second foot"}},
			{batch.Point{Kind: batch.NutHeight, String: 6}, []string{">nut<", ">fret 1<", "eye"}},
			{batch.Point{Kind: batch.ActionHeight, String: 6, Fret: 14}, []string{">fret 13<", ">fret 14<", "eye"}},
		} {
			fig := Hold(c.point, spec)
			if !shows(spec) {
				if fig != (Figure{}) {
					t.Errorf("%s, %s: a neck without room is drawn as %q", neck, c.point.Kind, fig.Words)
				}
				continue
			}
			for _, says := range c.says {
				if !strings.Contains(string(fig.SVG), says) {
					t.Errorf("%s, %s: %q is not said in %s", neck, c.point.Kind, says, fig.SVG)
				}
			}
		}
		if Hold(batch.Point{Kind: batch.Crown, Track: "bass", Fret: 7}, spec) != (Figure{}) {
			t.Errorf("%s: a crown under a gauge has a drawing of how to hold", neck)
		}
	}
}
