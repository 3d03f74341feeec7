package inspect_test

import (
	"fmt"

	"sagitta/inspect"
)

func ExampleFretX() {
	fmt.Printf("%.3f mm\n", inspect.FretX(648, 12))
	fmt.Printf("%.3f mm\n", inspect.FretX(648, 7))
	// Output:
	// 324.000 mm
	// 215.512 mm
}

func ExampleSagitta() {
	// A board of 305 mm radius, 35 mm wide, is this much higher in the middle than at its edges.
	fmt.Printf("%.4f mm\n", inspect.Sagitta(305, 35))
	// Output: 0.5025 mm
}

func ExampleStraightness() {
	// Five crowns, 30 mm apart, the middle one 0.06 mm high.
	zone, leastSquares, err := inspect.Straightness([]float64{0, 30, 60, 90, 120}, []float64{0, 0, 0.06, 0, 0})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("minimum zone %.3f mm, least squares t %.3f p %.3f v %.3f mm\n", zone.Zone, leastSquares.T, leastSquares.P, leastSquares.V)
	// Output: minimum zone 0.060 mm, least squares t 0.060 p 0.048 v 0.012 mm
}

func ExampleFlatness() {
	// Four corners of which two opposite ones are 0.1 mm high: a twisted surface.
	x, y, z := []float64{0, 400, 0, 400}, []float64{-20, -20, 20, 20}, []float64{0.1, 0, 0, 0.1}
	zone, _, err := inspect.Flatness(x, y, z)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f mm, proved by %d points\n", zone.Zone, len(zone.Contacts))
	// Output: 0.100 mm, proved by 4 points
}

func ExampleLevelZone() {
	// Three tracks over five frets, bowed and twisted, one crown 0.05 mm high.
	var u, y, z []float64
	for track := -1.0; track <= 1; track++ {
		for n := 1; n <= 5; n++ {
			v := inspect.FretX(1, n)
			u, y, z = append(u, v), append(y, 20*track), append(z, v*v-0.3*v+0.01*v*20*track)
		}
	}
	z[7] += 0.05
	zone, err := inspect.LevelZone(u, y, z)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f mm\n", zone.Zone)
	// Output: 0.050 mm
}

func ExampleBendCurve() {
	// A track on a parabola with fret 9 high by 0.06 mm: the curve follows the others.
	var u, z []float64
	for n := 1; n <= 17; n++ {
		v := inspect.FretX(1, n)
		u, z = append(u, v), append(z, -1.2*v*(0.7-v))
	}
	z[8] += 0.06
	bend, err := inspect.BendCurve(u, z)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("fret 9 stands %.3f mm over the bend curve, fret 10 %.3f mm\n", z[8]-bend.At(u[8]), z[9]-bend.At(u[9]))
	// Output: fret 9 stands 0.058 mm over the bend curve, fret 10 -0.002 mm
}

func ExampleCircleRadius() {
	radius, err := inspect.CircleRadius([]float64{-17.5, 0, 17.5}, []float64{-0.50246306, 0, -0.50246306})
	fmt.Printf("%.1f mm %v\n", radius, err)
	// Output: 305.0 mm <nil>
}

func ExampleConformProbability() {
	lower, upper := 0.2, 0.36
	fmt.Printf("%.3f\n", inspect.ConformProbability(0.351, 0.0063, &lower, &upper))
	// Output: 0.923
}

func ExampleJudge() {
	lower, upper := 0.2, 0.36
	for _, rule := range []string{"simple", "guarded_acceptance", "guarded_rejection"} {
		zone, err := inspect.Judge(rule, 1.645, 0.351, 0.0063, &lower, &upper)
		fmt.Println(rule, zone, err)
	}
	// Output:
	// simple conforming <nil>
	// guarded_acceptance undecided <nil>
	// guarded_rejection conforming <nil>
}

func ExamplePropagate() {
	// Relief at fret 7 over frets 1 and 17 of a 648 mm neck, each crown known to 5 um.
	xa, xb, xk := inspect.FretX(648, 1), inspect.FretX(648, 17), inspect.FretX(648, 7)
	relief := func(z []float64) (float64, error) { return z[0] + (z[1]-z[0])*(xk-xa)/(xb-xa) - z[2], nil }
	u, err := inspect.Propagate(relief, []float64{0, 0, -0.3}, []float64{0.005, 0.005, 0.005})
	fmt.Printf("%.4f mm %v\n", u, err)
	// Output: 0.0061 mm <nil>
}
