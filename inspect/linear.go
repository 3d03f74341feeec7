package inspect

import (
	"errors"
	"fmt"
	"math"
)

// Errors of the numeric kernels; each comes wrapped with what was found and what is allowed.
var (
	ErrTooFew       = errors.New("too few points")
	ErrNotFinite    = errors.New("not a usable number")
	ErrShape        = errors.New("lengths do not match")
	ErrDegenerate   = errors.New("points do not determine the fit")
	ErrFlat         = errors.New("points lie on a straight line")
	ErrNotConverged = errors.New("no optimum found")
	ErrNotProved    = errors.New("not proved to be the minimum zone")
)

// largestNumber bounds what the kernels accept, so that no square or sum of squares overflows.
const largestNumber = 1e100

// epsilon is the spacing of float64 numbers at 1.
const epsilon = 0x1p-52

// checkNumbers refuses NaN, infinities and magnitudes above largestNumber, naming the first one found.
func checkNumbers(what string, values []float64) error {
	for i, v := range values {
		if !(math.Abs(v) <= largestNumber) {
			return fmt.Errorf("%w: %s, entry %d, is %v; give finite numbers of at most %g", ErrNotFinite, what, i, v, largestNumber)
		}
	}
	return nil
}

// design is the matrix of a linear family of reference surfaces over n points, one column per function, factored into
// columns that are orthogonal and have a root mean square of 1. Columns that depend on those before them are left out.
type design struct {
	n, p, rank int
	q          []float64 // n x p by columns: first the family, after factoring rank orthogonal columns
	r          []float64 // p x p by rows: r[k*p+j] is column j's part along orthogonal column k
	kept       []int     // the family's column behind each orthogonal one
	scale      []float64 // powers of two that the columns were divided by
	shift      []float64 // taken off the scaled columns when the first column is constant
	constant   bool
}

// newDesign returns a design to be filled through column and then factored.
func newDesign(n, p int) *design {
	small := make([]float64, p*p+2*p)
	return &design{n: n, p: p, q: make([]float64, n*p), r: small[:p*p], scale: small[p*p : p*p+p], shift: small[p*p+p:],
		kept: make([]int, 0, p)}
}

// designOf returns the factored design of rows, one per point.
func designOf(rows [][]float64) (*design, error) {
	if len(rows) == 0 || len(rows[0]) == 0 {
		return nil, fmt.Errorf("%w: %d rows; give at least one row with one function", ErrTooFew, len(rows))
	}
	d := newDesign(len(rows), len(rows[0]))
	for i, row := range rows {
		if len(row) != d.p {
			return nil, fmt.Errorf("%w: row %d has %d entries, row 0 has %d", ErrShape, i, len(row), d.p)
		}
		if err := checkNumbers(fmt.Sprintf("row %d", i), row); err != nil {
			return nil, err
		}
		for j, v := range row {
			d.q[j*d.n+i] = v
		}
	}
	d.factor()
	return d, nil
}

// column returns column j.
func (d *design) column(j int) []float64 { return d.q[j*d.n : (j+1)*d.n] }

// factor scales, shifts and orthogonalises the columns (modified Gram-Schmidt, done again where digits were lost).
func (d *design) factor() {
	first := d.column(0)
	d.constant = first[0] != 0
	for _, v := range first {
		d.constant = d.constant && v == first[0]
	}
	for j := range d.p {
		col := d.column(j)
		d.scale[j] = powerOfTwo(col)
		d.shift[j] = 0
		if d.constant && j > 0 {
			d.shift[j] = col[0] / d.scale[j]
		}
		for i := range col {
			col[i] = col[i]/d.scale[j] - d.shift[j]
		}
		d.orthogonalise(j, col)
	}
}

// orthogonalise takes the kept columns out of column j and keeps what is left unless it is rounding.
func (d *design) orthogonalise(j int, col []float64) {
	n := float64(d.n)
	norm := math.Sqrt(dot(col, col) / n)
	for range 3 {
		for k := range d.rank {
			q := d.column(k)
			part := dot(q, col) / n
			d.r[k*d.p+j] += part
			axpy(-part, q, col)
		}
		before := norm
		norm = math.Sqrt(dot(col, col) / n)
		if d.rank == 0 || norm > before/2 {
			break
		}
	}
	const rounding = 64 * epsilon // columns are of order 1, so this is what a dependent one leaves
	if norm <= rounding {
		return
	}
	k := d.rank
	d.r[k*d.p+j] = norm
	into := d.column(k)
	for i, v := range col {
		into[i] = v / norm
	}
	d.kept = append(d.kept, j)
	d.rank++
}

// heights are one set of z over a design: what the least-squares surface leaves, and that surface.
type heights struct {
	e           []float64 // (z/scale - shift) less the surface
	a           []float64 // the surface along the orthogonal columns
	scale       float64
	shift, size float64 // size: largest |e|
}

// newHeights returns room for heights over the design.
func (d *design) newHeights() heights {
	room := make([]float64, d.n+d.rank)
	return heights{e: room[:d.n], a: room[d.n:]}
}

// reduce projects z onto the design.
func (d *design) reduce(z []float64, h *heights) error {
	if len(z) != d.n {
		return fmt.Errorf("%w: %d heights over %d points", ErrShape, len(z), d.n)
	}
	if err := checkNumbers("height", z); err != nil {
		return err
	}
	h.scale = powerOfTwo(z)
	h.shift = 0
	if d.constant {
		h.shift = z[0] / h.scale
	}
	for i, v := range z {
		h.e[i] = v/h.scale - h.shift
	}
	clear(h.a)
	for range 2 {
		for k := range d.rank {
			q := d.column(k)
			part := dot(q, h.e) / float64(d.n)
			h.a[k] += part
			axpy(-part, q, h.e)
		}
	}
	h.size = largest(h.e)
	return nil
}

// coefficients returns the family's coefficients of the surface h.a + c along the orthogonal columns.
func (d *design) coefficients(h *heights, c []float64) []float64 {
	b := make([]float64, d.p)
	for k := d.rank - 1; k >= 0; k-- {
		v := h.a[k]
		if c != nil {
			v += c[k]
		}
		for l := k + 1; l < d.rank; l++ {
			v -= d.r[k*d.p+d.kept[l]] * b[d.kept[l]]
		}
		b[d.kept[k]] = v / d.r[k*d.p+d.kept[k]]
	}
	offset := h.shift
	for j := range b {
		offset -= b[j] * d.shift[j]
		b[j] = b[j] / d.scale[j] * h.scale
	}
	if d.constant {
		b[0] += offset * h.scale / d.first()
	}
	return b
}

// first returns the value of the constant first column.
func (d *design) first() float64 { return d.r[0] * d.q[0] * d.scale[0] }

// powerOfTwo returns the power of two just below the largest magnitude, 1 when all are zero.
func powerOfTwo(values []float64) float64 {
	m := largest(values)
	if m == 0 {
		return 1
	}
	_, exp := math.Frexp(m)
	return math.Ldexp(1, exp-1)
}

// largest returns the largest magnitude.
func largest(values []float64) float64 {
	var m float64
	for _, v := range values {
		if v = math.Abs(v); v > m {
			m = v
		}
	}
	return m
}

// dot returns the sum of products.
func dot(a, b []float64) float64 {
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

// axpy adds f x to y.
func axpy(f float64, x, y []float64) {
	x = x[:len(y)]
	for i := range y {
		y[i] += f * x[i]
	}
}

// lu factors the m x m matrix a, by rows, in place with partial pivoting; it reports false when a pivot vanishes.
func lu(a []float64, m int, swap []int) bool {
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

// luSolve solves A x = b in place from the factors.
func luSolve(a []float64, m int, swap []int, b []float64) {
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

// luSolveTransposed solves A^T x = b in place from the factors.
func luSolveTransposed(a []float64, m int, swap []int, b []float64) {
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
				if a[4*k+l] == 0 {
					continue
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
		}
	}
	for k := range 4 {
		values[k] = a[5*k]
	}
	return values, vectors
}
