package spc

import "math"

// MovingRangeFreedom is the degrees of freedom of sigma from the mean moving range of n independent Normal values, n at least
// 2: those of a standard deviation / c4 that varies as much,
//
//	1/c4(nu)^2 - 1 = ((n-1) a + 2 (n-2) b) / ((n-1) d2)^2
//
// a = 2 - 4/pi being the variance of a moving range in sigma squared, b = 1/3 - (4 - 2 sqrt 3)/pi the covariance of
// neighbouring ones and d2^2 = 4/pi. It is 1 for n = 2 and comes to 0.605 n for many. NaN below 2.
// Source: J. D. Cryer and T. P. Ryan, Journal of Quality Technology 22 (1990) 187-192 (the variance; from memory, worked out
// anew and held against a simulation).
func MovingRangeFreedom(n int) float64 {
	return freedomOf(movingRangeVariance(n))
}

// movingRangeVariance is the right side: the variance of the mean moving range over its squared mean. NaN below 2.
func movingRangeVariance(n int) float64 {
	if n < 2 {
		return math.NaN()
	}
	a, b, m := 2-4/math.Pi, 1.0/3-(4-2*math.Sqrt(3))/math.Pi, float64(n-1)
	return (m*a + 2*(m-1)*b) / (m * m * 4 / math.Pi)
}

// freedomOf is the degrees of freedom of an estimate of sigma without bias whose variance over sigma^2 is square: those of a standard
// deviation / c4 that varies as much. Source: P. B. Patnaik, Biometrika 37 (1950) 78-87, for a range taken as chi. NaN where square is.
func freedomOf(square float64) float64 {
	low, high := 0.1, 1+1/square // 1/c4(nu)^2 - 1 lies a little above 1/(2 nu)
	for range 100 {
		middle := (low + high) / 2
		if c := c4Of(middle); 1/(c*c)-1 > square {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}

// c4Of is c4 at n - 1 degrees of freedom, which need not be whole; above 300 by the series of a ratio of gammas, for the
// logarithms are large there and their difference loses digits: M. Abramowitz and I. A. Stegun, Handbook of Mathematical
// Functions, 6.1.47.
func c4Of(freedom float64) float64 {
	if freedom > 300 {
		v := 1 / freedom
		return 1 - v/4*(1-v/8*(1+5*v/4*(1-21*v/80)))
	}
	above, _ := math.Lgamma((freedom + 1) / 2)
	below, _ := math.Lgamma(freedom / 2)
	return math.Sqrt(2/freedom) * math.Exp(above-below)
}
