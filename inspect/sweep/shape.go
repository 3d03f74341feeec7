package sweep

import "math"

// path is the way of the tip's lowest point over one crown, its top at height 0 and place 0. A spherical tip of radius rt
// over a round crown of radius rc moves its centre on a circle of radius R = rc + rt, so that
//
//	z(d) = sqrt(R² - d²) - R
//
// Over a crown worn flat by t the tip runs level over the flat, of half width w = sqrt(rc² - (rc - t)²), then rolls
// over its edge, and from |d| = w R/rc on is on the round again (plane geometry).
type path struct {
	crown, tip float64
	worn       float64 // t, mm
}

// at is the height and slope at distance d from the crown's middle; |d| < rc + rt.
func (s path) at(d float64) (z, slope float64) {
	r := s.crown + s.tip
	w := s.flat() / 2
	a := math.Abs(d)
	switch {
	case a <= w:
		return 0, 0
	case a <= w*r/s.crown:
		root := math.Sqrt(s.tip*s.tip - (a-w)*(a-w))
		return root - s.tip, -math.Copysign((a-w)/root, d)
	}
	root := math.Sqrt(r*r - d*d)
	return s.worn + root - r, -d / root
}

// flat is the width of the flat.
func (s path) flat() float64 {
	rest := s.crown - s.worn
	return 2 * math.Sqrt(s.crown*s.crown-rest*rest)
}

// reach is how far from the crown's middle heights are used, mm.
func (s path) reach() float64 { return share * (s.crown + s.tip) }
