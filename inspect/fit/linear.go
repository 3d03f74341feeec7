package fit

import "math"

// Epsilon is the spacing of float64 numbers at 1.
const Epsilon = 0x1p-52

// Largest returns the largest magnitude.
func Largest(values []float64) float64 {
	var m float64
	for _, v := range values {
		if v = math.Abs(v); v > m {
			m = v
		}
	}
	return m
}

// Dot returns the sum of products.
func Dot(a, b []float64) float64 {
	b = b[:len(a)]
	var s0, s1, s2, s3 float64
	i := 0
	for ; i+4 <= len(a); i += 4 {
		s0 += a[i] * b[i]
		s1 += a[i+1] * b[i+1]
		s2 += a[i+2] * b[i+2]
		s3 += a[i+3] * b[i+3]
	}
	for ; i < len(a); i++ {
		s0 += a[i] * b[i]
	}
	return (s0 + s1) + (s2 + s3)
}

// AddTo adds f x to y.
func AddTo(f float64, x, y []float64) {
	x = x[:len(y)]
	for i := range y {
		y[i] += f * x[i]
	}
}

// Factor factors the m x m matrix a, by rows, in place with partial pivoting; it reports false when a pivot vanishes.
func Factor(a []float64, m int, swap []int) bool {
	for k := range m {
		pivot := k
		for i := k + 1; i < m; i++ {
			if math.Abs(a[i*m+k]) > math.Abs(a[pivot*m+k]) {
				pivot = i
			}
		}
		swap[k] = pivot
		if a[pivot*m+k] == 0 {
			return false
		}
		if pivot != k {
			for j := range m {
				a[k*m+j], a[pivot*m+j] = a[pivot*m+j], a[k*m+j]
			}
		}
		for i := k + 1; i < m; i++ {
			f := a[i*m+k] / a[k*m+k]
			a[i*m+k] = f
			for j := k + 1; j < m; j++ {
				a[i*m+j] -= f * a[k*m+j]
			}
		}
	}
	return true
}

// Solve solves A x = b in place from the factors.
func Solve(a []float64, m int, swap []int, b []float64) {
	for k := range m {
		b[k], b[swap[k]] = b[swap[k]], b[k]
	}
	for i := range m {
		for j := range i {
			b[i] -= a[i*m+j] * b[j]
		}
	}
	for i := m - 1; i >= 0; i-- {
		for j := i + 1; j < m; j++ {
			b[i] -= a[i*m+j] * b[j]
		}
		b[i] /= a[i*m+i]
	}
}

// SolveTransposed solves A^T x = b in place from the factors.
func SolveTransposed(a []float64, m int, swap []int, b []float64) {
	for i := range m {
		for j := range i {
			b[i] -= a[j*m+i] * b[j]
		}
		b[i] /= a[i*m+i]
	}
	for i := m - 1; i >= 0; i-- {
		for j := i + 1; j < m; j++ {
			b[i] -= a[j*m+i] * b[j]
		}
	}
	for k := m - 1; k >= 0; k-- {
		b[k], b[swap[k]] = b[swap[k]], b[k]
	}
}

// symmetricEigen4 returns the eigenvalues of the symmetric 4 x 4 matrix a, by rows, and their vectors in columns
// (Jacobi's rotations).
func symmetricEigen4(a [16]float64) (values [4]float64, vectors [16]float64) {
	for k := range 4 {
		vectors[5*k] = 1
	}
	for range 30 {
		var off float64
		for k := range 4 {
			for l := range k {
				off = max(off, math.Abs(a[4*k+l]))
			}
		}
		if off <= 1e-17*(math.Abs(a[0])+math.Abs(a[5])+math.Abs(a[10])+math.Abs(a[15])) {
			break
		}
		for k := range 4 {
			for l := k + 1; l < 4; l++ {
				rotate4(&a, &vectors, k, l)
			}
		}
	}
	for k := range 4 {
		values[k] = a[5*k]
	}
	return values, vectors
}

// rotate4 turns a so that its entry k, l becomes 0, and the vectors with it.
func rotate4(a, vectors *[16]float64, k, l int) {
	if a[4*k+l] == 0 {
		return
	}
	t := (a[5*l] - a[5*k]) / (2 * a[4*k+l])
	t = math.Copysign(1/(math.Abs(t)+math.Hypot(t, 1)), t)
	cos := 1 / math.Hypot(t, 1)
	sin := t * cos
	for i := range 4 {
		a[4*i+k], a[4*i+l] = cos*a[4*i+k]-sin*a[4*i+l], sin*a[4*i+k]+cos*a[4*i+l]
	}
	for i := range 4 {
		a[4*k+i], a[4*l+i] = cos*a[4*k+i]-sin*a[4*l+i], sin*a[4*k+i]+cos*a[4*l+i]
		vectors[4*i+k], vectors[4*i+l] = cos*vectors[4*i+k]-sin*vectors[4*i+l], sin*vectors[4*i+k]+cos*vectors[4*i+l]
	}
}

// Fill sets every entry.
func Fill(into []float64, v float64) {
	for i := range into {
		into[i] = v
	}
}
