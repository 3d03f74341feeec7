package zone

import (
	"fmt"
	"math"
	"slices"

	"sagitta/inspect/fit"
)

// The minimum zone is a linear programme: the least h with |z_i - row_i . c| <= h at every point. Its dual looks for
// multipliers on points of either side that balance every function of the family; a basic solution is rank + 1 contacts.
// The exchange solves the contacts for their surface and h, takes in the point that lies farthest outside and lets go of
// the contact whose multiplier reaches 0 first, so that multipliers stay 0 or more and h never falls (the simplex
// method on the dual, which for one variable is Stiefel's exchange: E. Stiefel, Numerische Mathematik 1 (1959), pp. 1-28).
// When h stands still for long, the choices follow Bland's rule, which cannot cycle (R. G. Bland, Mathematics of Operations
// Research 2 (1977), pp. 103-107). The end is exact: the contacts' surface holds every point to rounding.

// Solver finds minimum zones of many sets of heights over the same points. It starts each from the contacts of the
// one before, since multipliers depend on the points only, and allocates nothing after it is made. It is not for concurrent use.
type Solver struct {
	design  *fit.Design
	heights fit.Heights
	solverState
	before solverState // Perturb's way back
	solved bool

	matrix, solution, entering []float64
	swap                       []int
	patience                   int // exchanges without gain before Bland's rule
}

// solverState is what a solve changes, apart from the heights.
type solverState struct {
	surface []float64 // along the orthogonal columns, over the least-squares surface
	rest    []float64 // deviations from it, in units of the heights' scale
	half    float64   // half the zone, in the same unit

	index            []int // rank + 1 contacts; none before the first solve and for points that the family fits exactly
	side, multiplier []float64
}

// NewSolver returns a solver for the family whose functions rows holds at each point. Errors: fit.ErrTooFew without
// rows, fit.ErrShape, fit.ErrNotFinite.
func NewSolver(rows [][]float64) (*Solver, error) {
	d, err := fit.DesignOf(rows)
	if err != nil {
		return nil, err
	}
	return newSolver(d), nil
}

// newSolver returns a solver over a factored design.
func newSolver(d *fit.Design) *Solver {
	m := d.Rank + 1
	small := make([]float64, d.Rank+4*m+m*m)
	next := func(n int) []float64 {
		part := small[:n:n]
		small = small[n:]
		return part
	}
	return &Solver{
		design: d, heights: d.NewHeights(),
		solverState: solverState{surface: next(d.Rank), rest: make([]float64, d.N), index: make([]int, 0, m), side: next(m),
			multiplier: next(m)},
		matrix: next(m * m), solution: next(m), entering: next(m), swap: make([]int, m), patience: 4 * m,
	}
}

// Solve returns the width of the minimum zone of the heights z, in z's unit. Errors: fit.ErrShape, fit.ErrNotFinite,
// fit.ErrNotConverged.
func (s *Solver) Solve(z []float64) (zone float64, err error) {
	s.solved = false
	if err := s.design.Reduce(z, &s.heights); err != nil {
		return 0, err
	}
	zone, err = s.optimum()
	s.solved = err == nil
	return zone, err
}

// optimum returns the zone of the present heights, starting afresh if the present contacts lead nowhere.
func (s *Solver) optimum() (float64, error) {
	if err := s.exchange(); err != nil {
		s.index = s.index[:0]
		if err := s.exchange(); err != nil {
			return 0, err
		}
	}
	return 2 * s.half * s.heights.Scale, nil
}

// exchange runs from the present contacts, or from a first choice of them, to the optimum.
func (s *Solver) exchange() error {
	m := s.design.Rank + 1
	if len(s.index) == 0 && !s.firstContacts() {
		return nil
	}
	limit := 1000 + 10*s.design.N
	highest, still := -1.0, 0 // the largest half width so far, and the exchanges since
	for range limit {
		if !s.solveContacts() {
			return fmt.Errorf("%w: contacts %v do not determine a surface", fit.ErrNotConverged, s.index)
		}
		rounding := s.rounding()
		if s.half > highest+rounding {
			highest, still = s.half, 0
		} else {
			still++
		}
		// What counts as rounding grows while nothing is gained, so that the last digit cannot keep the search going.
		bland := still > s.patience
		point := s.deviate(rounding*(1+float64(still)/float64(4*m)), bland)
		if point < 0 {
			return nil
		}
		if !s.exchangeContact(point, bland) {
			return fmt.Errorf("%w: contacts %v cannot take in point %d", fit.ErrNotConverged, s.index, point)
		}
	}
	return fmt.Errorf("%w: %d exchanges over %d points", fit.ErrNotConverged, limit, s.design.N)
}

// rounding bounds the rounding in a deviation from the surface.
func (s *Solver) rounding() float64 {
	return float64(4*(s.design.Rank+1)) * fit.Epsilon * max(s.heights.Size, fit.Largest(s.surface))
}

// firstContacts chooses rank points that determine a surface, and the point farthest from the surface through them. It
// reports false when there is none: the family fits every point.
func (s *Solver) firstContacts() bool {
	d := s.design
	r, n := d.Rank, d.N
	t := s.matrix[:r*r] // combinations of the orthogonal columns, by rows; row l vanishes at the points chosen before it
	clear(t)
	s.index = s.index[:0]
	for k := range r {
		t[k*r+k] = 1
	}
	at := func(l, i int) float64 {
		var v float64
		for j := range r {
			v += t[l*r+j] * d.Q[j*n+i]
		}
		return v
	}
	for k := range r {
		clear(s.rest)
		for j := range r {
			if f := t[k*r+j]; f != 0 {
				fit.AddTo(f, d.Column(j), s.rest)
			}
		}
		chosen := 0
		for i, v := range s.rest {
			if math.Abs(v) > math.Abs(s.rest[chosen]) {
				chosen = i
			}
		}
		s.index = append(s.index, chosen)
		pivot := at(k, chosen)
		for l := k + 1; l < r; l++ {
			fit.AddTo(-at(l, chosen)/pivot, t[k*r:k*r+r], t[l*r:l*r+r])
		}
	}
	for k, i := range s.index {
		for j := range r {
			s.matrix[k*r+j] = d.Q[j*n+i]
		}
		s.surface[k] = s.heights.E[i]
	}
	fit.Factor(s.matrix[:r*r], r, s.swap)
	fit.Solve(s.matrix[:r*r], r, s.swap, s.surface)
	s.half = 0
	far := s.deviate(s.rounding(), false)
	if far < 0 {
		s.index = s.index[:0]
		return false
	}
	// Balance: the far point's row less the same row made of the chosen points.
	for j := range r {
		s.entering[j] = d.Q[j*n+far]
	}
	fit.SolveTransposed(s.matrix[:r*r], r, s.swap, s.entering[:r])
	for k := range r {
		s.side[k] = 1
		if s.entering[k] > 0 {
			s.side[k] = -1
		}
	}
	s.index = append(s.index, far)
	s.side[r] = 1
	return true
}

// solveContacts finds the surface and half width that the contacts determine, and the contacts' multipliers.
func (s *Solver) solveContacts() bool {
	d, m := s.design, s.design.Rank+1
	for k, i := range s.index {
		for j := range d.Rank {
			s.matrix[k*m+j] = d.Q[j*d.N+i]
		}
		s.matrix[k*m+d.Rank] = s.side[k]
		s.solution[k] = s.heights.E[i]
	}
	if !fit.Factor(s.matrix, m, s.swap) {
		return false
	}
	fit.Solve(s.matrix, m, s.swap, s.solution)
	copy(s.surface, s.solution)
	s.half = s.solution[d.Rank]
	if math.IsNaN(s.half) || math.IsInf(s.half, 0) {
		return false
	}
	if s.half < 0 { // the same contacts seen from the other side
		for k := range s.side {
			s.side[k] = -s.side[k]
		}
		return s.solveContacts()
	}
	clear(s.multiplier)
	s.multiplier[d.Rank] = 1
	fit.SolveTransposed(s.matrix, m, s.swap, s.multiplier)
	for k := range s.multiplier {
		s.multiplier[k] *= s.side[k]
	}
	return true
}

// deviate computes every point's deviation from the surface and returns the point to take in: the farthest outside
// the zone by more than rounding (the first one outside when first is set), or -1.
func (s *Solver) deviate(rounding float64, first bool) int {
	copy(s.rest, s.heights.E)
	for k, c := range s.surface {
		fit.AddTo(-c, s.design.Column(k), s.rest)
	}
	far, found := s.half+rounding, -1
	for i, v := range s.rest {
		if v = math.Abs(v); v > far {
			far, found = v, i
			if first {
				break
			}
		}
	}
	return found
}

// exchangeContact takes the point in and lets go of the contact that its entering drives to multiplier 0 first; among
// contacts that tie, the one that moves most, or the lowest point under Bland's rule. It reports false when rounding leaves none.
func (s *Solver) exchangeContact(point int, bland bool) bool {
	d, m := s.design, s.design.Rank+1
	side := math.Copysign(1, s.rest[point])
	for j := range d.Rank {
		s.entering[j] = d.Q[j*d.N+point]
	}
	s.entering[d.Rank] = side
	fit.SolveTransposed(s.matrix, m, s.swap, s.entering)
	const still, tie = 1e-13, fit.Epsilon // rows are of order 1 and multipliers at most 1
	step := math.Inf(1)
	for k, v := range s.entering {
		v *= side * s.side[k]
		s.entering[k] = v
		if v > still {
			step = min(step, (max(s.multiplier[k], 0)+tie)/v)
		}
	}
	leave := -1
	for k, v := range s.entering {
		if v <= still || max(s.multiplier[k], 0)/v > step {
			continue
		}
		if leave < 0 || bland && s.index[k] < s.index[leave] || !bland && v > s.entering[leave] {
			leave = k
		}
	}
	if leave < 0 {
		return false
	}
	s.index[leave], s.side[leave] = point, side
	return true
}

// contacts returns the proof of the zone solved last, without the contacts that bear nothing but rounding.
func (s *Solver) contacts() []Contact {
	if len(s.index) == 0 {
		return []Contact{{0, 1, 0.5}, {0, -1, 0.5}}
	}
	const nothing = 1e-14
	var total float64
	for _, v := range s.multiplier {
		if v > nothing {
			total += v
		}
	}
	contacts := make([]Contact, 0, len(s.index))
	for k, v := range s.multiplier {
		if v > nothing {
			contacts = append(contacts, Contact{s.index[k], int(s.side[k]), v / total})
		}
	}
	return contacts
}

// Perturb returns the width of the minimum zone of the heights solved last with dz added to height i, and leaves the
// solver at the heights solved last. A point that bears no contact and stays inside the zone changes nothing, which is
// answered at once; that makes it quick to propagate the uncertainty of many points. Errors: fit.ErrShape for an i that is no
// point or before a Solve, fit.ErrNotFinite, fit.ErrNotConverged.
func (s *Solver) Perturb(i int, dz float64) (zone float64, err error) {
	if !s.solved || i < 0 || i >= s.design.N {
		return 0, fmt.Errorf("%w: point %d of %d; solve a set of heights first", fit.ErrShape, i, s.design.N)
	}
	if !fit.Usable(dz) {
		return 0, fit.Unusable("change of height", i, dz)
	}
	change := dz / s.heights.Scale
	if !slices.Contains(s.index, i) && math.Abs(s.rest[i]+change) <= s.half {
		return 2 * s.half * s.heights.Scale, nil
	}
	height, size := s.heights.E[i], s.heights.Size
	s.before.copyFrom(&s.solverState)
	s.heights.E[i] += change
	s.heights.Size = max(size, math.Abs(s.heights.E[i]))
	zone, err = s.optimum()
	s.heights.E[i], s.heights.Size = height, size
	s.solverState.copyFrom(&s.before)
	return zone, err
}

// copyFrom takes over another state.
func (k *solverState) copyFrom(other *solverState) {
	k.surface = append(k.surface[:0], other.surface...)
	k.rest = append(k.rest[:0], other.rest...)
	k.side = append(k.side[:0], other.side...)
	k.multiplier = append(k.multiplier[:0], other.multiplier...)
	k.index = append(k.index[:0], other.index...)
	k.half = other.half
}

// Uncertainty returns the standard uncertainty of the minimum zone of heights z with the standard uncertainties u, by central
// differences over the points (JCGM 100:2008, 5.1.3, note 2), in z's unit. Errors: as Solve's and Perturb's.
func (s *Solver) Uncertainty(z, u []float64) (float64, error) {
	if _, err := s.Solve(z); err != nil {
		return 0, err
	}
	var sum fit.SumOfSquares
	for i := range z {
		if u[i] == 0 {
			continue
		}
		up, err := s.Perturb(i, u[i])
		if err != nil {
			return 0, err
		}
		down, err := s.Perturb(i, -u[i])
		if err != nil {
			return 0, err
		}
		sum.Add(up, down)
	}
	return sum.U(), nil
}
