package batch

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"sagitta/inspect/unit"
)

// TestKindOfOldEntries: an entry from the time before kinds is what it measures, and how its readings come.
func TestKindOfOldEntries(t *testing.T) {
	for entry, want := range map[string]GaugeKind{
		`{"Name":"a","Measures":["crown"],"Capture":"stream"}`:            IndicatorGauge,
		`{"Name":"a","Measures":["action","nut height"],"Capture":"key"}`: HeightGauge,
		`{"Name":"a","Measures":["beam"],"FeetMM":[36,403]}`:              BeamGauge,
		`{"Name":"a","Measures":["crown","beam"]}`:                        BeamGauge,
		`{"Name":"a","Measures":["position"],"Capture":"stream"}`:         EncoderGauge,
		`{"Name":"a","Measures":["pitch"]}`:                               TunerGauge,
		`{"Name":"a","Measures":["leaf passes","leaf stops"]}`:            CaliperGauge, // it had a line
		`{"Name":"a","Capture":"foot","FootSwitch":"CTS"}`:                FootSwitchGauge,
		`{"Name":"a","Capture":"lamp"}`:                                   LampGauge,
		`{"Name":"a","Measures":["action"],"Kind":"ruler"}`:               RulerGauge,
	} {
		var g Gauge
		if err := json.Unmarshal([]byte(entry), &g); err != nil || g.Kind != want {
			t.Errorf("%s is a %q, want %q (%v)", entry, g.Kind, want, err)
		}
	}
}

// TestOrdinaryGauges: what is entered as it is commonly found is whole, needs no line, and tells its own uncertainty.
func TestOrdinaryGauges(t *testing.T) {
	for _, in := range []unit.Unit{unit.Millimetre, unit.Inch} {
		for _, k := range GaugeKinds {
			g := Ordinary(k, in)
			if !g.ByEye() {
				continue
			}
			if faults := g.Check(); len(faults) > 0 {
				t.Errorf("%s: %v", k, faults)
			}
			if g.NoCheck() != (k != BeamByEyeGauge) {
				t.Errorf("%s: no check %v", k, g.NoCheck())
			}
		}
	}
	ruler, beam := Ordinary(RulerGauge, unit.Inch), Ordinary(BeamByEyeGauge, unit.Inch)
	if u := 2 * ruler.U(); math.Abs(u-0.1) > 1e-12 {
		t.Errorf("a ruler's U is %g mm", u)
	}
	if u := 2 * beam.U(); math.Abs(u-0.0115) > 0.0005 {
		t.Errorf("a beam's U is %g mm", u)
	}
	if leaves := Ordinary(LeavesGauge, unit.Inch).LeavesMM; math.Abs(leaves[8]-0.2032) > 1e-12 { // 0.008 in
		t.Errorf("inch leaves %v", leaves)
	}
}

func TestGaugeKindFaults(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*Gauge)
		want   string
	}{
		"unknown kind":       {func(g *Gauge) { g.Kind = "lever" }, "kind"},
		"leaves with a line": {func(g *Gauge) { g.Path = "/dev/ttyS0" }, "has no line"},
		"leaves in no order": {func(g *Gauge) { g.LeavesMM = []float64{0.1, 0.3, 0.2} }, "leaf[3]"},
		"a leaf twice":       {func(g *Gauge) { g.LeavesMM = []float64{0.1, 0.1} }, "leaf[2]"},
		"too thin":           {func(g *Gauge) { g.LeavesMM = []float64{0.001, 0.1} }, "leaf[1]"},
		"no number":          {func(g *Gauge) { g.LeavesMM = []float64{0.1, math.NaN()} }, "leaf[2]"},
		"one leaf":           {func(g *Gauge) { g.LeavesMM = []float64{0.1} }, "two leaves or more"},
		"a ruler's leaves":   {func(g *Gauge) { g.Kind = RulerGauge }, "only a set of leaves"},
	} {
		g := Ordinary(LeavesGauge, unit.Millimetre)
		c.change(&g)
		var text []string
		for _, f := range g.Check() {
			text = append(text, f.Error())
		}
		if all := strings.Join(text, "; "); !strings.Contains(all, c.want) {
			t.Errorf("%s: %q does not say %q", name, all, c.want)
		}
	}
}
