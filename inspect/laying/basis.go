package laying

import "math"

// mostColumns is how many columns a basis can hold.
const mostColumns = 5

// dependent is the share of a column's size that must be left beyond the columns before it; the columns here that do not depend on
// each other leave more than 1e-3, rounding leaves 1e-15.
const dependent = 1e-9

// basis is an orthonormal set of columns that spans what was added to it.
type basis struct {
	n, rank int
	q       [mostColumns][]float64
	r       [mostColumns][mostColumns]float64 // column k of those kept = sum over l <= k of r[l][k] q[l]
}

// reset empties the basis, for columns of n values.
func (b *basis) reset(n int) { b.n, b.rank = n, 0 }

// add appends a column, orthonormalised by Gram and Schmidt's method, run once more where much of the column went (J. W. Daniel,
// W. B. Gragg, L. Kaufman and G. W. Stewart, Mathematics of Computation 30 (1976), pp. 772-795). A column of which no more than rounding
// of the given size is left depends on those before it; it is left out and reported false.
func (b *basis) add(column []float64, size float64) bool {
	k := b.rank
	q := append(b.q[k][:0], column[:b.n]...)
	b.q[k] = q
	for l := range k {
		b.r[l][k] = 0
	}
	before := length(q)
	left := before
	for range 2 {
		for l := range k {
			c := dot(b.q[l], q)
			b.r[l][k] += c
			subtract(c, b.q[l], q)
		}
		left = length(q)
		if left > before/2 {
			break
		}
	}
	if left <= dependent*size {
		return false
	}
	b.r[k][k] = left
	for i := range q {
		q[i] /= left
	}
	b.rank++
	return true
}

// project takes what the columns explain of z out of it, in place, and returns the parts along them.
func (b *basis) project(z []float64) (parts [mostColumns]float64) {
	for k := range b.rank {
		c := dot(b.q[k], z)
		parts[k] = c
		subtract(c, b.q[k], z)
	}
	return parts
}

// coefficients turns parts along the orthonormal columns into coefficients of the columns that were added and kept.
func (b *basis) coefficients(parts [mostColumns]float64) [mostColumns]float64 {
	for k := b.rank - 1; k >= 0; k-- {
		for l := k + 1; l < b.rank; l++ {
			parts[k] -= b.r[k][l] * parts[l]
		}
		parts[k] /= b.r[k][k]
	}
	return parts
}

// at returns the orthonormal functions where the kept columns' functions have the given values.
func (b *basis) at(values [mostColumns]float64) [mostColumns]float64 {
	for k := range b.rank {
		for l := range k {
			values[k] -= b.r[l][k] * values[l]
		}
		values[k] /= b.r[k][k]
	}
	return values
}

// length returns the root of the sum of squares.
func length(a []float64) float64 { return math.Sqrt(dot(a, a)) }

func dot(a, b []float64) (sum float64) {
	b = b[:len(a)]
	for i, v := range a {
		sum += v * b[i]
	}
	return sum
}

// subtract takes f x from y.
func subtract(f float64, x, y []float64) {
	x = x[:len(y)]
	for i := range y {
		y[i] -= f * x[i]
	}
}
