package zone

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"sagitta/inspect/fit"
	"sagitta/inspect/internal/kerneltest"
)

// zoneSet is one set of points with its minimum zone, in minimum_zone_sets.json and minimum_zone_exact.json.
type zoneSet struct {
	Name, Kind, Source string
	Family             []string
	Points             [][]float64
	Expected           struct {
		Zone         float64
		Coefficients []float64
		LeastSquares fit.Parameters `json:"least_squares"`
		Touching     []int
	}
	Tolerance float64
	Printed   struct {
		Zone, LargestResidual *float64
		Coefficients          []float64
	}
}

// rows returns the family at each point, and the heights.
func (s zoneSet) rows(t *testing.T) (rows [][]float64, z []float64) {
	for _, p := range s.Points {
		var row []float64
		for _, f := range s.Family {
			switch f {
			case "1":
				row = append(row, 1)
			case "x":
				row = append(row, p[0])
			case "y":
				row = append(row, p[1])
			case "x**2":
				row = append(row, p[0]*p[0])
			case "x**3":
				row = append(row, p[0]*p[0]*p[0])
			default:
				t.Fatalf("%s: function %q", s.Name, f)
			}
		}
		rows = append(rows, row)
		z = append(z, p[len(p)-1])
	}
	return rows, z
}

func TestMinimumZonePublishedSets(t *testing.T) {
	var sets []zoneSet
	for _, name := range []string{"minimum_zone_sets.json", "minimum_zone_exact.json"} {
		var ref struct{ Sets []zoneSet }
		kerneltest.Load(t, name, &ref)
		sets = append(sets, ref.Sets...)
	}
	if len(sets) < 13 {
		t.Fatalf("%d sets", len(sets))
	}
	for _, set := range sets {
		t.Run(set.Name, func(t *testing.T) {
			rows, z := set.rows(t)
			m, err := minimumZoneOf(rows, z)
			if err != nil {
				t.Fatal(err)
			}
			if err := m.prove(rows, z); err != nil {
				t.Error(err)
			}
			exact := exactZone(t, m, rows, z)
			t.Logf("%s: zone %.15g, %.1f digits of the linear programme's, %.1f of the rational value at its contacts",
				set.Source, m.Zone, kerneltest.Digits(m.Zone, set.Expected.Zone), kerneltest.Digits(m.Zone, exact))
			size := math.Max(1, set.Expected.Zone)
			if math.Abs(m.Zone-set.Expected.Zone) > set.Tolerance*size || math.Abs(m.Zone-exact) > 1e-13*size {
				t.Errorf("zone %v, want %v, exact %v", m.Zone, set.Expected.Zone, exact)
			}
			for _, c := range m.Contacts {
				if !slices.Contains(set.Expected.Touching, c.Index) {
					t.Errorf("contact %d does not touch in the reference: %v", c.Index, set.Expected.Touching)
				}
			}
			if set.Printed.Zone != nil && math.Abs(m.Zone-*set.Printed.Zone) > 1e-12 {
				t.Errorf("zone %v, printed %v", m.Zone, *set.Printed.Zone)
			}
			for j, want := range set.Printed.Coefficients {
				if math.Abs(m.Coefficients[j]-want) > 1e-12 {
					t.Errorf("coefficient %d: %v, printed %v", j, m.Coefficients[j], want)
				}
			}
			coef, err := fit.LeastSquares(rows, z)
			if err != nil {
				t.Fatal(err)
			}
			checkParameters(t, "least squares", deviationsOf(rows, coef, z), set.Expected.LeastSquares, set.Tolerance*size)
			set.checkNamed(t, m.Zone)
		})
	}
}

// checkNamed compares the kernel named for the set's kind with the general one.
func (s zoneSet) checkNamed(t *testing.T, zone float64) {
	x, y, z := make([]float64, len(s.Points)), make([]float64, len(s.Points)), make([]float64, len(s.Points))
	for i, p := range s.Points {
		x[i], y[i], z[i] = p[0], p[1], p[len(p)-1]
	}
	var m Minimum
	var ls fit.Parameters
	var err error
	switch s.Kind {
	case "straightness":
		m, ls, err = Straightness(x, z)
		if hull := hullWidth(x, z); math.Abs(hull-zone) > 1e-12*math.Max(1, zone) {
			t.Errorf("zone %v, width of the convex hull along z %v", zone, hull)
		}
	case "flatness":
		m, ls, err = Flatness(x, y, z)
	default:
		return
	}
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(m.Zone-zone) > 1e-13*math.Max(1, zone) {
		t.Errorf("%s: zone %v, general %v", s.Kind, m.Zone, zone)
	}
	checkParameters(t, s.Kind, ls, s.Expected.LeastSquares, s.Tolerance*math.Max(1, zone))
}

func checkParameters(t *testing.T, what string, got, want fit.Parameters, tolerance float64) {
	t.Helper()
	for _, d := range []float64{got.T - want.T, got.P - want.P, got.V - want.V, got.Q - want.Q} {
		if math.Abs(d) > tolerance {
			t.Errorf("%s: got %+v, want %+v", what, got, want)
		}
	}
}

// randomZoneProblem draws points over one of several families and layouts, degenerate ones among them.
func randomZoneProblem(r *rand.Rand, n int) (rows [][]float64, z []float64) {
	family, layout := r.IntN(4), r.IntN(7)
	offset := 0.0
	if r.IntN(8) == 0 {
		offset = 1e6
	}
	noise := math.Pow(10, float64(r.IntN(7)-4))
	for i := range n {
		x, y := 650*r.Float64(), 56*r.Float64()-28
		switch layout {
		case 1: // frets on three tracks
			x = 648 * kerneltest.Place(i/3+1)
			y = float64(i%3-1) * (17 + x/60)
		case 2: // a coarse grid, with coincident points
			x, y = float64(r.IntN(4)), float64(r.IntN(3))
		case 3: // on one line
			y = 0.125*x - 7
		case 4: // all in one place
			x, y = 7, 3
		case 5: // equally spaced
			x, y = float64(i), float64(i%4)
		}
		v := noise * r.NormFloat64()
		switch r.IntN(8) {
		case 0:
			v = 0
		case 1:
			v = noise * float64(r.IntN(3)-1)
		}
		if layout == 6 {
			v = noise * float64(r.IntN(3)-1)
		}
		z = append(z, v+0.003*x+offset)
		u := x / 648
		switch family {
		case 0:
			rows = append(rows, []float64{1, x})
		case 1:
			rows = append(rows, []float64{1, x, y})
		case 2:
			rows = append(rows, []float64{1, u, y, u * u, u * u * u, u * y})
		case 3:
			rows = append(rows, []float64{x + 1, y})
		}
	}
	return rows, z
}

func TestMinimumZoneIsProved(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for k := range 100_000 {
		n := 1 + r.IntN(24)
		switch {
		case k%10_000 == 0:
			n = 10_000
		case k%500 == 0:
			n = 50 + r.IntN(500)
		}
		rows, z := randomZoneProblem(r, n)
		m, err := minimumZoneOf(rows, z)
		if err == nil {
			err = m.prove(rows, z)
		}
		if err != nil {
			t.Fatalf("case %d, %d points: %v\nrows %v\nz %v", k, n, err, rows[:min(n, 30)], z[:min(n, 30)])
		}
	}
}

func TestMinimumZoneLaws(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	for k := range 2000 {
		n := 7 + r.IntN(45)
		x, y, z := make([]float64, n), make([]float64, n), make([]float64, n)
		moved, scaled := make([]float64, n), make([]float64, n)
		a, b, c, f := r.NormFloat64(), r.NormFloat64()/100, r.NormFloat64()/100, r.NormFloat64()
		for i := range z {
			x[i], y[i], z[i] = 648*r.Float64(), 50*r.Float64()-25, 0.05*r.NormFloat64()
			moved[i] = z[i] + a + b*x[i] + c*y[i]
			scaled[i] = f * z[i]
		}
		m, _, err := Flatness(x, y, z)
		if err != nil {
			t.Fatal(err)
		}
		other, _, err := Flatness(x, y, moved)
		if err != nil || math.Abs(other.Zone-m.Zone) > 1e-13 {
			t.Fatalf("case %d: offset and tilt changed %v to %v (%v)", k, m.Zone, other.Zone, err)
		}
		if math.Abs(other.Coefficients[1]-m.Coefficients[1]-b) > 1e-13 {
			t.Fatalf("case %d: slope %v after adding %v to %v", k, other.Coefficients[1], b, m.Coefficients[1])
		}
		other, _, err = Flatness(x, y, scaled)
		if err != nil || math.Abs(other.Zone-math.Abs(f)*m.Zone) > 1e-13 {
			t.Fatalf("case %d: times %v changed %v to %v (%v)", k, f, m.Zone, other.Zone, err)
		}
		r.Shuffle(n, func(i, j int) {
			x[i], x[j], y[i], y[j], z[i], z[j] = x[j], x[i], y[j], y[i], z[j], z[i]
		})
		other, _, err = Flatness(x, y, z)
		if err != nil || math.Abs(other.Zone-m.Zone) > 1e-14 {
			t.Fatalf("case %d: another order changed %v to %v (%v)", k, m.Zone, other.Zone, err)
		}
		px, py := 648*r.Float64(), 50*r.Float64()-25
		pz := m.Coefficients[0] + m.Coefficients[1]*px + m.Coefficients[2]*py + (r.Float64()-0.5)*0.999*m.Zone
		inside, _, err := Flatness(append(x, px), append(y, py), append(z, pz))
		if err != nil || math.Abs(inside.Zone-m.Zone) > 1e-13 {
			t.Fatalf("case %d: a point inside changed %v to %v (%v)", k, m.Zone, inside.Zone, err)
		}
	}
}

func TestLevelZone(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	for k := range 500 {
		n := 7 + r.IntN(60)
		u, y, z := make([]float64, n), make([]float64, n), make([]float64, n)
		rows := make([][]float64, n)
		for i := range u {
			u[i] = kerneltest.Place(1 + i/3)
			y[i] = float64(i%3-1) * (17 + 9*u[i])
			z[i] = 0.02*r.NormFloat64() + 0.3*u[i]*u[i] + 0.002*u[i]*y[i]
			rows[i] = []float64{1, u[i], y[i], u[i] * u[i], u[i] * u[i] * u[i], u[i] * y[i]}
		}
		m, err := Level(u, y, z)
		if err != nil {
			t.Fatal(err)
		}
		if err := m.prove(rows, z); err != nil {
			t.Fatalf("case %d: %v", k, err)
		}
		general, err := minimumZoneOf(rows, z)
		if err != nil || math.Abs(general.Zone-m.Zone) > 1e-13 {
			t.Fatalf("case %d: %v, general %v (%v)", k, m.Zone, general.Zone, err)
		}
		for i := range z { // bow, S-curve and twist change nothing
			z[i] += 1 + 0.5*u[i] - 0.01*y[i] + 2*u[i]*u[i] - u[i]*u[i]*u[i] + 0.03*u[i]*y[i]
		}
		bent, err := Level(u, y, z)
		if err != nil || math.Abs(bent.Zone-m.Zone) > 1e-13 {
			t.Fatalf("case %d: bend and twist changed %v to %v (%v)", k, m.Zone, bent.Zone, err)
		}
	}
}

func TestZoneDegenerate(t *testing.T) {
	flat := []float64{0.25, 0.25, 0.25, 0.25, 0.25, 0.25, 0.25, 0.25}
	line := []float64{0, 1, 2, 3, 4, 5, 6, 7}
	bump := []float64{0, 0, 0, 0.06, 0, 0, 0, 0}
	same := []float64{5, 5, 5, 5, 5, 5, 5, 5}
	for _, c := range []struct {
		name string
		run  func() (Minimum, error)
		want float64
	}{
		{"flat heights", func() (Minimum, error) { m, _, err := Flatness(line, bump, flat); return m, err }, 0},
		{"tilted plane", func() (Minimum, error) { m, _, err := Flatness(line, bump, line); return m, err }, 0},
		{"points on one line", func() (Minimum, error) { m, _, err := Flatness(line, line, bump); return m, err }, 0.06},
		{"one place, two heights", func() (Minimum, error) { m, _, err := Straightness(same, bump); return m, err }, 0.06},
		{"two points", func() (Minimum, error) { m, _, err := Straightness(line[:2], bump[2:4]); return m, err }, 0},
		{"level zone in one place", func() (Minimum, error) { return Level(same, same, bump) }, 0.06},
		{"level zone along one track", func() (Minimum, error) { return Level(line, same, line) }, 0},
		{"no function but 0", func() (Minimum, error) {
			return minimumZoneOf([][]float64{{0}, {0}, {0}}, []float64{1, -3, 2})
		}, 6},
	} {
		m, err := c.run()
		if err != nil || math.Abs(m.Zone-c.want) > 1e-15 {
			t.Errorf("%s: zone %v, %v, want %v", c.name, m.Zone, err, c.want)
		}
	}
}

func TestZoneErrors(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	three := []float64{1, 2, 3}
	seven := []float64{1, 2, 3, 4, 5, 6, 7}
	for _, c := range []struct {
		name string
		run  func() error
		want error
	}{
		{"no rows", func() error { _, err := minimumZoneOf(nil, nil); return err }, fit.ErrTooFew},
		{"empty rows", func() error { _, err := minimumZoneOf([][]float64{{}}, []float64{1}); return err }, fit.ErrTooFew},
		{"ragged rows", func() error { _, err := minimumZoneOf([][]float64{{1}, {1, 2}}, []float64{1, 2}); return err }, fit.ErrShape},
		{"heights missing", func() error { _, err := minimumZoneOf([][]float64{{1}, {1}}, []float64{1}); return err }, fit.ErrShape},
		{"NaN in a row", func() error { _, err := minimumZoneOf([][]float64{{nan}}, []float64{1}); return err }, fit.ErrNotFinite},
		{"infinite height", func() error { _, err := minimumZoneOf([][]float64{{1}}, []float64{inf}); return err }, fit.ErrNotFinite},
		{"one point of a track", func() error { _, _, err := Straightness(three[:1], three[:1]); return err }, fit.ErrTooFew},
		{"track lengths", func() error { _, _, err := Straightness(three[:2], three); return err }, fit.ErrShape},
		{"NaN place", func() error { _, _, err := Straightness([]float64{1, nan}, three[:2]); return err }, fit.ErrNotFinite},
		{"two points of a plane", func() error { _, _, err := Flatness(three[:2], three[:2], three[:2]); return err }, fit.ErrTooFew},
		{"plane lengths", func() error { _, _, err := Flatness(three, three[:2], three); return err }, fit.ErrShape},
		{"six points of a level zone", func() error { _, err := Level(seven[:6], seven[:6], seven[:6]); return err }, fit.ErrTooFew},
		{"solver, six points", func() error { _, err := NewLevelSolver(seven[:6], seven[:6]); return err }, fit.ErrTooFew},
		{"too large", func() error { _, _, err := Straightness(three[:2], []float64{0, 1e101}); return err }, fit.ErrNotFinite},
		{"least squares, no rows", func() error { _, err := fit.LeastSquares(nil, nil); return err }, fit.ErrTooFew},
		{"least squares, heights", func() error { _, err := fit.LeastSquares([][]float64{{1}}, nil); return err }, fit.ErrShape},
	} {
		if err := c.run(); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
}

// TestProveRefuses feeds the proof zones that are not minimal or not zones.
func TestProveRefuses(t *testing.T) {
	rows := [][]float64{{1, 0}, {1, 1}, {1, 2}, {1, 3}}
	z := []float64{0, 1, 0, 1}
	good, err := minimumZoneOf(rows, z)
	if err != nil {
		t.Fatal(err)
	}
	if err := good.prove(rows, z); err != nil {
		t.Fatal(err)
	}
	for name, spoil := range map[string]func(m *Minimum){
		"narrower":               func(m *Minimum) { m.Zone *= 1 - 1e-12 },
		"wider":                  func(m *Minimum) { m.Zone *= 1 + 1e-11 },
		"other surface":          func(m *Minimum) { m.Coefficients[0] += 1e-12 },
		"NaN":                    func(m *Minimum) { m.Zone = math.NaN() },
		"NaN coefficient":        func(m *Minimum) { m.Coefficients[1] = math.NaN() },
		"no contacts":            func(m *Minimum) { m.Contacts = nil },
		"contact out of range":   func(m *Minimum) { m.Contacts[0].Index = 4 },
		"negative multiplier":    func(m *Minimum) { m.Contacts[0].Multiplier *= -1 },
		"unbalanced multipliers": func(m *Minimum) { m.Contacts[0].Multiplier += 0.1; m.Contacts[1].Multiplier -= 0.1 },
		"wrong side":             func(m *Minimum) { m.Contacts[0].Side *= -1 },
		"no side":                func(m *Minimum) { m.Contacts[0].Side = 0 },
	} {
		bad := Minimum{good.Zone, slices.Clone(good.Coefficients), slices.Clone(good.Contacts)}
		spoil(&bad)
		if err := bad.prove(rows, z); !errors.Is(err, errNotProved) {
			t.Errorf("%s: %v, want %v", name, err, errNotProved)
		}
	}
	if err := good.prove(rows[:3], z); !errors.Is(err, fit.ErrShape) {
		t.Errorf("rows missing: %v", err)
	}
	worse := Minimum{Zone: 2, Coefficients: []float64{1, 0}, Contacts: []Contact{{0, -1, 0.5}, {2, -1, 0.5}}}
	if err := worse.prove(rows, z); !errors.Is(err, errNotProved) {
		t.Errorf("a wider zone: %v", err)
	}
}
