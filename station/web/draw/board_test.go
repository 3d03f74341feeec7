package draw

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"regexp"
	"strconv"
	"testing"

	"sagitta/batch/files"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/bench/routine"
)

// fanned is a worked multi-scale neck, and where its strings have their frets by figures from outside.
func fanned(t *testing.T) (spec *inspect.Spec, lines []fretPlaces) {
	t.Helper()
	const geometry = "../../../testdata/reference/geometry/"
	text, err := os.ReadFile(geometry + "necks/W7-fan-good/spec.toml")
	if err != nil {
		t.Fatal(err)
	}
	if spec, err = files.ReadSpec("W7", text); err != nil {
		t.Fatal(err)
	}
	if text, err = os.ReadFile(geometry + "multi_scale.json"); err != nil {
		t.Fatal(err)
	}
	var ref struct {
		Necks []struct {
			Neck  string       `json:"neck"`
			Lines []fretPlaces `json:"lines"`
		} `json:"necks"`
	}
	if err := json.Unmarshal(text, &ref); err != nil {
		t.Fatal(err)
	}
	for _, n := range ref.Necks {
		if n.Neck == spec.Name {
			return spec, n.Lines
		}
	}
	t.Fatalf("no figures for %s", spec.Name)
	return nil, nil
}

// fretPlaces are the places of one string or the centre line.
type fretPlaces struct {
	Line string    `json:"line"`
	XNut float64   `json:"x_nut_mm"`
	X    []float64 `json:"x_mm"`
	Y    []float64 `json:"y_mm"`
}

// drawnLine is a straight line of a drawing, in drawing units.
type drawnLine struct{ x1, y1, x2, y2 float64 }

// at is the line's x at y.
func (l drawnLine) at(y float64) float64 { return l.x1 + (l.x2-l.x1)*(y-l.y1)/(l.y2-l.y1) }

// linesOf returns the straight lines of a class.
func linesOf(svg, class string) []drawnLine {
	var all []drawnLine
	for _, m := range regexp.MustCompile(`class="`+class+`" d="M([\d.-]+) ([\d.-]+)L([\d.-]+) ([\d.-]+)"`).FindAllStringSubmatch(svg, -1) {
		var n [4]float64
		for i := range n {
			n[i], _ = strconv.ParseFloat(m[i+1], 64)
		}
		all = append(all, drawnLine{n[0], n[1], n[2], n[3]})
	}
	return all
}

// TestSlantedFretsAreDrawnToScale: every fret's line on the board passes through its places on every string, by figures from outside,
// along and across in one scale; and the points of the routine lie on those lines.
func TestSlantedFretsAreDrawnToScale(t *testing.T) {
	spec, lines := fanned(t)
	points := routine.Points(spec, nil)
	for _, handed := range []string{"", "left"} {
		svg := string(Board(spec, points, 0, unit.Millimetre, handed))
		frets := linesOf(svg, "fret(?: joint)?")
		if len(frets) != spec.Neck.Frets {
			t.Fatalf("%d frets drawn, the neck has %d", len(frets), spec.Neck.Frets)
		}
		a := XAxisOf(spec)
		down := 1.0
		if handed == "left" {
			down = -1
		}
		mid := outlineOf(spec).half()*a.Scale + 8
		slant := 0.0
		for n, f := range frets {
			slant = max(slant, math.Abs(f.x1-f.x2))
			for _, l := range lines {
				if got, want := f.at(mid+down*l.Y[n]*a.Scale), a.At(l.X[n]); math.Abs(got-want) > 0.11 { // rounded to tenths
					t.Errorf("%s fret %d on %s: drawn at %.1f, stands at %.1f", handed, n+1, l.Line, got, want)
				}
			}
		}
		if slant < 10 {
			t.Errorf("the frets slant by %.1f drawing units at most", slant)
		}
		nut := linesOf(svg, "nut")
		if len(nut) != 1 || math.Abs(nut[0].at(mid+down*-17.5*a.Scale)-a.At(lines[len(lines)-1].XNut)) > 0.11 {
			t.Errorf("the nut is drawn at %v", nut)
		}
		for _, p := range points {
			if !p.Drawn || p.Point.Fret == 0 {
				continue
			}
			f := frets[p.Point.Fret-1]
			if got := a.At(p.XMM); math.Abs(f.at(mid+down*p.YMM*a.Scale)-got) > 0.11 {
				t.Errorf("%s lies at %.1f, its fret at %.1f", p.Words, got, f.at(mid+down*p.YMM*a.Scale))
			}
		}
	}
}

// TestProfileOfAFan: the crowns of each side are drawn at the side's own places.
func TestProfileOfAFan(t *testing.T) {
	spec, lines := fanned(t)
	readings := &inspect.Readings{Serial: "QM-1"}
	for _, track := range spec.WithDefaults().Routine.Tracks {
		for _, k := range spec.TracksOf() {
			if k.Name == track {
				p := inspect.TrackReading{Track: track, YNutMM: k.YNutMM, YSaddleMM: k.YSaddleMM, ZMM: make([]*float64, spec.Neck.Frets)}
				for i := range p.ZMM {
					p.ZMM[i] = new(0.001 * float64(i*(21-i)))
				}
				readings.Profile = append(readings.Profile, p)
			}
		}
	}
	svg := string(Profile(spec, readings, nil, unit.Millimetre))
	a := XAxisOf(spec)
	for _, l := range lines {
		mark := map[string]string{"E2": `<circle class="crown" cx="%.1f"`, "E4": `<rect class="crown" x="%.1f"`}[l.Line]
		if mark == "" {
			continue
		}
		for n, x := range l.X {
			at := a.At(x)
			if l.Line == "E4" {
				at -= 3.5
			}
			if want := fmt.Sprintf(mark, at); !regexp.MustCompile(regexp.QuoteMeta(want)).MatchString(svg) {
				t.Errorf("%s, fret %d: the profile lacks %s", l.Line, n+1, want)
			}
		}
	}
}
