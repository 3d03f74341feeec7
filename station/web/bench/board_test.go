package bench

import (
	"fmt"
	"math"
	"net/url"
	"testing"

	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/draw"
	"sagitta/station/web/webtest"
)

// TestNoChordBeforeBothDatumFrets checks that a routine under way draws no chord, datum mark or limits to read relief from.
func TestNoChordBeforeBothDatumFrets(t *testing.T) {
	_, s := storybook(t)
	spec := s.Spec.Spec.WithDefaults()
	early := measuring(s, crowned{relief: 0.3}, 7)
	svg := string(draw.Profile(spec, early.Readings, early.Result, unit.Millimetre))
	webtest.Wants(t, svg, "no chord yet: line over frets 1 and", `class="chord sofar"`, "so far")
	for _, mark := range []string{`class="datum"`, `class="band"`, `class="chord"`} {
		if contains(svg, mark) {
			t.Errorf("%s is drawn before both datum frets are known", mark)
		}
	}
	done := decided(s, crowned{relief: 0.3})
	webtest.Wants(t, string(draw.Profile(spec, done.Readings, done.Result, unit.Millimetre)), `class="datum"`, `class="band"`, `class="chord"`)
}

// TestPointsAreDrawnAtTheirFrets checks the drawing's scale against equal temperament: the octave lies half-way.
func TestPointsAreDrawnAtTheirFrets(t *testing.T) {
	_, s := storybook(t)
	spec := s.Spec.Spec.WithDefaults()
	a := draw.XAxisOf(spec)
	nut, octave := a.At(0), a.At(inspect.FretX(648, 12))
	if got, want := (octave-nut)/a.Scale, 324.0; math.Abs(got-want) > 1e-9 {
		t.Errorf("fret 12 is drawn %.6f mm from the nut, want half the scale length, %.0f mm", got, want)
	}
	snap := measuring(s, crowned{relief: 0.3}, 30)
	svg := string(draw.Board(spec, snap.Points, snap.Next, unit.Millimetre, ""))
	webtest.Wants(t, svg, "30 of ", "Asked for: "+snap.Points[30].Words, `class="next"`, fmt.Sprintf(`d="M%.1f `, octave))
}

// TestLeftHandedBoard draws a left-handed neck with its sides mirrored.
func TestLeftHandedBoard(t *testing.T) {
	b, s := storybook(t)
	snap := measuring(s, crowned{relief: 0.3}, 0)
	snap.SidesFree = true
	b.show(snap)
	right := s.Get("/", 200)
	webtest.Wants(t, right, "This neck is left-handed", `>bass</text><text class="side"`)
	in := *snap.Inspection
	in.Handed = "left"
	snap.Inspection = &in
	b.show(snap)
	webtest.Wants(t, s.Get("/", 200), "left-handed</span>", "This neck is right-handed", `>treble</text><text class="side"`)
	s.Post("/bench/handed", url.Values{"handed": {""}}, 303)
	if got := b.noted(); len(got) != 1 || got[0] != `handed ""` {
		t.Errorf("the bench got %q", got)
	}
}
