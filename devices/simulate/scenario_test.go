package simulate

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"
)

// demoFile reads one of the demo's files.
func demoFile(name string) ([]byte, error) {
	return os.ReadFile(filepath.Join("..", "..", "testdata", "demo", name))
}

// demoScenario reads one of the demo's scenarios.
func demoScenario(t testing.TB, batch string) *Scenario {
	t.Helper()
	file := batch + ".truth.toml"
	text, err := demoFile(file)
	if err != nil {
		t.Fatal(err)
	}
	s, err := ParseScenario(file, text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// limit is what this test needs of a specification's limits.
type limit struct {
	Characteristic string   `toml:"characteristic"`
	String         any      `toml:"string"`
	Lower          *float64 `toml:"lower_mm"`
	Upper          *float64 `toml:"upper_mm"`
	LowerDeg       *float64 `toml:"lower_deg"`
	UpperDeg       *float64 `toml:"upper_deg"`
}

func (l limit) broken(v float64) bool {
	lower, upper := l.Lower, l.Upper
	if l.Characteristic == "twist" {
		lower, upper = l.LowerDeg, l.UpperDeg
	}
	return lower != nil && v < *lower || upper != nil && v > *upper
}

// brokenBy lists the characteristics of the limits that a neck's truth breaks; those of the crowns' fine level but the
// rocker are left to the station.
func brokenBy(t *testing.T, n *Neck, limits []limit) map[string]bool {
	t.Helper()
	bass, treble := n.Outer()
	broken := map[string]bool{}
	for _, l := range limits {
		var values []float64
		for _, track := range []Track{bass, treble} {
			switch l.Characteristic {
			case "relief":
				values = append(values, n.Relief(track, 1, n.JointFret, n.ReliefFret))
			case "hump":
				values = append(values, n.Hump(track))
			case "fall_away":
				values = append(values, n.FallAway(track))
			case "rocker":
				for f := 2; f < n.JointFret; f++ {
					bend := func(f int) float64 { x := n.FretX(f); return n.smooth(x, n.Y(track, x)) }
					xa, x, xb := n.FretX(f-1), n.FretX(f), n.FretX(f+1)
					line := func(a, b float64) float64 { return a + (b-a)*(x-xa)/(xb-xa) }
					above := n.CrownOn(track, f) - bend(f)
					values = append(values, above-line(n.CrownOn(track, f-1)-bend(f-1), n.CrownOn(track, f+1)-bend(f+1)))
				}
			}
		}
		switch l.Characteristic {
		case "twist":
			values = append(values, n.Twist())
		case "relief_side_difference":
			values = append(values, n.SideDifference())
		}
		for _, s := range n.Strings {
			if number, one := l.String.(int64); one && int(number) != s.Number {
				continue
			}
			fret := map[string]int{"action": 12, "nut_height": 1}[l.Characteristic]
			if fret == 0 {
				continue
			}
			h, err := n.Action(s.Number, fret, 0)
			if err != nil {
				t.Fatal(err)
			}
			values = append(values, h)
		}
		for _, v := range values {
			if l.broken(v) {
				broken[l.Characteristic] = true
			}
		}
	}
	return broken
}

// TestDemoIsWhatItSays: in both batches exactly the planted necks break a limit of their specification, and those
// expected to go to the repairer are those whose hump or twist breaks one.
func TestDemoIsWhatItSays(t *testing.T) {
	for batch, passing := range map[string]int{"QM-2611": 20, "QM-2612": 4} {
		s := demoScenario(t, batch)
		text, err := demoFile(s.Spec)
		if err != nil {
			t.Fatal(err)
		}
		var spec struct {
			Name   string  `toml:"name"`
			Neck   Model   `toml:"neck"`
			Limits []limit `toml:"limit"`
		}
		if err := toml.Unmarshal(text, &spec); err != nil {
			t.Fatal(err)
		}
		m, k := s.Model, spec.Neck
		if spec.Name != m.Name || k.ScaleMM != m.ScaleMM || k.Frets != m.Frets || k.JointFret != m.JointFret ||
			k.NutRadiusMM != m.NutRadiusMM || k.LastFretRadiusMM != m.LastFretRadiusMM || k.Rod != m.Rod {
			t.Errorf("%s: the specification's neck %+v is not the model %+v", batch, k, m)
		}
		truth, err := s.Truth()
		if err != nil {
			t.Fatal(err)
		}
		passed := 0
		for i, row := range truth {
			n, err := s.Make(i + 1)
			if err != nil {
				t.Fatal(err)
			}
			broken := brokenBy(t, n, spec.Limits)
			want := "pass"
			switch {
			case broken["hump"] || broken["twist"]:
				want = "repair"
			case len(broken) > 0:
				want = "rework"
			}
			if row.Expect != want || (row.What != "") != (want != "pass") {
				t.Errorf("%s: expected %q (%s), but it breaks the limits of %v", row.Serial, row.Expect, row.What, broken)
			}
			if want == "pass" {
				passed++
			}
		}
		if passed != passing {
			t.Errorf("%s: %d necks pass, want %d", batch, passed, passing)
		}
	}
}

// TestReworkCuresTheDemo: every planted fault is put right by the work it calls for, in the trade's order (relief first).
func TestReworkCuresTheDemo(t *testing.T) {
	s := demoScenario(t, "QM-2611")
	for _, i := range []int{4, 9, 15, 17, 28} {
		n, err := s.Make(i)
		if err != nil {
			t.Fatal(err)
		}
		steps := 0
		for ; math.Abs(n.Bow()-0.3) > 0.03 && steps < 8; steps++ {
			turns := math.Round(16*math.Max(-0.25, math.Min(0.25, (n.Bow()-0.3)/0.5))) / 16
			if err := n.TurnRod(turns); err != nil {
				t.Fatal(err)
			}
		}
		n.Retune()
		if math.Abs(n.Bow()-0.3) > 0.03 {
			t.Errorf("neck %d: relief %.3f mm after %d steps", i, n.Bow(), steps)
		}
		for _, str := range n.Strings {
			h, err := n.Action(str.Number, 12, 0)
			if err != nil {
				t.Fatal(err)
			}
			if h < 1.3 || h > 2.2 {
				t.Errorf("neck %d, string %d: action %.3f mm with its relief right; the planted fault was relief alone", i, str.Number, h)
			}
		}
	}
	flattop := demoScenario(t, "QM-2612")
	n, err := flattop.Make(5)
	if err != nil {
		t.Fatal(err)
	}
	was := n.Bow()
	if err := n.TurnRod(-0.25); err != nil || n.Bow() != was || !n.Rod.Slack() {
		t.Errorf("a slack single-acting rod: %v, relief %g to %g", err, was, n.Bow())
	}
}

func TestSameSeedSameNecks(t *testing.T) {
	s := demoScenario(t, "QM-2611")
	once, err := s.Truth()
	if err != nil {
		t.Fatal(err)
	}
	twice, err := demoScenario(t, "QM-2611").Truth()
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(once, twice) {
		t.Error("the same scenario gave two truths")
	}
	s.Seed++
	other, err := s.Truth()
	if err != nil {
		t.Fatal(err)
	}
	if reflect.DeepEqual(once[0], other[0]) {
		t.Error("another seed gave the same neck")
	}
	// Planting something in one neck changes no other, and in this one nothing that was not planted.
	s.Seed--
	s.Planted = nil
	free, err := s.Truth()
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(once[0], free[0]) || math.Abs(once[3].TwistDeg-free[3].TwistDeg) > 1e-9 || once[3].RodMMPerTurn != free[3].RodMMPerTurn {
		t.Error("what is planted in one neck changed another thing")
	}
}

func TestWriteTruth(t *testing.T) {
	var out bytes.Buffer
	if err := WriteTruth(&out, demoScenario(t, "QM-2611")); err != nil {
		t.Fatal(err)
	}
	text := out.String()
	for _, want := range []string{"QM-2611-0001", "QM-2611-0030", "hump where the neck meets the body", "Gauge height", "frets 1 and 17"} {
		if !strings.Contains(text, want) {
			t.Errorf("the truth does not say %q:\n%s", want, text)
		}
	}
}

func TestScenarioFaults(t *testing.T) {
	good, err := demoFile("QM-2612.truth.toml")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ from, to, want string }{
		{"relief_fret = 7", "relief_frets = 7", "relief_frets: unknown key"},
		{"relief_fret = 7", "relief_fret = 14", "model.relief_fret: found 14"},
		{"scale_mm = 645.0", "scale_mm = nan", "model.scale_mm: found NaN"},
		{"frets = 20", `frets = "many"`, "x.toml:"},
		{`rod = "single"`, `rod = "triple"`, "model.rod: found triple"},
		{"neck = 3", "neck = 7", "planted[1].neck: found 7; allowed: 1 to 6"},
		{"neck = 5", "neck = 3", "each neck once"},
		{`expect = "rework"`, `expect = "fail"`, "planted[1].expect: found fail"},
		{"number = 2", "number = 1", "each once"},
		{"nut_radius_mm = 400.0", "nut_radius_mm = 0.0", "both 0 or neither"},
	} {
		if !bytes.Contains(good, []byte(c.from)) {
			t.Fatalf("the scenario has no %q to spoil", c.from)
		}
		_, err := ParseScenario("x.toml", bytes.Replace(good, []byte(c.from), []byte(c.to), 1))
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "x.toml") {
			t.Errorf("%q for %q: got %v, want the file and %q", c.to, c.from, err, c.want)
		}
	}
	s := demoScenario(t, "QM-2612")
	for _, i := range []int{0, 7} {
		if _, err := s.Make(i); err == nil {
			t.Errorf("neck %d of 6 was made", i)
		}
	}
	if serials := s.Serials(); !slices.Equal(serials[:2], []string{"QM-2612-0001", "QM-2612-0002"}) || len(serials) != 6 {
		t.Errorf("serials: %v", serials)
	}
}

// FuzzScenario: whatever is in the file, nothing panics; what is taken makes its first neck.
func FuzzScenario(f *testing.F) {
	for _, file := range []string{"QM-2611.truth.toml", "QM-2612.truth.toml", "QM-2613.truth.toml"} {
		text, err := demoFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		s, err := ParseScenario("fuzz.toml", text)
		if err != nil {
			return
		}
		if _, err := s.Make(1); err != nil {
			t.Error(err)
		}
	})
}
