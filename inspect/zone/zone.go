// Package zone finds minimum zones: the narrowest room between two parallel copies of a reference surface that holds every
// point, with the proof that none is narrower. Pure functions.
package zone

import "sagitta/inspect/fit"

// Minimum is the narrowest zone between two parallel copies of a reference surface that holds every point: the
// surface c minimises the largest |z_i - row_i . c| (Chebyshev), deviations taken along z. It carries its own proof.
type Minimum struct {
	Zone         float64   // full width, peak to valley, in z's unit
	Coefficients []float64 // of the reference surface in the middle of the zone, in the order of the family
	Contacts     []Contact // the points that prove the optimum
}

// Contact is a point that touches one side of the minimum zone. Over all contacts the multipliers sum to 1 and the sum of
// Side x Multiplier x row is 0 in every function of the family, so no surface of the family can do better than the mean
// of Side x deviation over the contacts weighted by Multiplier, which is half the zone (linear-programming duality).
// A zone of width 0 may be proved by one point touching both sides.
type Contact struct {
	Index, Side int     // the point; +1 above the reference surface, -1 below
	Multiplier  float64 // 0 or more
}

// minimumZone solves for z and writes the result out.
func (s *Solver) minimumZone(z []float64) (Minimum, error) {
	zone, err := s.Solve(z)
	if err != nil {
		return Minimum{}, err
	}
	m := Minimum{Zone: zone, Coefficients: s.design.Coefficients(&s.heights, s.surface), Contacts: s.contacts()}
	return m, fit.CheckNumbers("coefficient", m.Coefficients)
}

// Straightness returns the minimum zone of a track's heights z over places x about the line 1, x (ISO 12780-1: STRt of the
// minimum-zone line), and the parameters about the least-squares line (STRt, STRp, STRv, STRq). Any order of x. Errors:
// fit.ErrTooFew below 2 points, fit.ErrShape, fit.ErrNotFinite.
func Straightness(x, z []float64) (Minimum, fit.Parameters, error) {
	if err := fit.SameLengths(2, "a track", z, x); err != nil {
		return Minimum{}, fit.Parameters{}, err
	}
	d := fit.NewDesign(len(z), 2)
	fit.Fill(d.Column(0), 1)
	copy(d.Column(1), x)
	return zoneAndLeastSquares(d, z)
}

// Flatness returns the minimum zone of heights z over points (x, y) about the plane 1, x, y (ISO 12781-1: FLTt of the
// minimum-zone plane), and the parameters about the least-squares plane (FLTt, FLTp, FLTv, FLTq). Where the points stand
// on one line the plane's tilt across it is 0. Errors: fit.ErrTooFew below 3 points, fit.ErrShape, fit.ErrNotFinite.
func Flatness(x, y, z []float64) (Minimum, fit.Parameters, error) {
	if err := fit.SameLengths(3, "a surface", z, x, y); err != nil {
		return Minimum{}, fit.Parameters{}, err
	}
	d := fit.NewDesign(len(z), 3)
	fit.Fill(d.Column(0), 1)
	copy(d.Column(1), x)
	copy(d.Column(2), y)
	return zoneAndLeastSquares(d, z)
}

// zoneAndLeastSquares factors the design and returns both fits of z.
func zoneAndLeastSquares(d *fit.Design, z []float64) (Minimum, fit.Parameters, error) {
	d.Factor()
	s := newSolver(d)
	m, err := s.minimumZone(z)
	if err != nil {
		return Minimum{}, fit.Parameters{}, err
	}
	return m, fit.ParametersOf(s.heights.E, s.heights.Scale), nil
}

// Level returns the minimum zone of developed heights z over places u = x/L and y about the family
// 1, u, y, u^2, u^3, u y: what is left after bow and twist. The coefficients are in that order. Errors: fit.ErrTooFew below 7
// points (six are fitted exactly), fit.ErrShape, fit.ErrNotFinite.
func Level(u, y, z []float64) (Minimum, error) {
	if err := fit.SameLengths(7, "a level zone", z, u, y); err != nil {
		return Minimum{}, err
	}
	s, mu, hu, my, hy := levelSolver(u, y)
	m, err := s.minimumZone(z)
	if err != nil {
		return Minimum{}, err
	}
	// From v = (u - mu)/hu, w = (y - my)/hy back to u and y.
	c := m.Coefficients
	along := fit.ShiftCubic([4]float64{c[0], c[1], c[3], c[4]}, mu, hu)
	across, twist := c[2]/hy, c[5]/(hu*hy)
	m.Coefficients = []float64{
		along[0] - across*my + twist*mu*my,
		along[1] - twist*my,
		across - twist*mu,
		along[2],
		along[3],
		twist,
	}
	return m, fit.CheckNumbers("coefficient", m.Coefficients)
}

// levelSolver returns the solver for Level's family in v = (u - mu)/hu and w = (y - my)/hy, which span the same
// surfaces with far better conditioned columns.
func levelSolver(u, y []float64) (s *Solver, mu, hu, my, hy float64) {
	mu, hu = fit.MiddleAndHalf(u)
	my, hy = fit.MiddleAndHalf(y)
	d := fit.NewDesign(len(u), 6)
	fit.Fill(d.Column(0), 1)
	for i := range u {
		v, w := (u[i]-mu)/hu, (y[i]-my)/hy
		d.Column(1)[i] = v
		d.Column(2)[i] = w
		d.Column(3)[i] = v * v
		d.Column(4)[i] = v * v * v
		d.Column(5)[i] = v * w
	}
	d.Factor()
	return newSolver(d), mu, hu, my, hy
}

// NewLevelSolver returns a solver for Level's family over places u = x/L and y, for many sets of heights over the
// same crowns. Errors: as Level's.
func NewLevelSolver(u, y []float64) (*Solver, error) {
	if err := fit.SameLengths(7, "a level zone", y, u); err != nil {
		return nil, err
	}
	s, _, _, _, _ := levelSolver(u, y)
	return s, nil
}
