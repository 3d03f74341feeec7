package tell

import (
	"testing"

	"sagitta/batch"
	"sagitta/inspect/unit"
)

func TestLeafInterval(t *testing.T) {
	low, high := 0.2, 0.25
	for want, ends := range map[string][2]*float64{
		"0.20 to 0.25": {&low, &high}, "below 0.25": {nil, &high}, "0.20 or more": {&low, nil}, "": {},
	} {
		if got := LeafInterval(ends, unit.Millimetre); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// TestNoCheckIsSaid: a gauge without a check says why, and no other does.
func TestNoCheckIsSaid(t *testing.T) {
	for _, k := range batch.GaugeKinds {
		g := batch.Ordinary(k, unit.Millimetre)
		want := map[batch.GaugeKind]string{
			batch.LeavesGauge: "it has no zero", batch.RulerGauge: "it has no zero", batch.EncoderGauge: "every sweep finds its place from the frets",
		}[k]
		if got := NoCheck(&g); got != want {
			t.Errorf("%s: %q, want %q", k, got, want)
		}
		if GaugeKinds[k] == "" {
			t.Errorf("%s has no name", k)
		}
	}
}

func TestLeaf(t *testing.T) {
	for want, mm := range map[string]float64{"0.25 mm": 0.25, "0.038 mm": 0.0381, "0.330 mm": 0.3302, "0.0015 in": 0.0381, "0.008 in": 0.2032, "0.013 in": 0.3302} {
		in := unit.Millimetre
		if want[len(want)-2:] == "in" {
			in = unit.Inch
		}
		if got := Leaf(mm, in) + " " + in.String(); got != want {
			t.Errorf("%g mm: %q, want %q", mm, got, want)
		}
	}
}
