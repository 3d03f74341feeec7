package inspect

import (
	"fmt"
	"math"
)

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
		for j, v := range row {
			if !usable(v) {
				return nil, unusable(fmt.Sprintf("row %d", i), j, v)
			}
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

// middleAndHalf returns the middle of the values and half their spread, 1 where there is none.
func middleAndHalf(values []float64) (middle, half float64) {
	lo, hi := values[0], values[0]
	for _, v := range values {
		lo, hi = min(lo, v), max(hi, v)
	}
	if lo == hi {
		return lo, 1
	}
	return lo/2 + hi/2, hi/2 - lo/2
}

// polynomialShift rewrites a cubic in v = (u - middle)/half as one in powers of u.
func polynomialShift(c [4]float64, middle, half float64) [4]float64 {
	a, b, d, e := c[0], c[1]/half, c[2]/(half*half), c[3]/(half*half*half)
	return [4]float64{
		a - middle*(b-middle*(d-middle*e)),
		b - middle*(2*d-3*middle*e),
		d - 3*middle*e,
		e,
	}
}
