package spc

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mat"
)

// AverageRunLength is how many values an EWMA of standard Normal values that lie shift sigmas off the target takes on the average
// until it leaves its limits, which stand width sigmas of the average in the end away; it begins at the target. Lambda is above 0
// and no more than 1. It solves the integral equation of the run length on Gauss and Legendre's points, more of them the slower the
// average forgets; below slowest the length is taken as inversely proportional to lambda for the same shift in sigmas of the average,
// and widths above widest are that one. A length that the equation cannot tell from one without end is +Inf.
// Source: S. V. Crowder, Technometrics 29 (1987) 401-407.
func AverageRunLength(a Average, shift float64) float64 {
	const slowest, widest = 0.005, 8
	if a.Lambda < slowest {
		times := slowest / a.Lambda
		return times * AverageRunLength(Average{slowest, a.Width}, shift*math.Sqrt(times))
	}
	h := min(a.Width, widest) * math.Sqrt(a.Lambda/(2-a.Lambda))
	nodes := max(41, int(5*h/a.Lambda)) // five to a standard deviation of the newest value's part
	x, w := make([]float64, nodes), make([]float64, nodes)
	quad.Legendre{}.FixedLocations(x, w, -h, h)
	density := func(to, from float64) float64 {
		z := (to-(1-a.Lambda)*from)/a.Lambda - shift
		return math.Exp(-z*z/2) / (math.Sqrt(2*math.Pi) * a.Lambda)
	}
	m, ones := mat.NewDense(nodes, nodes, nil), mat.NewVecDense(nodes, nil)
	for i := range x {
		for j := range x {
			m.Set(i, j, -w[j]*density(x[j], x[i]))
		}
		m.Set(i, i, m.At(i, i)+1)
		ones.SetVec(i, 1)
	}
	var lengths mat.VecDense
	if err := lengths.SolveVec(m, ones); err != nil { // singular to working precision
		return math.Inf(1)
	}
	sum := 1.0
	for j := range x {
		sum += w[j] * density(x[j], 0) * lengths.AtVec(j)
	}
	if !(sum >= 1) {
		return math.Inf(1)
	}
	return sum
}

// widthsKnown keeps the widths by what they were asked for.
var widthsKnown sync.Map

// WidthFor is the width of an EWMA's limits, in sigmas of the average, whose run length in control is between values, at least 10.
func WidthFor(lambda, between float64) float64 {
	key := [2]float64{lambda, between}
	if w, ok := widthsKnown.Load(key); ok {
		return w.(float64)
	}
	low, high := 0.5, 8.0
	for range 40 {
		mid := (low + high) / 2
		if AverageRunLength(Average{lambda, mid}, 0) < between {
			low = mid
		} else {
			high = mid
		}
	}
	width := (low + high) / 2
	widthsKnown.Store(key, width)
	return width
}
