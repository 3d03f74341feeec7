package sweep

import "math"

// Limits of the fit.
const (
	share    = 0.52 // of the effective radius, each side of the crown's middle: 1.4 of 2.7 mm, the tip 0.39 mm down there
	huber    = 2.0  // standard deviations beyond which a height pulls no harder
	deepest  = 0.15
	fitSteps = 25
	settled  = 1e-7 // mm
)

// point is a height at a place along the neck, mm, with what its place's uncertainty comes from.
type point struct {
	index   int
	x, z    float64
	at      float64
	speed   float64 // mm/s along x
	uHeight float64 // standard uncertainty of z
	uPlace  float64 // of x by the encoder's step alone
}

// fitted is a crown's fit.
type fitted struct {
	path   path
	x, z   float64 // the crown's middle and height
	uz, ux float64
	ok     bool
	used   []point
	weight []float64 // 1 over the variance of each used height, and less where Huber's loss holds it back
	chi2   float64   // sum of weight times residual squared
}

// variance is that of a height against the path: its own, and what an uncertain place does on a slope.
func (p point) variance(slope, timing float64) float64 {
	place := p.uPlace*p.uPlace + p.speed*p.speed*timing*timing
	return p.uHeight*p.uHeight + slope*slope*place
}

// fit places a path on the heights within reach of x by weighted least squares with Huber's loss (threshold in standard
// deviations), Gauss-Newton in the crown's place and height. The path's radii are known; only where it stands is not.
// With 2 micrometres of noise on n heights spread evenly about the crown, height and place are uncorrelated and
// u(z) = 0.002/sqrt(n).
func fit(points []point, x float64, s path, timing float64) fitted {
	f := fitted{path: s, x: x}
	if f.z, f.ok = roughHeight(points, x, s); !f.ok {
		return f
	}
	for range fitSteps {
		var dz, dx float64
		if dz, dx, f.ok = f.step(points, timing); !f.ok {
			return f
		}
		f.z += dz
		f.x += math.Max(-0.5, math.Min(0.5, dx))
		if math.Abs(dz) < settled && math.Abs(dx) < settled {
			break
		}
	}
	return f
}

// roughHeight is where a path at x stands by the median: with none to begin from the loss would hold back the crown's own
// top. ok is false where fewer than three heights are within reach.
func roughHeight(points []point, x float64, s path) (z float64, ok bool) {
	var down []float64
	for _, p := range points {
		if d := p.x - x; math.Abs(d) <= s.reach() {
			h, _ := s.at(d)
			down = append(down, p.z-h)
		}
	}
	if len(down) < 3 {
		return 0, false
	}
	return median(down), true
}

// step is one step of Gauss and Newton in height and place; what it rests on, and the uncertainties, are kept. ok is false
// where the heights within reach do not say both.
func (f *fitted) step(points []point, timing float64) (dz, dx float64, ok bool) {
	f.used, f.weight, f.chi2 = f.used[:0], f.weight[:0], 0
	reach := f.path.reach()
	var nzz, nzx, nxx, gz, gx float64
	for _, p := range points {
		d := p.x - f.x
		if math.Abs(d) > reach {
			continue
		}
		h, slope := f.path.at(d)
		r := p.z - f.z - h
		w := 1 / p.variance(slope, timing)
		if t := math.Abs(r) * math.Sqrt(w); t > huber {
			w *= huber / t
		}
		nzz += w
		nzx -= w * slope
		nxx += w * slope * slope
		gz += w * r
		gx -= w * slope * r
		f.used = append(f.used, p)
		f.weight = append(f.weight, w)
		f.chi2 += w * r * r
	}
	det := nzz*nxx - nzx*nzx
	if len(f.used) < 3 || !(det > 1e-9*nzz*nxx) {
		return 0, 0, false
	}
	f.uz, f.ux = math.Sqrt(nxx/det), math.Sqrt(nzz/det)
	return (gz*nxx - gx*nzx) / det, (gx*nzz - gz*nzx) / det, true
}

// fitWorn fits a crown worn flat: the wear that fits best, by golden section. Its uz is for the wear as
// it is; withWear is the other.
func fitWorn(points []point, x float64, s path, timing float64) fitted {
	const ratio = 0.6180339887498949
	try := func(t float64) fitted {
		s.worn = t
		return fit(points, x, s, timing)
	}
	lo, hi := 0.0, deepest
	a, b := hi-ratio*(hi-lo), lo+ratio*(hi-lo)
	fa, fb := try(a), try(b)
	for hi-lo > 5e-4 {
		if fa.chi2 < fb.chi2 {
			hi, b, fb = b, a, fa
			a = hi - ratio*(hi-lo)
			fa = try(a)
		} else {
			lo, a, fa = a, b, fb
			b = lo + ratio*(hi-lo)
			fb = try(b)
		}
	}
	best := fa
	if fb.chi2 < fa.chi2 {
		best = fb
	}
	return best
}

// withWear is u(z) where the wear is estimated from the same heights.
func (f *fitted) withWear() float64 {
	const h = 1e-4
	more := f.path
	more.worn += h
	_, uz := f.third(func(d float64) float64 {
		z0, _ := f.path.at(d)
		z1, _ := more.at(d)
		return (z1 - z0) / h
	})
	return uz
}

// radiusOff is how far the effective radius that the heights ask for is off the one that was fitted with, mm.
func (f *fitted) radiusOff() float64 {
	r := f.path.crown + f.path.tip
	step, _ := f.third(func(d float64) float64 { return r/math.Sqrt(r*r-d*d) - 1 })
	return step
}

// third adds a third parameter, whose effect on a height at distance d is given, to place and height: its step from
// what was fitted with, and u(z) with it unknown (normal equations; u from the Schur complement).
func (f *fitted) third(effect func(d float64) float64) (step, uz float64) {
	var nzz, nzx, nzt, nxx, nxt, ntt, gz, gx, gt float64
	for i, p := range f.used {
		d := p.x - f.x
		h, slope := f.path.at(d)
		jx, jt, w, r := -slope, effect(d), f.weight[i], p.z-f.z-h
		nzz += w
		nzx += w * jx
		nzt += w * jt
		nxx += w * jx * jx
		nxt += w * jx * jt
		ntt += w * jt * jt
		gz += w * r
		gx += w * jx * r
		gt += w * jt * r
	}
	plain := nzz*nxx - nzx*nzx
	a, b := (nzt*nxx-nxt*nzx)/plain, (nxt*nzz-nzt*nzx)/plain // of the third in terms of height and place
	step = (gt - a*gz - b*gx) / (ntt - a*nzt - b*nxt)
	det := nxx*ntt - nxt*nxt
	left := nzz - (nzx*nzx*ntt-2*nzx*nzt*nxt+nzt*nzt*nxx)/det
	if !(det > 0) || !(left > 0) {
		return step, math.Inf(1)
	}
	return step, 1 / math.Sqrt(left)
}

// misfit is the reduced chi-square for a number of fitted parameters.
func (f *fitted) misfit(parameters int) float64 {
	return f.chi2 / math.Max(1, float64(len(f.used)-parameters))
}

// rms is the root mean square of the heights less the path, mm.
func (f *fitted) rms() float64 {
	sum := 0.0
	for _, p := range f.used {
		h, _ := f.path.at(p.x - f.x)
		r := p.z - f.z - h
		sum += r * r
	}
	return math.Sqrt(sum / float64(len(f.used)))
}
