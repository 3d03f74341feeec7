package fit

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// HuberThresholdMM is the deviation, mm, beyond which the bend curve's loss grows linearly instead of as the square, so
// that one high or low crown does not bend the curve (definition).
const HuberThresholdMM = 0.010

// Bend is the bend curve of one track: z = C[0] + C[1] u + C[2] u^2 + C[3] u^3, mm, with u = x/L.
type Bend struct {
	C        [4]float64
	Cost     float64 // sum of the Huber losses at the points, mm^2
	Gradient float64 // largest gradient left, along columns of root mean square 1, mm: rounding only
	Within   int     // points within the threshold
	// Unique is true where the points within the threshold by themselves determine a cubic. Otherwise other cubics may
	// have the same, least cost; this one is the first that the descent from the least-squares cubic meets, which depends on
	// the points alone.
	Unique bool
}

// At returns the curve's height, mm, at u = x/L.
func (b Bend) At(u float64) float64 { return b.C[0] + u*(b.C[1]+u*(b.C[2]+u*b.C[3])) }

// Slope returns dz/du, mm; over the scale length it is dz/dx.
func (b Bend) Slope(u float64) float64 { return b.C[1] + u*(2*b.C[2]+u*3*b.C[3]) }

// Second returns d2z/du2, mm; over the square of the scale length it is the curvature.
func (b Bend) Second(u float64) float64 { return 2*b.C[2] + 6*u*b.C[3] }

// BendCurve fits the cubic in u to heights z, mm, that minimises the sum of Huber losses of its deviations r:
// r^2/2 within the threshold of 0.010 mm, t(|r| - t/2) beyond (P. J. Huber, Annals of Mathematical Statistics 35 (1964),
// pp. 73-101). The sum is convex and piecewise quadratic; Newton's steps with an exact search along each end at its least
// value after finitely many (K. Madsen and H. B. Nielsen, BIT 30 (1990), pp. 682-699), which the gradient proves. Errors:
// ErrTooFew below 5 points, ErrDegenerate below 4 different u, ErrShape, ErrNotFinite (also for heights so far from a
// cubic that the threshold drowns in their rounding), ErrNotConverged.
func BendCurve(u, z []float64) (Bend, error) {
	if err := SameLengths(5, "a bend curve", z, u); err != nil {
		return Bend{}, err
	}
	middle, half := MiddleAndHalf(u)
	d := NewDesign(len(u), 4)
	Fill(d.Column(0), 1)
	for i := range u {
		v := (u[i] - middle) / half
		d.Column(1)[i] = v
		d.Column(2)[i] = v * v
		d.Column(3)[i] = v * v * v
	}
	d.Factor()
	if d.Rank < 4 {
		return Bend{}, fmt.Errorf("%w: %d places of which fewer than 4 differ; a cubic needs 4", ErrDegenerate, len(u))
	}
	f := huberFit{design: d, heights: d.NewHeights(), rest: make([]float64, d.N), along: make([]float64, d.N)}
	if err := d.Reduce(z, &f.heights); err != nil {
		return Bend{}, err
	}
	f.threshold = HuberThresholdMM / f.heights.Scale
	if f.heights.Size*float64(d.N)*Epsilon*1024 > f.threshold {
		return Bend{}, fmt.Errorf("%w: heights lie up to %.3g mm from a cubic, too far to tell the threshold of %g mm", ErrNotFinite,
			f.heights.Size*f.heights.Scale, HuberThresholdMM)
	}
	if err := f.minimise(); err != nil {
		return Bend{}, err
	}
	c := d.Coefficients(&f.heights, f.surface[:])
	bend := Bend{
		C:        ShiftCubic([4]float64(c), middle, half),
		Cost:     f.cost() * f.heights.Scale * f.heights.Scale,
		Gradient: f.gradientSize() * f.heights.Scale,
		Within:   f.within,
		Unique:   f.unique,
	}
	return bend, CheckNumbers("coefficient", bend.C[:])
}

// huberFit is the search for one bend curve, in units of the heights' scale.
type huberFit struct {
	design    *Design
	heights   Heights
	threshold float64

	surface     [4]float64 // along the orthogonal columns, over the least-squares cubic
	rest, along []float64  // deviations, and the direction's value at each point
	gradient    [4]float64 // of the cost, negated
	hessian     [16]float64
	bends       []bendPoint
	within      int
	unique      bool
}

// bendPoint is a place along a direction where a point crosses the threshold, and what that adds to the cost's curvature.
type bendPoint struct{ at, curvature float64 }

// minimise runs Newton's method to a gradient of rounding.
func (f *huberFit) minimise() error {
	copy(f.rest, f.heights.E)
	n := float64(f.design.N)
	rounding := 16 * n * Epsilon * (f.heights.Size + f.threshold)
	const most = 1000
	for range most {
		f.differentiate()
		step, flatStep := f.newton()
		f.unique = !flatStep
		if f.gradientSize() <= rounding {
			return nil
		}
		if flatStep {
			step = f.descent(rounding)
		}
		clear(f.along)
		for k, v := range step {
			AddTo(v, f.design.Column(k), f.along)
		}
		length := f.search()
		for k := range step {
			f.surface[k] += length * step[k]
		}
		copy(f.rest, f.heights.E)
		for k, v := range f.surface {
			AddTo(-v, f.design.Column(k), f.rest)
		}
	}
	return fmt.Errorf("%w: gradient %.3g after %d steps over %d points", ErrNotConverged, f.gradientSize(), most, f.design.N)
}

// differentiate sets the gradient, the Hessian and the number of points within the threshold.
func (f *huberFit) differentiate() {
	f.gradient, f.hessian, f.within = [4]float64{}, [16]float64{}, 0
	d := f.design
	q0, q1, q2, q3 := d.Column(0), d.Column(1), d.Column(2), d.Column(3)
	for i, r := range f.rest {
		q := [4]float64{q0[i], q1[i], q2[i], q3[i]}
		inside := math.Abs(r) <= f.threshold
		if inside {
			f.within++
		}
		psi := max(-f.threshold, min(r, f.threshold))
		for k := range 4 {
			f.gradient[k] += psi * q[k]
			if inside {
				for l := range k + 1 {
					f.hessian[4*k+l] += q[k] * q[l]
				}
			}
		}
	}
	for k := range 4 {
		for l := range k {
			f.hessian[4*l+k] = f.hessian[4*k+l]
		}
	}
}

// gradientSize returns the largest component of the gradient.
func (f *huberFit) gradientSize() float64 { return Largest(f.gradient[:]) }

// newton returns Newton's step, or flat where the cost is not curved in every direction.
func (f *huberFit) newton() (step [4]float64, flat bool) {
	matrix, swap := f.hessian, [4]int{}
	flat = !Factor(matrix[:], 4, swap[:])
	for k := range 4 {
		flat = flat || math.Abs(matrix[5*k]) < 1e-10*float64(f.design.N) // the columns' mean square is 1
	}
	if !flat {
		step = f.gradient
		Solve(matrix[:], 4, swap[:], step[:])
	}
	return step, flat
}

// descent returns a direction downhill where the cost is flat in some: the part of the gradient along those, or else
// Newton's step across them.
func (f *huberFit) descent(rounding float64) [4]float64 {
	values, vectors := symmetricEigen4(f.hessian)
	var across, along [4]float64
	var slope float64
	for e, value := range values {
		part := 0.0
		for k := range 4 {
			part += vectors[4*k+e] * f.gradient[k]
		}
		into, weight := &across, part/value
		if value <= 1e-13*float64(f.design.N) {
			into, weight = &along, part
			slope = max(slope, math.Abs(part))
		}
		for k := range 4 {
			into[k] += weight * vectors[4*k+e]
		}
	}
	if slope > rounding/2 || across == [4]float64{} {
		return along
	}
	return across
}

// search returns how far along the direction the cost is least: where its slope, which rises piecewise linearly, is 0.
func (f *huberFit) search() float64 {
	f.bends = f.bends[:0]
	var slope, curvature float64
	for i, s := range f.along {
		if s == 0 {
			continue
		}
		r := f.rest[i]
		slope -= s * max(-f.threshold, min(r, f.threshold))
		in, out := (r-f.threshold)/s, (r+f.threshold)/s
		if in > out {
			in, out = out, in
		}
		if in <= 0 && out > 0 {
			curvature += s * s
		}
		if in > 0 {
			f.bends = append(f.bends, bendPoint{in, s * s})
		}
		if out > 0 {
			f.bends = append(f.bends, bendPoint{out, -s * s})
		}
	}
	slices.SortFunc(f.bends, func(a, b bendPoint) int { return cmp.Compare(a.at, b.at) })
	at := 0.0
	for _, b := range f.bends {
		if next := slope + curvature*(b.at-at); next >= 0 {
			break
		} else {
			slope = next
		}
		at = b.at
		curvature += b.curvature
	}
	if curvature > 0 && slope < 0 {
		at -= slope / curvature
	}
	return at
}

// cost returns the sum of Huber losses.
func (f *huberFit) cost() float64 {
	var sum float64
	for _, r := range f.rest {
		if r = math.Abs(r); r <= f.threshold {
			sum += r * r / 2
		} else {
			sum += f.threshold * (r - f.threshold/2)
		}
	}
	return sum
}
