package inspect

import (
	"fmt"
	"math"
	"slices"
)

// The minimum zone is a linear programme: the least h with |z_i - row_i . c| <= h at every point. Its dual looks for
// multipliers on points of either side that balance every function of the family; a basic solution is rank + 1 contacts.
// The exchange solves the contacts for their surface and h, takes in the point that lies farthest outside and lets go of
// the contact whose multiplier reaches 0 first, so that multipliers stay 0 or more and h never falls (the simplex
// method on the dual, which for one variable is Stiefel's exchange: E. Stiefel, Numerische Mathematik 1 (1959), pp. 1-28).
// When h stands still for long, the choices follow Bland's rule, which cannot cycle (R. G. Bland, Mathematics of Operations
// Research 2 (1977), pp. 103-107). The end is exact: the contacts' surface holds every point to rounding.

// ZoneSolver finds minimum zones of many sets of heights over the same points. It starts each from the contacts of the
// one before, since multipliers depend on the points only, and allocates nothing after it is made. It is not for concurrent use.
type ZoneSolver struct {
	design  *design
	heights heights
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

// NewZoneSolver returns a solver for the family whose functions rows holds at each point. Errors: ErrTooFew without
// rows, ErrShape, ErrNotFinite.
func NewZoneSolver(rows [][]float64) (*ZoneSolver, error) {
	d, err := designOf(rows)
	if err != nil {
		return nil, err
	}
	return newZoneSolver(d), nil
}

// newZoneSolver returns a solver over a factored design.
func newZoneSolver(d *design) *ZoneSolver {
	m := d.rank + 1
	small := make([]float64, d.rank+4*m+m*m)
	next := func(n int) []float64 {
		part := small[:n:n]
		small = small[n:]
		return part
	}
	return &ZoneSolver{
		design: d, heights: d.newHeights(),
		solverState: solverState{surface: next(d.rank), rest: make([]float64, d.n), index: make([]int, 0, m), side: next(m),
			multiplier: next(m)},
		matrix: next(m * m), solution: next(m), entering: next(m), swap: make([]int, m), patience: 4 * m,
	}
}

// Solve returns the width of the minimum zone of the heights z, in z's unit. Errors: ErrShape, ErrNotFinite,
// ErrNotConverged.
func (s *ZoneSolver) Solve(z []float64) (zone float64, err error) {
	s.solved = false
	if err := s.design.reduce(z, &s.heights); err != nil {
		return 0, err
	}
	zone, err = s.optimum()
	s.solved = err == nil
	return zone, err
}

// optimum returns the zone of the present heights, starting afresh if the present contacts lead nowhere.
func (s *ZoneSolver) optimum() (float64, error) {
	if err := s.exchange(); err != nil {
		s.index = s.index[:0]
		if err := s.exchange(); err != nil {
			return 0, err
		}
	}
	return 2 * s.half * s.heights.scale, nil
}

// exchange runs from the present contacts, or from a first choice of them, to the optimum.
func (s *ZoneSolver) exchange() error {
	m := s.design.rank + 1
	if len(s.index) == 0 && !s.firstContacts() {
		return nil
	}
	limit := 1000 + 10*s.design.n
	highest, still := -1.0, 0 // the largest half width so far, and the exchanges since
	for range limit {
		if !s.solveContacts() {
			return fmt.Errorf("%w: contacts %v do not determine a surface", ErrNotConverged, s.index)
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
			return fmt.Errorf("%w: contacts %v cannot take in point %d", ErrNotConverged, s.index, point)
		}
	}
	return fmt.Errorf("%w: %d exchanges over %d points", ErrNotConverged, limit, s.design.n)
}

// rounding bounds the rounding in a deviation from the surface.
func (s *ZoneSolver) rounding() float64 {
	return float64(4*(s.design.rank+1)) * epsilon * max(s.heights.size, largest(s.surface))
}

// firstContacts chooses rank points that determine a surface, and the point farthest from the surface through them. It
// reports false when there is none: the family fits every point.
func (s *ZoneSolver) firstContacts() bool {
	d := s.design
	r, n := d.rank, d.n
	t := s.matrix[:r*r] // combinations of the orthogonal columns, by rows; row l vanishes at the points chosen before it
	clear(t)
	s.index = s.index[:0]
	for k := range r {
		t[k*r+k] = 1
	}
	at := func(l, i int) float64 {
		var v float64
		for j := range r {
			v += t[l*r+j] * d.q[j*n+i]
		}
		return v
	}
	for k := range r {
		clear(s.rest)
		for j := range r {
			if f := t[k*r+j]; f != 0 {
				axpy(f, d.column(j), s.rest)
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
			axpy(-at(l, chosen)/pivot, t[k*r:k*r+r], t[l*r:l*r+r])
		}
	}
	for k, i := range s.index {
		for j := range r {
			s.matrix[k*r+j] = d.q[j*n+i]
		}
		s.surface[k] = s.heights.e[i]
	}
	lu(s.matrix[:r*r], r, s.swap)
	luSolve(s.matrix[:r*r], r, s.swap, s.surface)
	s.half = 0
	far := s.deviate(s.rounding(), false)
	if far < 0 {
		s.index = s.index[:0]
		return false
	}
	// Balance: the far point's row less the same row made of the chosen points.
	for j := range r {
		s.entering[j] = d.q[j*n+far]
	}
	luSolveTransposed(s.matrix[:r*r], r, s.swap, s.entering[:r])
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
func (s *ZoneSolver) solveContacts() bool {
	d, m := s.design, s.design.rank+1
	for k, i := range s.index {
		for j := range d.rank {
			s.matrix[k*m+j] = d.q[j*d.n+i]
		}
		s.matrix[k*m+d.rank] = s.side[k]
		s.solution[k] = s.heights.e[i]
	}
	if !lu(s.matrix, m, s.swap) {
		return false
	}
	luSolve(s.matrix, m, s.swap, s.solution)
	copy(s.surface, s.solution)
	s.half = s.solution[d.rank]
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
	s.multiplier[d.rank] = 1
	luSolveTransposed(s.matrix, m, s.swap, s.multiplier)
	for k := range s.multiplier {
		s.multiplier[k] *= s.side[k]
	}
	return true
}

// deviate computes every point's deviation from the surface and returns the point to take in: the farthest outside
// the zone by more than rounding (the first one outside when first is set), or -1.
func (s *ZoneSolver) deviate(rounding float64, first bool) int {
	copy(s.rest, s.heights.e)
	for k, c := range s.surface {
		axpy(-c, s.design.column(k), s.rest)
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
func (s *ZoneSolver) exchangeContact(point int, bland bool) bool {
	d, m := s.design, s.design.rank+1
	side := math.Copysign(1, s.rest[point])
	for j := range d.rank {
		s.entering[j] = d.q[j*d.n+point]
	}
	s.entering[d.rank] = side
	luSolveTransposed(s.matrix, m, s.swap, s.entering)
	const still, tie = 1e-13, epsilon // rows are of order 1 and multipliers at most 1
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
func (s *ZoneSolver) contacts() []Contact {
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
// answered at once; that makes it quick to propagate the uncertainty of many points. Errors: ErrShape for an i that is no
// point or before a Solve, ErrNotFinite, ErrNotConverged.
func (s *ZoneSolver) Perturb(i int, dz float64) (zone float64, err error) {
	if !s.solved || i < 0 || i >= s.design.n {
		return 0, fmt.Errorf("%w: point %d of %d; solve a set of heights first", ErrShape, i, s.design.n)
	}
	if !usable(dz) {
		return 0, unusable("change of height", i, dz)
	}
	change := dz / s.heights.scale
	if !slices.Contains(s.index, i) && math.Abs(s.rest[i]+change) <= s.half {
		return 2 * s.half * s.heights.scale, nil
	}
	height, size := s.heights.e[i], s.heights.size
	s.before.copyFrom(&s.solverState)
	s.heights.e[i] += change
	s.heights.size = max(size, math.Abs(s.heights.e[i]))
	zone, err = s.optimum()
	s.heights.e[i], s.heights.size = height, size
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
