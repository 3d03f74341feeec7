package routine

import (
	"fmt"
	"math"
	"reflect"
	"testing"

	"sagitta/batch"
	"sagitta/batch/files"
	"sagitta/inspect"
	"sagitta/testdata/demo"
)

// gauges measure crowns and heights.
var gauges = []batch.Gauge{
	{ID: "carriage", Measures: []batch.Kind{batch.Crown}, Capture: "stream", Path: "/dev/one"},
	{ID: "height", Measures: []batch.Kind{batch.ActionHeight, batch.NutHeight}, Capture: "key"},
}

func spec(t *testing.T, name string) *inspect.Spec {
	t.Helper()
	text, err := demo.Files.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	s, err := files.ReadSpec(name, text)
	if err != nil {
		t.Fatal(err)
	}
	return s.WithDefaults()
}

// attempt is an inspection of a bolt-on neck of which nothing has been read.
func attempt(t *testing.T) *Attempt {
	t.Helper()
	s := spec(t, "qm-bolt-648.toml")
	return &Attempt{Spec: s, Inspection: batch.Inspection{ID: "one"}, Routine: Points(s, gauges)}
}

// sound is what a sound neck gives at a point, mm: an even bow of 0.28 mm on the board's own radius, then a little fall-away.
func sound(p Point, s *inspect.Spec) float64 {
	switch p.Point.Kind {
	case batch.PitchDeclared:
		return 1
	case batch.NutHeight:
		return 0.44
	case batch.ActionHeight:
		return 1.55 + 0.06*float64(p.Point.String-1)
	}
	x := func(n int) float64 { return inspect.FretX(s.Neck.ScaleMM, n) }
	xb, r := x(s.Neck.JointFret), s.Neck.NutRadiusMM
	z := -0.15 * (p.XMM - xb) / (x(s.Neck.Frets) - xb)
	if p.XMM < xb {
		z = 0.28 / ((x(7) - x(1)) * (xb - x(7))) * (xb - p.XMM) * (xb - p.XMM)
	}
	return math.Round(1000*(z-r+math.Sqrt(r*r-p.YMM*p.YMM))) / 1000
}

// read takes the point that is asked for; mm is added to what a sound neck gives.
func (a *Attempt) read(t *testing.T, mm float64) Progress {
	t.Helper()
	p := a.replay(t)
	point := p.Points[p.Next]
	a.Readings = append(a.Readings, batch.Reading{
		ID: fmt.Sprint(len(a.Readings)), Seq: int64(len(a.Readings) + 1), Point: point.Point, Round: p.RoundOf(point.Key), Supersedes: p.Replaces(point.Key),
		Value: sound(point, a.Spec) + mm, U: 0.003, URepeat: 0.002, GaugeID: point.GaugeID,
	})
	return a.replay(t)
}

func (a *Attempt) replay(t *testing.T) Progress {
	t.Helper()
	p, err := a.Replay()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// TestPoints lists the demo's routines: pitch first, then the profile, nut heights and action.
func TestPoints(t *testing.T) {
	for name, want := range map[string][]string{
		"qm-bolt-648.toml":          {"pitch declared", "crown", "nut height", "action"},
		"qm-bolt-648-fretwork.toml": {"pitch declared", "crown"},
	} {
		s := spec(t, name)
		var order []string
		seen := map[string]bool{}
		for _, p := range Points(s, gauges) {
			if k := string(p.Point.Kind); len(order) == 0 || order[len(order)-1] != k {
				order = append(order, k)
			}
			if seen[p.Key] {
				t.Errorf("%s: %s is asked for twice", name, p.Key)
			}
			seen[p.Key] = true
		}
		if !reflect.DeepEqual(order, want) {
			t.Errorf("%s asks for %v, want %v", name, order, want)
		}
	}
}

// TestLeastWay: up the bass side and down the treble side, across the strings from the bass side and back over the next fret.
func TestLeastWay(t *testing.T) {
	s := spec(t, "qm-bolt-648.toml")
	s.Routine.ActionFrets = []int{12, 17}
	var way []string
	for _, p := range Points(s, gauges) {
		switch p.Point.Kind {
		case batch.Crown:
			way = append(way, fmt.Sprint(p.Point.Track, p.Point.Fret))
		case batch.NutHeight, batch.ActionHeight:
			way = append(way, fmt.Sprint(p.Point.Fret, "/", p.Point.String))
		}
	}
	var want []string
	for fret := 1; fret <= 22; fret++ {
		want = append(want, fmt.Sprint("bass", fret))
	}
	for fret := 22; fret >= 1; fret-- {
		want = append(want, fmt.Sprint("treble", fret))
	}
	for _, row := range []struct {
		fret int
		down bool
	}{{0, true}, {12, false}, {17, true}} {
		for i := 1; i <= 6; i++ {
			number := i
			if row.down {
				number = 7 - i
			}
			want = append(want, fmt.Sprint(row.fret, "/", number))
		}
	}
	if !reflect.DeepEqual(way, want) {
		t.Errorf("the way is %v, want %v", way, want)
	}
}

// TestReplay: however far the readings are, the next point is the first that has none, and replaying again says the same.
func TestReplay(t *testing.T) {
	a := attempt(t)
	for i := range a.Routine {
		p := a.replay(t)
		if p.Next != i || p.Done() != i || p.Round != 1 {
			t.Fatalf("after %d readings point %d is next in round %d, %d done", i, p.Next, p.Round, p.Done())
		}
		if again := a.replay(t); !reflect.DeepEqual(p, again) {
			t.Fatalf("after %d readings a second replay says something else", i)
		}
		a.read(t, 0)
	}
	p := a.replay(t)
	if p.Next != -1 || p.Result.Disposition != inspect.Pass {
		t.Fatalf("next %d, %s", p.Next, p.Result.Disposition)
	}
}

// TestTakenBackIsAskedForAgain: a point whose reading was taken back is the next, one that was marked as not to be measured is not.
func TestTakenBackIsAskedForAgain(t *testing.T) {
	a := attempt(t)
	for range 5 {
		a.read(t, 0)
	}
	a.Readings = append(a.Readings, batch.Reading{ID: "back", Seq: 6, Point: a.Routine[3].Point, Round: 1, Withdrawn: true, Supersedes: "3"})
	if p := a.replay(t); p.Next != 3 || p.Points[3].Taken {
		t.Errorf("next %d, %+v", p.Next, p.Points[3])
	}
	a.Readings = append(a.Readings, batch.Reading{ID: "skipped", Seq: 7, Point: a.Routine[3].Point, Round: 1, Withdrawn: true})
	if p := a.replay(t); p.Next != 5 || !p.Points[3].Skipped || p.Done() != 5 {
		t.Errorf("next %d, %+v", p.Next, p.Points[3])
	}
}

// TestRounds: an undecided result asks for its points again, twice at most.
func TestRounds(t *testing.T) {
	a := attempt(t)
	a.Spec.Decision.Rule = "guarded_acceptance"
	near := func(p Point) float64 { // one height within its uncertainty of its lower limit
		if p.Point.Kind != batch.NutHeight || p.Point.String != 1 {
			return 0
		}
		for _, l := range a.Spec.Limits {
			if l.Characteristic == "nut_height" && l.LowerMM != nil {
				return *l.LowerMM + 0.001 - sound(p, a.Spec)
			}
		}
		t.Fatal("the nut's height has no lower limit")
		return 0
	}
	asked := map[int]int{}
	for n := 0; ; n++ {
		p := a.replay(t)
		if p.Next < 0 {
			if p.Round != maxRounds || p.Result.Disposition != inspect.Remeasure {
				t.Fatalf("complete in round %d: %s", p.Round, p.Result.Disposition)
			}
			break
		}
		if n > 200 {
			t.Fatal("the routine does not end")
		}
		asked[p.Round]++
		a.read(t, near(p.Points[p.Next]))
	}
	if asked[1] != len(a.Routine) || asked[2] != 1 || asked[3] != 1 {
		t.Errorf("points asked for by round: %v", asked)
	}
}

// TestDoubt: before a verdict a reading in doubt is asked for again, after it it is not.
func TestDoubt(t *testing.T) {
	a := attempt(t)
	for range 6 {
		a.read(t, 0)
	}
	a.Doubted = map[string]bool{"2": true}
	if p := a.replay(t); p.Next != 2 || !p.Points[2].InDoubt || p.InDoubt() != 1 || p.Replaces(p.Points[2].Key) != "2" {
		t.Errorf("next %d, %+v", p.Next, p.Points[2])
	}
	a.Concluded = true
	if p := a.replay(t); p.Next != 6 || !p.Points[2].InDoubt {
		t.Errorf("after a verdict next is %d", p.Next)
	}
}

// TestTurns: turns of the rod, one way, are judged as one when they were the only work, pitch apart, since the verdict before.
func TestTurns(t *testing.T) {
	in := batch.Inspection{ID: "three", Attempt: 3}
	attempts := []batch.Inspection{{ID: "one", Attempt: 1, State: batch.Finished}, {ID: "two", Attempt: 2, State: batch.Finished}, in}
	turned := func(id string, turns float64, way string) batch.ReworkAction {
		return batch.ReworkAction{InspectionID: id, What: "truss rod", Turns: turns, Direction: way, ReliefBefore: new(0.4)}
	}
	first := turned("one", 0.25, "tighten")
	for name, c := range map[string]struct {
		done  []batch.ReworkAction
		judge bool
		net   float64
		again bool
	}{
		"alone":            {[]batch.ReworkAction{first, turned("two", 0.125, "loosen")}, true, 0.125, false},
		"with pitch":       {[]batch.ReworkAction{first, {InspectionID: "two", What: "pitch"}, turned("two", 0.125, "tighten")}, true, 0.375, false},
		"with other work":  {[]batch.ReworkAction{first, {InspectionID: "two", What: "action"}, turned("two", 0.125, "tighten")}, false, 0.375, false},
		"twice":            {[]batch.ReworkAction{turned("two", 0.125, "tighten"), turned("two", 0.125, "tighten")}, true, 0.25, false},
		"both ways":        {[]batch.ReworkAction{turned("two", 0.25, "tighten"), turned("two", 0.125, "loosen")}, false, 0.125, false},
		"after a repairer": {[]batch.ReworkAction{first, {InspectionID: "one", What: "repairer"}, turned("two", 0.125, "tighten")}, true, 0.125, false},
		"by a repairer":    {[]batch.ReworkAction{first, {InspectionID: "two", What: "repairer"}}, false, 0, false},
		"an attempt ago":   {[]batch.ReworkAction{first}, false, 0.25, true},
		"of this attempt":  {[]batch.ReworkAction{turned("three", 0.25, "tighten")}, false, 0, false},
		"nothing was done": {nil, false, 0, false},
	} {
		turn, again, net := Turns(in, attempts, c.done)
		if (turn != nil) != c.judge || again != c.again || net != c.net {
			t.Errorf("%s: turn %+v, again %v, net %g, want %+v", name, turn, again, net, c)
		}
		if turn != nil && turn.Turns != map[bool]float64{true: 0.25, false: 0.125}[name == "twice"] {
			t.Errorf("%s: %+v", name, turn)
		}
	}
}

// TestCarriage: the indicator on the encoder's line comes before one that is registered earlier.
func TestCarriage(t *testing.T) {
	place := batch.Gauge{ID: "place", Measures: []batch.Kind{batch.Position}, Capture: "stream", Path: "/dev/two"}
	near := batch.Gauge{ID: "near", Measures: []batch.Kind{batch.Crown}, Capture: "stream", Path: "/dev/two"}
	name := func(g *batch.Gauge) string {
		if g == nil {
			return ""
		}
		return g.ID
	}
	for want, all := range map[string][]batch.Gauge{
		"":         gauges,
		"carriage": append([]batch.Gauge{place}, gauges...),
		"near":     {gauges[0], near, place},
	} {
		indicator, encoder := Carriage(all)
		if name(indicator) != want || (encoder != nil) != (want != "") {
			t.Errorf("indicator %q, want %q", name(indicator), want)
		}
	}
}
