package zone_test

import (
	"fmt"

	"sagitta/inspect/internal/kerneltest"
	"sagitta/inspect/zone"
)

func ExampleStraightness() {
	// Five crowns, 30 mm apart, the middle one 0.06 mm high.
	m, leastSquares, err := zone.Straightness([]float64{0, 30, 60, 90, 120}, []float64{0, 0, 0.06, 0, 0})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("minimum zone %.3f mm, least squares t %.3f p %.3f v %.3f mm\n", m.Zone, leastSquares.T, leastSquares.P, leastSquares.V)
	// Output: minimum zone 0.060 mm, least squares t 0.060 p 0.048 v 0.012 mm
}

func ExampleFlatness() {
	// Four corners of which two opposite ones are 0.1 mm high: a twisted surface.
	x, y, z := []float64{0, 400, 0, 400}, []float64{-20, -20, 20, 20}, []float64{0.1, 0, 0, 0.1}
	m, _, err := zone.Flatness(x, y, z)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f mm, proved by %d points\n", m.Zone, len(m.Contacts))
	// Output: 0.100 mm, proved by 4 points
}

func ExampleLevel() {
	// Three tracks over five frets, bowed and twisted, one crown 0.05 mm high.
	var u, y, z []float64
	for track := -1.0; track <= 1; track++ {
		for n := 1; n <= 5; n++ {
			v := kerneltest.Place(n)
			u, y, z = append(u, v), append(y, 20*track), append(z, v*v-0.3*v+0.01*v*20*track)
		}
	}
	z[7] += 0.05
	m, err := zone.Level(u, y, z)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f mm\n", m.Zone)
	// Output: 0.050 mm
}
