package spc_test

import (
	"fmt"

	"sagitta/batch/spc"
)

// Relief of necks in mm in the order of inspection; the limits come from the first ten and stand for the rest.
func ExampleIndividuals() {
	relief := []float64{0.21, 0.24, 0.22, 0.20, 0.23, 0.22, 0.25, 0.21, 0.23, 0.22, 0.24, 0.31}
	chart, err := spc.Individuals(relief, spc.Options{Base: spc.Base{From: 1, To: 10}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f to %.3f\n", chart.Lower, chart.Upper)
	for _, s := range chart.Signals() {
		fmt.Println(s.Test, s.At)
	}
	// Output:
	// 0.161 to 0.285
	// 1 12
}

// One limit only: there is no Pp, and Ppk is that of the limit there is.
func ExampleCapability() {
	twist := []float64{0.05, 0.07, 0.04, 0.06, 0.08, 0.05, 0.06, 0.07}
	upper := 0.15
	r, err := spc.Capability(twist, spc.CapabilityOptions{Limits: spc.Limits{Upper: &upper}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("Ppk %.2f (%.2f to %.2f), Pp defined: %v\n", *r.PPK, r.CI.PPK[0], r.CI.PPK[1], r.PP != nil)
	// Output: Ppk 2.29 (1.07 to 3.51), Pp defined: false
}
