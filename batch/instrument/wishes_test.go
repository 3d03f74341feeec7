package instrument_test

import (
	"math"
	"testing"

	"sagitta/batch/instrument"
	"sagitta/inspect"
)

// TestWished: the limits that wishes make are the trade's ranges (common practice): low action of an electric is 1.3 to 1.6 on the low E and 1.0
// to 1.2 on the high e, high 2.0 to 2.4 and 1.6 to 2.0; a classical's low is 3.2 to 3.6 and 2.6 to 2.8. Every template's stay inside its own.
func TestWished(t *testing.T) {
	for _, c := range []struct {
		template     string
		action, hand instrument.Wish
		bass, treble [2]float64 // of action; zero: as the template has it
		relief       [3]float64
	}{
		{"electric-bolt-on", instrument.Low, instrument.Hard, [2]float64{1.3, 1.6}, [2]float64{1.0, 1.2}, [3]float64{0.15, 0.30, 0.45}},
		{"electric-bolt-on", instrument.High, instrument.Light, [2]float64{2.0, 2.4}, [2]float64{1.6, 2.0}, [3]float64{0.05, 0.10, 0.15}},
		{"steel-acoustic", instrument.Low, instrument.Light, [2]float64{2.0, 2.2}, [2]float64{1.5, 1.6}, [3]float64{0.05, 0.075, 0.10}},
		{"classical", instrument.Low, instrument.Hard, [2]float64{3.2, 3.6}, [2]float64{2.6, 2.8}, [3]float64{0.08, 0.25, 0.6}},
		{"bass-bolt-on", instrument.High, instrument.Hard, [2]float64{2.8, 3.5}, [2]float64{2.2, 3.0}, [3]float64{0.25, 0.40, 0.60}},
	} {
		for _, tpl := range instrument.Templates() {
			if tpl.Name != c.template {
				continue
			}
			spec := read(t, tpl)
			instrument.Wished(spec, c.action, c.hand)
			for _, l := range spec.Limits {
				want := [2]float64{-1, -1}
				switch {
				case l.Characteristic == inspect.Action && l.String.Number == 1:
					want = c.treble
				case l.Characteristic == inspect.Action && l.String.Number == len(spec.Strings):
					want = c.bass
				case l.Characteristic == inspect.Relief:
					want = [2]float64{c.relief[0], c.relief[2]}
					if math.Abs(*l.TargetMM-c.relief[1]) > 1e-9 {
						t.Errorf("%s: relief is worked towards %v, want %v", c.template, *l.TargetMM, c.relief[1])
					}
				}
				if want[0] >= 0 && (math.Abs(*l.LowerMM-want[0]) > 1e-9 || math.Abs(*l.UpperMM-want[1]) > 1e-9) {
					t.Errorf("%s, %s %v: %v to %v, want %v", c.template, l.Characteristic, l.String, *l.LowerMM, *l.UpperMM, want)
				}
			}
		}
	}
	for _, tpl := range instrument.Templates() {
		for _, action := range []instrument.Wish{instrument.Usual, instrument.Low, instrument.High} {
			was, is := read(t, tpl), read(t, tpl)
			instrument.Wished(is, action, instrument.Usual)
			for i, l := range is.Limits {
				if l.Characteristic != inspect.Action {
					continue
				}
				if o := was.Limits[i]; *l.LowerMM < *o.LowerMM || *l.UpperMM > *o.UpperMM || *l.LowerMM >= *l.TargetMM || *l.TargetMM >= *l.UpperMM {
					t.Errorf("%s, action %q, string %v: %v, %v, %v", tpl.Name, action, l.String, *l.LowerMM, *l.TargetMM, *l.UpperMM)
				}
			}
		}
	}
}
