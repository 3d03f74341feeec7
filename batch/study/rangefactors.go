package study

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// D2 is the mean of the range of n standard Normal values, n at least 2:
//
//	d2 = integral of 1 - P(x)^n - (1 - P(x))^n over all x, P the Normal distribution function
//
// Source: L. H. C. Tippett, Biometrika 17 (1925) 364-387. NaN below n = 2.
func D2(n int) float64 {
	if n < 2 {
		return math.NaN()
	}
	k := float64(n)
	half := func(x float64) float64 { // the integrand is even
		upper := below(-x)
		return -math.Expm1(k*math.Log1p(-upper)) - math.Pow(upper, k)
	}
	return 2 * quad.Fixed(half, 0, reach, nodes, nil, 0)
}

// D2Star is the factor that turns the mean of g ranges of n values into a standard deviation whose square is unbiased:
//
//	d2* = sqrt(d2^2 + d3^2/g), d3 the standard deviation of the range of n standard Normal values
//
// Source: A. J. Duncan, Quality Control and Industrial Statistics, Appendix table D3. NaN below n = 2 or g = 1.
func D2Star(n, g int) float64 {
	if n < 2 || g < 1 {
		return math.NaN()
	}
	d2, square := D2(n), rangeSquare(n)
	return math.Sqrt(d2*d2 + (square-d2*d2)/float64(g))
}

const (
	reach = 12.0 // standard deviations beyond which a Normal value counts for nothing, even among 10^9
	nodes = 80   // of the Gauss-Legendre rule
	step  = 0.2  // of the trapezium rule, whose error on such a function falls as exp(-c/step^2)
)

// rangeSquare is the mean of the squared range of n standard Normal values: d2^2 + d3^2. From the distribution of the
// range, F(w) = n times the integral of p(x) (P(x + w) - P(x))^(n-1), it is the integral of 2 w (1 - F(w)).
// Source of F: H. L. Harter, Annals of Mathematical Statistics 31 (1960) 1122-1147.
func rangeSquare(n int) float64 {
	type point struct{ x, below, weight float64 }
	var points []point
	for x := -reach; x <= reach; x += step {
		points = append(points, point{x, below(x), float64(n) * step * math.Exp(-x*x/2) / math.Sqrt(2*math.Pi)})
	}
	exceed := func(w float64) float64 {
		within := 0.0
		for _, p := range points {
			within += p.weight * math.Pow(below(p.x+w)-p.below, float64(n-1))
		}
		return 2 * w * (1 - within)
	}
	return quad.Fixed(exceed, 0, 2*reach, nodes, nil, 0)
}

// below is the Normal distribution function.
func below(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 }
