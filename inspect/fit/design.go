package fit

import (
	"fmt"
	"math"
)

// Design is the matrix of a linear family of reference surfaces over n points, one column per function, factored into
// columns that are orthogonal and have a root mean square of 1. Columns that depend on those before them are left out.
type Design struct {
	N, P, Rank int
	Q          []float64 // n x p by columns: first the family, after factoring rank orthogonal columns
	r          []float64 // p x p by rows: r[k*p+j] is column j's part along orthogonal column k
	kept       []int     // the family's column behind each orthogonal one
	scale      []float64 // powers of two that the columns were divided by
	shift      []float64 // taken off the scaled columns when the first column is constant
	constant   bool
}

// NewDesign returns a design to be filled through column and then factored.
func NewDesign(n, p int) *Design {
	small := make([]float64, p*p+2*p)
	return &Design{N: n, P: p, Q: make([]float64, n*p), r: small[:p*p], scale: small[p*p : p*p+p], shift: small[p*p+p:],
		kept: make([]int, 0, p)}
}

// DesignOf returns the factored design of rows, one per point. Errors: ErrTooFew without rows, ErrShape, ErrNotFinite.
func DesignOf(rows [][]float64) (*Design, error) {
	if len(rows) == 0 || len(rows[0]) == 0 {
		return nil, fmt.Errorf("%w: %d rows; give at least one row with one function", ErrTooFew, len(rows))
	}
	d := NewDesign(len(rows), len(rows[0]))
	for i, row := range rows {
		if len(row) != d.P {
			return nil, fmt.Errorf("%w: row %d has %d entries, row 0 has %d", ErrShape, i, len(row), d.P)
		}
		for j, v := range row {
			if !Usable(v) {
				return nil, Unusable(fmt.Sprintf("row %d", i), j, v)
			}
			d.Q[j*d.N+i] = v
		}
	}
	d.Factor()
	return d, nil
}

// Column returns column j.
func (d *Design) Column(j int) []float64 { return d.Q[j*d.N : (j+1)*d.N] }

// Factor scales, shifts and orthogonalises the columns (modified Gram-Schmidt, done again where digits were lost).
func (d *Design) Factor() {
	first := d.Column(0)
	d.constant = first[0] != 0
	for _, v := range first {
		d.constant = d.constant && v == first[0]
	}
	for j := range d.P {
		col := d.Column(j)
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
func (d *Design) orthogonalise(j int, col []float64) {
	n := float64(d.N)
	norm := math.Sqrt(Dot(col, col) / n)
	for range 3 {
		for k := range d.Rank {
			q := d.Column(k)
			part := Dot(q, col) / n
			d.r[k*d.P+j] += part
			AddTo(-part, q, col)
		}
		before := norm
		norm = math.Sqrt(Dot(col, col) / n)
		if d.Rank == 0 || norm > before/2 {
			break
		}
	}
	const rounding = 64 * Epsilon // columns are of order 1, so this is what a dependent one leaves
	if norm <= rounding {
		return
	}
	k := d.Rank
	d.r[k*d.P+j] = norm
	into := d.Column(k)
	for i, v := range col {
		into[i] = v / norm
	}
	d.kept = append(d.kept, j)
	d.Rank++
}

// Heights are one set of z over a design: what the least-squares surface leaves, and that surface.
type Heights struct {
	E     []float64 // (z/Scale - shift) less the surface
	Scale float64   // a power of two
	Size  float64   // largest |E|
	a     []float64 // the surface along the orthogonal columns
	shift float64
}

// NewHeights returns room for heights over the design.
func (d *Design) NewHeights() Heights {
	room := make([]float64, d.N+d.Rank)
	return Heights{E: room[:d.N], a: room[d.N:]}
}

// Reduce projects z onto the design. Errors: ErrShape, ErrNotFinite.
func (d *Design) Reduce(z []float64, h *Heights) error {
	if len(z) != d.N {
		return fmt.Errorf("%w: %d heights over %d points", ErrShape, len(z), d.N)
	}
	if err := CheckNumbers("height", z); err != nil {
		return err
	}
	h.Scale = powerOfTwo(z)
	h.shift = 0
	if d.constant {
		h.shift = z[0] / h.Scale
	}
	for i, v := range z {
		h.E[i] = v/h.Scale - h.shift
	}
	clear(h.a)
	for range 2 {
		for k := range d.Rank {
			q := d.Column(k)
			part := Dot(q, h.E) / float64(d.N)
			h.a[k] += part
			AddTo(-part, q, h.E)
		}
	}
	h.Size = Largest(h.E)
	return nil
}

// Coefficients returns the family's coefficients of the surface of h plus c along the orthogonal columns.
func (d *Design) Coefficients(h *Heights, c []float64) []float64 {
	b := make([]float64, d.P)
	for k := d.Rank - 1; k >= 0; k-- {
		v := h.a[k]
		if c != nil {
			v += c[k]
		}
		for l := k + 1; l < d.Rank; l++ {
			v -= d.r[k*d.P+d.kept[l]] * b[d.kept[l]]
		}
		b[d.kept[k]] = v / d.r[k*d.P+d.kept[k]]
	}
	offset := h.shift
	for j := range b {
		offset -= b[j] * d.shift[j]
		b[j] = b[j] / d.scale[j] * h.Scale
	}
	if d.constant {
		b[0] += offset * h.Scale / d.first()
	}
	return b
}

// first returns the value of the constant first column.
func (d *Design) first() float64 { return d.r[0] * d.Q[0] * d.scale[0] }

// powerOfTwo returns the power of two just below the largest magnitude, 1 when all are zero.
func powerOfTwo(values []float64) float64 {
	m := Largest(values)
	if m == 0 {
		return 1
	}
	_, exp := math.Frexp(m)
	return math.Ldexp(1, exp-1)
}

// MiddleAndHalf returns the middle of the values and half their spread, 1 where there is none.
func MiddleAndHalf(values []float64) (middle, half float64) {
	lo, hi := values[0], values[0]
	for _, v := range values {
		lo, hi = min(lo, v), max(hi, v)
	}
	if lo == hi {
		return lo, 1
	}
	return lo/2 + hi/2, hi/2 - lo/2
}

// ShiftCubic rewrites a cubic in v = (u - middle)/half as one in powers of u.
func ShiftCubic(c [4]float64, middle, half float64) [4]float64 {
	a, b, d, e := c[0], c[1]/half, c[2]/(half*half), c[3]/(half*half*half)
	return [4]float64{
		a - middle*(b-middle*(d-middle*e)),
		b - middle*(2*d-3*middle*e),
		d - 3*middle*e,
		e,
	}
}
