package routine

import (
	"os"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/files"
	"sagitta/inspect"
)

// example is the demo's electric, with another routine.
func exampleWith(t *testing.T, change func(r *inspect.Routine)) *inspect.Spec {
	t.Helper()
	text, err := os.ReadFile("../../../testdata/demo/qm-bolt-648.toml")
	if err != nil {
		t.Fatal(err)
	}
	s, err := files.ReadSpec("", text)
	if err != nil {
		t.Fatal(err)
	}
	s = s.WithDefaults()
	s.Routine.Tracks, s.Routine.Closing = []string{"bass", "treble"}, new(false)
	change(s.Routine)
	return s
}

// The time that a routine is said to take lies where the trade has it (from memory, no source): two to four minutes for a whole profile,
// half a minute to a minute for a check of relief. Every way to measure less takes less.
func TestLasts(t *testing.T) {
	carriage := []batch.Gauge{{ID: "carriage", Measures: []batch.Kind{batch.Crown}}}
	profileOnly := func(profile string) *inspect.Spec {
		return exampleWith(t, func(r *inspect.Routine) {
			r.Profile, r.Pitch, r.ActionFrets, r.Strings = profile, "declared", []int{}, inspect.StringList{Numbers: []int{}}
		})
	}
	for _, c := range []struct {
		profile     string
		least, most time.Duration
		points      int
	}{
		{"each fret", 2 * time.Minute, 4 * time.Minute, 45},
		{"leaves", 30 * time.Second, time.Minute, 5},
		{"sweep", 15 * time.Second, time.Minute, 45},
		{"none", 0, 10 * time.Second, 1},
	} {
		if points, took := Lasts(profileOnly(c.profile), carriage); points != c.points || took < c.least || took > c.most {
			t.Errorf("%s: %d points in %v, want %d in %v to %v", c.profile, points, took, c.points, c.least, c.most)
		}
	}
	whole := exampleWith(t, func(r *inspect.Routine) { r.Closing = new(true) })
	open := exampleWith(t, func(*inspect.Routine) {})
	if points, took := Lasts(whole, carriage); points != len(Points(open, carriage))+2 {
		t.Errorf("with the closing reading %d points in %v, without %d", points, took, len(Points(open, carriage)))
	}
	ruler := append(carriage, batch.Gauge{ID: "ruler", Kind: batch.RulerGauge, Measures: []batch.Kind{batch.ActionHeight, batch.NutHeight}})
	height := append(carriage, batch.Gauge{ID: "height", Kind: batch.HeightGauge, Measures: []batch.Kind{batch.ActionHeight, batch.NutHeight}})
	_, byRuler := Lasts(open, ruler)
	_, byGauge := Lasts(open, height)
	if _, typed := Lasts(open, carriage); byRuler != typed || byGauge >= byRuler {
		t.Errorf("heights by gauge %v, by ruler %v, typed %v", byGauge, byRuler, typed)
	}
	if n := Without(Points(open, carriage)); n[batch.Crown] != 0 || n[batch.ActionHeight] != 6 {
		t.Errorf("without a gauge: %v", n)
	}
}

// A routine fits the gauges there are: a carriage that is swept, an indicator at each fret, a beam, else leaves.
func TestFitted(t *testing.T) {
	indicator := batch.Gauge{Measures: []batch.Kind{batch.Crown}, Capture: "key"}
	for _, c := range []struct {
		name           string
		gauges         []batch.Gauge
		profile, pitch string
	}{
		{"nothing", nil, "leaves", "declared"},
		{"leaves", []batch.Gauge{{Kind: batch.LeavesGauge, Measures: []batch.Kind{batch.LeafPasses, batch.LeafStops}}}, "leaves", "declared"},
		{"a beam", []batch.Gauge{{Measures: []batch.Kind{batch.BeamReading}}}, "beam", "declared"},
		{"an indicator and a beam", []batch.Gauge{{Measures: []batch.Kind{batch.BeamReading}}, indicator}, "each fret", "declared"},
		{"an indicator and a tuner", []batch.Gauge{indicator, {Measures: []batch.Kind{batch.Pitch}}}, "each fret", "measured"},
		{"a carriage with an encoder", []batch.Gauge{{Measures: []batch.Kind{batch.Crown}, Capture: "stream", Path: "a"}, {Measures: []batch.Kind{batch.Position}, Capture: "stream", Path: "b"}}, "sweep", "declared"},
		{"an encoder beside an indicator with a key", []batch.Gauge{indicator, {Measures: []batch.Kind{batch.Position}, Capture: "stream"}}, "each fret", "declared"},
		{"a retired indicator", []batch.Gauge{{Measures: []batch.Kind{batch.Crown}, RetiredAt: time.Now()}}, "leaves", "declared"},
	} {
		if profile, pitch := Fitted(c.gauges); profile != c.profile || pitch != c.pitch {
			t.Errorf("%s: %s, %s; want %s, %s", c.name, profile, pitch, c.profile, c.pitch)
		}
	}
}
