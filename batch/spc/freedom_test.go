package spc

import (
	"math"
	"testing"
)

const percentilesFile = "percentiles.json"

func TestMovingRangeFreedom(t *testing.T) {
	e := references(t, percentilesFile, "Degrees of freedom")[0]
	want := decode[[]float64](t, e.Expected, "freedom")
	for i, n := range decode[[]int](t, e.Inputs, "n") {
		near(t, "freedom", MovingRangeFreedom(n), want[i], 1e-6)
	}
	if !math.IsNaN(MovingRangeFreedom(1)) {
		t.Error("one value has no moving range")
	}
	two := Limits{point(-4.0), point(4.0)}
	x := at(0, 1, 100)
	plain, err := Capability(x, CapabilityOptions{Limits: two})
	if err != nil {
		t.Fatal(err)
	}
	own, err := Capability(x, CapabilityOptions{Limits: two, Effective: true})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "freedom of the interval", own.DFWithin, want[6], 1e-6)
	if own.CI.CP[0] >= plain.CI.CP[0] || own.CI.CPK[1] <= plain.CI.CPK[1] || *own.CI.PP != *plain.CI.PP {
		t.Errorf("intervals %v, %v with the moving range's own freedom, %v, %v with n - 1: those of Cp and Cpk are wider, that of Pp is the same", *own.CI.CP, *own.CI.CPK, *plain.CI.CP, *plain.CI.CPK)
	}
}
