package fit

import (
	"fmt"
	"math"
)

// CircleRadius returns the radius, mm, of the geometric least-squares circle through points (y, z) across the board: the
// circle with the least sum of squared distances to the points. Positive when its centre lies below the points' mean
// height (a crowned board), negative above (hollow). The circle is described by its curvature, direction and distance
// from the points' centroid, which stays well behaved as the arc becomes flat (after N. Chernov and C. Lesort, Journal
// of Mathematical Imaging and Vision 23 (2005), pp. 239-252). Errors: ErrTooFew below 3 points, ErrDegenerate when fewer
// than 3 places differ, ErrFlat when no curvature stands out of rounding, ErrShape, ErrNotFinite, ErrNotConverged.
func CircleRadius(y, z []float64) (radius float64, err error) {
	if err := SameLengths(3, "a circle", z, y); err != nil {
		return 0, err
	}
	a, rounding, err := newArc(y, z)
	if err != nil {
		return 0, err
	}
	line, circle := a, a
	line.startAtLine()
	best, found := line.minimise()
	if circle.startAtCircle() {
		if cost, ok := circle.minimise(); ok && (!found || cost < best) {
			found, line = true, circle
		}
	}
	if !found {
		return 0, fmt.Errorf("%w: %d points have no least-squares circle", ErrNotConverged, len(y))
	}
	if math.Abs(line.curvature) <= rounding {
		return 0, fmt.Errorf("%w: curvature below rounding over %d points", ErrFlat, len(y))
	}
	radius = a.scale / math.Abs(line.curvature)
	if _, centre := line.centre(); centre > 0 {
		radius = -radius
	}
	return radius, CheckNumbers("radius", []float64{radius})
}

// arc is a circle near points given from their centroid in units of their reach.
type arc struct {
	y, z  []float64
	scale float64

	curvature float64 // 1/radius
	angle     float64 // of the outward normal where the circle is nearest the centroid
	distance  float64 // of the centroid from the circle, positive outside
}

// newArc centres and scales the points; rounding is the curvature that the rounding of the coordinates may feign.
func newArc(y, z []float64) (a arc, rounding float64, err error) {
	my, hy := MiddleAndHalf(y)
	mz, hz := MiddleAndHalf(z)
	a.scale = math.Max(spread(y, hy), spread(z, hz))
	if a.scale == 0 || !threeDiffer(y, z) {
		return arc{}, 0, fmt.Errorf("%w: fewer than 3 of %d points differ; a circle needs 3", ErrDegenerate, len(y))
	}
	n := len(y)
	a.y, a.z = make([]float64, n), make([]float64, n)
	var cy, cz float64
	for i := range y {
		a.y[i], a.z[i] = (y[i]-my)/a.scale, (z[i]-mz)/a.scale
		cy += a.y[i] / float64(n)
		cz += a.z[i] / float64(n)
	}
	for i := range y {
		a.y[i] -= cy
		a.z[i] -= cz
	}
	return a, 64 * Epsilon * (1 + math.Max(Largest(y), Largest(z))/a.scale), nil
}

// spread returns half the values' spread, 0 where all are the same.
func spread(values []float64, half float64) float64 {
	for _, v := range values {
		if v != values[0] {
			return half
		}
	}
	return 0
}

// threeDiffer reports whether at least three of the points differ.
func threeDiffer(y, z []float64) bool {
	second := -1
	for i := range y {
		switch {
		case y[i] == y[0] && z[i] == z[0]:
		case second < 0:
			second = i
		case y[i] != y[second] || z[i] != z[second]:
			return true
		}
	}
	return false
}

// startAtLine starts from the straight line of least squared distances.
func (a *arc) startAtLine() {
	yy, zz, yz := Dot(a.y, a.y), Dot(a.z, a.z), Dot(a.y, a.z)
	a.curvature, a.distance = 0, 0
	a.angle = math.Atan2(2*yz, yy-zz)/2 + math.Pi/2
}

// startAtCircle starts from the circle whose equation fits best algebraically; false when the points lie on a line.
func (a *arc) startAtCircle() bool {
	rows := make([][]float64, len(a.y))
	squares := make([]float64, len(a.y))
	for i := range rows {
		rows[i] = []float64{1, 2 * a.y[i], 2 * a.z[i]}
		squares[i] = a.y[i]*a.y[i] + a.z[i]*a.z[i]
	}
	c, err := LeastSquares(rows, squares)
	if err != nil {
		return false
	}
	out := math.Hypot(c[1], c[2])
	radius := math.Sqrt(c[0] + out*out)
	if !(radius > 0) || radius > 1e12 {
		return false
	}
	a.curvature, a.angle, a.distance = 1/radius, math.Atan2(-c[2], -c[1]), out-radius
	return true
}

// centre returns the circle's centre.
func (a *arc) centre() (y, z float64) {
	out := 1/a.curvature + a.distance
	return -out * math.Cos(a.angle), -out * math.Sin(a.angle)
}

// at returns the signed distance of point i from the circle, positive outside, and its derivatives by curvature, angle and distance.
func (a *arc) at(i int) (s float64, by [3]float64) {
	sin, cos := math.Sincos(a.angle)
	y, z, k, d := a.y[i], a.z[i], a.curvature, a.distance
	normal, tangent, square := cos*y+sin*z, cos*z-sin*y, y*y+z*z+d*d
	p := k*square/2 + (1+k*d)*normal + d
	q := math.Sqrt(max(1+2*k*p, Epsilon)) // distance from the centre over the radius
	s = 2 * p / (1 + q)
	return s, [3]float64{(square/2 + d*normal - s*s/2) / q, (1 + k*d) * tangent / q, (1 + k*d + k*normal) / q}
}

// cost returns the sum of squared distances.
func (a *arc) cost() float64 {
	var sum float64
	for i := range a.y {
		s, _ := a.at(i)
		sum += s * s
	}
	return sum
}

// normal returns the normal equations' matrix, by rows, and right side: the cost's gradient, halved and turned round.
func (a *arc) normal() (normal [9]float64, gradient [3]float64) {
	for i := range a.y {
		s, by := a.at(i)
		for k := range 3 {
			gradient[k] -= by[k] * s
			for l := range 3 {
				normal[3*k+l] += by[k] * by[l]
			}
		}
	}
	return normal, gradient
}

// minimise runs damped Gauss-Newton steps (Levenberg, Marquardt) until none lowers the cost by more than rounding.
func (a *arc) minimise() (cost float64, ok bool) {
	cost = a.cost()
	damping := 1e-3
	for range 500 {
		normal, gradient := a.normal()
		for {
			step, m := gradient, normal
			var swap [3]int
			for k := range 3 {
				m[4*k] += damping * (m[4*k] + Epsilon)
			}
			if !Factor(m[:], 3, swap[:]) {
				return cost, false
			}
			Solve(m[:], 3, swap[:], step[:])
			next := *a
			next.curvature += step[0]
			next.angle += step[1]
			next.distance += step[2]
			small := Largest(step[:]) <= 4*Epsilon*(1+math.Abs(a.curvature)+math.Abs(a.distance))
			if c := next.cost(); c <= cost {
				*a, cost = next, c
				damping = max(damping/10, 1e-15)
				if small {
					return cost, true
				}
				break
			}
			if small || damping > 1e8 {
				return cost, true
			}
			damping *= 10
		}
	}
	return cost, true
}

// CircleThrough returns the radius of the circle through three points, positive when the middle one lies above the chord
// of the others: the product of the sides over four times the triangle's area. Errors: ErrFlat, ErrDegenerate.
func CircleThrough(y, z []float64) (float64, error) {
	y1, z1, y2, z2 := y[1]-y[0], z[1]-z[0], y[2]-y[0], z[2]-z[0]
	cross := y2*z1 - y1*z2
	if (y2-y1)*y1*y2 < 0 || y1 == 0 || y2 == 0 || y1 == y2 {
		return CircleRadius(y, z) // not in order across the board
	}
	sides := math.Hypot(y1, z1) * math.Hypot(y2, z2) * math.Hypot(y2-y1, z2-z1)
	if math.Abs(cross) <= 16*Epsilon*(math.Abs(y2*z1)+math.Abs(y1*z2)) {
		return 0, ErrFlat
	}
	radius := sides / (2 * cross)
	return radius, CheckNumbers("radius", []float64{radius})
}
