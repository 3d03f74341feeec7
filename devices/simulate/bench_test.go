package simulate

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"
)

func openBench(t *testing.T, seed uint64) *Bench {
	t.Helper()
	leaks(t)
	b, err := New(Options{
		Dir: t.TempDir(), Seed: seed, Every: time.Millisecond,
		Scenarios: []*Scenario{demoScenario(t, "QM-2611"), demoScenario(t, "QM-2612")},
	})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := b.Close(); err != nil {
			t.Errorf("close: %v", err)
		}
	})
	return b
}

// number reads a pressed frame: mm from "K:+0.123mm", "+1.950mm" or "+.01220in".
func number(t *testing.T, frame []byte) float64 {
	t.Helper()
	s := strings.TrimPrefix(strings.TrimSuffix(string(frame), "\r\n"), "K:")
	unit := 1.0
	if strings.HasSuffix(s, "in") {
		unit = 25.4
	}
	v, err := strconv.ParseFloat(s[:len(s)-2], 64)
	if err != nil {
		t.Fatalf("frame %q: %v", frame, err)
	}
	return v * unit
}

func press(t *testing.T, b *Bench, id string, p Placement) float64 {
	t.Helper()
	if err := b.Place(id, p); err != nil {
		t.Fatal(err)
	}
	frame, err := b.Press(id)
	if err != nil {
		t.Fatalf("%s at %+v: %v", id, p, err)
	}
	return number(t, frame)
}

// drain reads a port until it goes away, so that the gauge is heard.
func drain(t *testing.T, path string) {
	t.Helper()
	p := listen(t, path)
	var done sync.WaitGroup
	done.Go(func() {
		buf := make([]byte, 4096)
		for {
			if _, err := p.Read(buf); err != nil {
				return
			}
		}
	})
	t.Cleanup(func() {
		_ = p.Close()
		done.Wait()
	})
}

// TestBenchAgainstTruth measures one neck whole and compares with its geometry: gauge noise is 0.002 to 0.004 mm, five
// standard deviations are allowed.
func TestBenchAgainstTruth(t *testing.T) {
	b := openBench(t, 7)
	for _, g := range b.Gauges() {
		drain(t, g.Path)
	}
	n, err := demoScenario(t, "QM-2611").Make(4)
	if err != nil {
		t.Fatal(err)
	}
	bass, treble := n.Outer()
	if z := press(t, b, CarriageID, Placement{On: OnFlat}); math.Abs(z) > 0.01 {
		t.Errorf("carriage on the flat: %g mm", z)
	}
	if z := press(t, b, HeightID, Placement{On: OnMaster, MasterMM: 2}); math.Abs(z-2) > 0.02 {
		t.Errorf("height gauge on the 2 mm master: %g mm", z)
	}
	relief := func(attempt int) (reliefs [2]float64, first float64) {
		for side, track := range []Track{bass, treble} {
			var z [23]float64
			for f := 1; f <= n.Frets; f++ {
				z[f] = press(t, b, CarriageID, Placement{On: OnNeck, Serial: n.Serial, Attempt: attempt, Track: track, Fret: f})
			}
			xa, xb, xk := n.FretX(1), n.FretX(17), n.FretX(7)
			reliefs[side] = z[1] + (z[17]-z[1])*(xk-xa)/(xb-xa) - z[7]
			if side == 0 {
				first = z[1]
			}
		}
		return reliefs, first
	}
	r1, first1 := relief(1)
	r2, first2 := relief(2)
	for side, track := range []Track{bass, treble} {
		want := n.Relief(track, 1, 17, 7)
		near(t, "relief of the first laying down", r1[side], want, 5*0.0025)
		near(t, "relief of the second laying down", r2[side], want, 5*0.0025)
	}
	if math.Abs(first1-first2) < 0.01 {
		t.Errorf("fret 1 read %g and %g mm: the neck was not laid down anew", first1, first2)
	}
	for _, s := range n.Strings {
		action, err := n.Action(s.Number, 12, 0)
		if err != nil {
			t.Fatal(err)
		}
		nut, err := n.NutHeight(s.Number)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "action", press(t, b, HeightID, Placement{On: OnNeck, Serial: n.Serial, String: s.Number, Fret: 12}), action, 5*0.0045)
		near(t, "nut height", press(t, b, HeightID, Placement{On: OnNeck, Serial: n.Serial, String: s.Number}), nut, 5*0.0045)
	}
	flat, err := demoScenario(t, "QM-2612").Make(3)
	if err != nil {
		t.Fatal(err)
	}
	beam := b.Gauges()[2]
	bass, _ = flat.Outer()
	at := Placement{On: OnNeck, Serial: flat.Serial, Track: bass, FeetMM: beam.FeetMM, PlungerMM: beam.PlungerMM}
	near(t, "beam on two feet over the datum frets", press(t, b, BeamID, at), flat.Relief(bass, 1, 14, 7), 5*0.0025)

	// After rework the gauge sees the changed neck.
	was := press(t, b, BeamID, at)
	if err := b.Rework(flat.Serial, func(n *Neck) error { return n.TurnRod(0.25) }); err != nil {
		t.Fatal(err)
	}
	near(t, "fall of relief", was-press(t, b, BeamID, at), flat.Rod.MMPerTurn/4, 0.1*flat.Rod.MMPerTurn/4+7*0.0025)
}

// TestHeightGaugeDrifts: the scenario's drift shows on the master once it has gone on, not before.
func TestHeightGaugeDrifts(t *testing.T) {
	b := openBench(t, 1)
	for _, g := range b.Gauges() {
		drain(t, g.Path)
	}
	mean := func() float64 {
		var sum float64
		for range 10 {
			sum += press(t, b, HeightID, Placement{On: OnMaster, MasterMM: 2})
		}
		return sum / 10
	}
	near(t, "in order", mean(), 2, 0.006)
	for range 390 {
		press(t, b, HeightID, Placement{On: OnFlat})
	}
	near(t, "drifted", mean(), 2+0.00025*205, 0.007)
}

func TestSameSeedSameFrames(t *testing.T) {
	run := func(seed uint64) (frames []string) {
		b := openBench(t, seed)
		drain(t, b.Gauges()[0].Path)
		for f := 1; f <= 22; f++ {
			if err := b.Place(CarriageID, Placement{On: OnNeck, Serial: "QM-2611-0002", Track: Track{-17.5, -26}, Fret: f}); err != nil {
				t.Fatal(err)
			}
			frame, err := b.Press(CarriageID)
			if err != nil {
				t.Fatal(err)
			}
			frames = append(frames, string(frame))
		}
		return frames
	}
	one, same, other := strings.Join(run(5), ""), strings.Join(run(5), ""), strings.Join(run(6), "")
	if one != same {
		t.Errorf("one seed, two runs:\n%s\n%s", one, same)
	}
	if one == other {
		t.Error("two seeds, the same frames")
	}
}

func TestBenchRefuses(t *testing.T) {
	b := openBench(t, 1)
	for what, p := range map[string]Placement{
		"no place":     {Serial: "QM-2611-0001", Fret: 1},
		"no neck":      {On: OnNeck, Serial: "QM-2611-0031", Fret: 1},
		"no such fret": {On: OnNeck, Serial: "QM-2611-0001", Fret: 23},
	} {
		if err := b.Place(CarriageID, p); err == nil {
			t.Errorf("%s: accepted", what)
		}
	}
	if b.Place(BeamID, Placement{On: OnNeck, Serial: "QM-2611-0001"}) == nil {
		t.Error("a beam without feet was placed")
	}
	if err := b.Place(HeightID, Placement{On: OnNeck, Serial: "QM-2611-0001", String: 7}); !errors.Is(err, ErrNoString) {
		t.Errorf("string 7: %v", err)
	}
	if _, err := b.Press("micrometer"); err == nil {
		t.Error("an unknown gauge was pressed")
	}
	if b.Rework("QM-2611-0031", func(*Neck) error { return nil }) == nil {
		t.Error("an unknown neck was reworked")
	}
	if _, err := New(Options{Dir: t.TempDir()}); err == nil {
		t.Error("a bench without a scenario was made")
	}
	s := demoScenario(t, "QM-2612")
	if _, err := New(Options{Dir: t.TempDir(), Scenarios: []*Scenario{s, s}}); err == nil {
		t.Error("a bench with every neck twice was made")
	}
	if _, err := New(Options{Dir: "/nonexistent/folder", Scenarios: []*Scenario{s}}); err == nil {
		t.Error("a bench in a missing folder was made")
	}
}

func TestBenchUnplug(t *testing.T) {
	b := openBench(t, 1)
	if err := b.Unplug(HeightID); err != nil {
		t.Fatal(err)
	}
	if _, err := b.Press(HeightID); !errors.Is(err, ErrUnplugged) {
		t.Errorf("pressed while unplugged: %v", err)
	}
	if err := b.Replug(HeightID); err != nil {
		t.Fatal(err)
	}
	drain(t, b.Gauges()[1].Path)
	if z := press(t, b, HeightID, Placement{On: OnFlat}); math.Abs(z) > 0.02 {
		t.Errorf("after replugging, on the flat: %g mm", z)
	}
}
