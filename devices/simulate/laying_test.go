package simulate

import (
	"math"
	"testing"
)

// TestLaidAnew: with layings a neck lies otherwise after the carriage was on the flat, in another laying and after another neck; and as
// before while nothing of that happens. Its own shape is always the same.
func TestLaidAnew(t *testing.T) {
	sc := demoScenario(t, "QM-2611")
	b, err := New(Options{Dir: t.TempDir(), Seed: 5, Scenarios: []*Scenario{sc}, Layings: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = b.Close() })
	n := b.necks[sc.Serials()[0]]
	bass, _ := n.Outer()
	at := Placement{On: OnNeck, Serial: n.Serial, Attempt: 1, Laying: 1, Track: bass, Fret: 1}
	read := func(p Placement) float64 {
		t.Helper()
		if err := b.Place(CarriageID, p); err != nil {
			t.Fatal(err)
		}
		b.mu.Lock()
		defer b.mu.Unlock()
		z, err := b.truth(CarriageID, p)
		if err != nil {
			t.Fatal(err)
		}
		return z
	}
	relief := func(p Placement) float64 {
		var z [3]float64
		for i, fret := range []int{1, 7, n.JointFret} {
			p.Fret = fret
			z[i] = read(p)
		}
		x1, x7, xb := n.FretX(1), n.FretX(7), n.FretX(n.JointFret)
		return z[0] + (z[2]-z[0])*(x7-x1)/(xb-x1) - z[1]
	}
	first, shape := read(at), relief(at)
	if read(at) != first {
		t.Error("it moved by itself")
	}
	other := at
	other.Serial = sc.Serials()[1]
	again := at
	again.Laying = 2
	seen := []float64{first}
	for name, to := range map[string]func(){
		"a check": func() { read(Placement{On: OnFlat}) }, "another neck": func() { read(other) }, "another laying": func() { read(again) },
	} {
		to()
		z := read(at)
		for _, before := range seen {
			if math.Abs(z-before) < 1e-4 {
				t.Errorf("after %s it lies as it did", name)
			}
		}
		seen = append(seen, z)
		if math.Abs(relief(at)-shape) > 1e-9 {
			t.Errorf("after %s it has another relief", name)
		}
	}
}
