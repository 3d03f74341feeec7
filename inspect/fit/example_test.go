package fit_test

import (
	"fmt"

	"sagitta/inspect/fit"
	"sagitta/inspect/internal/kerneltest"
)

func ExampleBendCurve() {
	// A track on a parabola with fret 9 high by 0.06 mm: the curve follows the others.
	var u, z []float64
	for n := 1; n <= 17; n++ {
		v := kerneltest.Place(n)
		u, z = append(u, v), append(z, -1.2*v*(0.7-v))
	}
	z[8] += 0.06
	bend, err := fit.BendCurve(u, z)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("fret 9 stands %.3f mm over the bend curve, fret 10 %.3f mm\n", z[8]-bend.At(u[8]), z[9]-bend.At(u[9]))
	// Output: fret 9 stands 0.058 mm over the bend curve, fret 10 -0.002 mm
}

func ExampleCircleRadius() {
	radius, err := fit.CircleRadius([]float64{-17.5, 0, 17.5}, []float64{-0.50246306, 0, -0.50246306})
	fmt.Printf("%.1f mm %v\n", radius, err)
	// Output: 305.0 mm <nil>
}

func ExamplePropagate() {
	// Relief at fret 7 over frets 1 and 17 of a 648 mm neck, each crown known to 5 um.
	xa, xb, xk := 648*kerneltest.Place(1), 648*kerneltest.Place(17), 648*kerneltest.Place(7)
	relief := func(z []float64) (float64, error) { return z[0] + (z[1]-z[0])*(xk-xa)/(xb-xa) - z[2], nil }
	u, err := fit.Propagate(relief, []float64{0, 0, -0.3}, []float64{0.005, 0.005, 0.005})
	fmt.Printf("%.4f mm %v\n", u, err)
	// Output: 0.0061 mm <nil>
}
