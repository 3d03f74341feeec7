package inspect

// MinimumZone is the narrowest zone between two parallel copies of a reference surface that holds every point: the
// surface c minimises the largest |z_i - row_i . c| (Chebyshev), deviations taken along z. It carries its own proof.
type MinimumZone struct {
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
func (s *ZoneSolver) minimumZone(z []float64) (MinimumZone, error) {
	zone, err := s.Solve(z)
	if err != nil {
		return MinimumZone{}, err
	}
	m := MinimumZone{Zone: zone, Coefficients: s.design.coefficients(&s.heights, s.surface), Contacts: s.contacts()}
	return m, checkNumbers("coefficient", m.Coefficients)
}

// Straightness returns the minimum zone of a track's heights z over places x about the line 1, x (ISO 12780-1: STRt of the
// minimum-zone line), and the parameters about the least-squares line (STRt, STRp, STRv, STRq). Any order of x. Errors:
// ErrTooFew below 2 points, ErrShape, ErrNotFinite.
func Straightness(x, z []float64) (MinimumZone, LeastSquares, error) {
	if err := sameLengths(2, "a track", z, x); err != nil {
		return MinimumZone{}, LeastSquares{}, err
	}
	d := newDesign(len(z), 2)
	fill(d.column(0), 1)
	copy(d.column(1), x)
	return zoneAndLeastSquares(d, z)
}

// Flatness returns the minimum zone of heights z over points (x, y) about the plane 1, x, y (ISO 12781-1: FLTt of the
// minimum-zone plane), and the parameters about the least-squares plane (FLTt, FLTp, FLTv, FLTq). Where the points stand
// on one line the plane's tilt across it is 0. Errors: ErrTooFew below 3 points, ErrShape, ErrNotFinite.
func Flatness(x, y, z []float64) (MinimumZone, LeastSquares, error) {
	if err := sameLengths(3, "a surface", z, x, y); err != nil {
		return MinimumZone{}, LeastSquares{}, err
	}
	d := newDesign(len(z), 3)
	fill(d.column(0), 1)
	copy(d.column(1), x)
	copy(d.column(2), y)
	return zoneAndLeastSquares(d, z)
}

// zoneAndLeastSquares factors the design and returns both fits of z.
func zoneAndLeastSquares(d *design, z []float64) (MinimumZone, LeastSquares, error) {
	d.factor()
	s := newZoneSolver(d)
	m, err := s.minimumZone(z)
	if err != nil {
		return MinimumZone{}, LeastSquares{}, err
	}
	return m, parametersOf(s.heights.e, s.heights.scale), nil
}

// LevelZone returns the minimum zone of developed heights z over places u = x/L and y about the family
// 1, u, y, u^2, u^3, u y: what is left after bow and twist. The coefficients are in that order. Errors: ErrTooFew below 7
// points (six are fitted exactly), ErrShape, ErrNotFinite.
func LevelZone(u, y, z []float64) (MinimumZone, error) {
	if err := sameLengths(7, "a level zone", z, u, y); err != nil {
		return MinimumZone{}, err
	}
	s, mu, hu, my, hy := levelSolver(u, y)
	m, err := s.minimumZone(z)
	if err != nil {
		return MinimumZone{}, err
	}
	// From v = (u - mu)/hu, w = (y - my)/hy back to u and y.
	c := m.Coefficients
	along := polynomialShift([4]float64{c[0], c[1], c[3], c[4]}, mu, hu)
	across, twist := c[2]/hy, c[5]/(hu*hy)
	m.Coefficients = []float64{
		along[0] - across*my + twist*mu*my,
		along[1] - twist*my,
		across - twist*mu,
		along[2],
		along[3],
		twist,
	}
	return m, checkNumbers("coefficient", m.Coefficients)
}

// levelSolver returns the solver for LevelZone's family in v = (u - mu)/hu and w = (y - my)/hy, which span the same
// surfaces with far better conditioned columns.
func levelSolver(u, y []float64) (s *ZoneSolver, mu, hu, my, hy float64) {
	mu, hu = middleAndHalf(u)
	my, hy = middleAndHalf(y)
	d := newDesign(len(u), 6)
	fill(d.column(0), 1)
	for i := range u {
		v, w := (u[i]-mu)/hu, (y[i]-my)/hy
		d.column(1)[i] = v
		d.column(2)[i] = w
		d.column(3)[i] = v * v
		d.column(4)[i] = v * v * v
		d.column(5)[i] = v * w
	}
	d.factor()
	return newZoneSolver(d), mu, hu, my, hy
}

// NewLevelSolver returns a solver for LevelZone's family over places u = x/L and y, for many sets of heights over the
// same crowns. Errors: as LevelZone's.
func NewLevelSolver(u, y []float64) (*ZoneSolver, error) {
	if err := sameLengths(7, "a level zone", y, u); err != nil {
		return nil, err
	}
	s, _, _, _, _ := levelSolver(u, y)
	return s, nil
}

// fill sets every entry.
func fill(into []float64, v float64) {
	for i := range into {
		into[i] = v
	}
}
