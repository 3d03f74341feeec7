package laying

import (
	"fmt"
	"math"
	"time"
)

// When old crowns are withdrawn instead of carried (practice). Whether the rod, strings or frets were worked on, which withdraws
// them too, only the caller knows.
const (
	FewestCarried = 6             // fewer old crowns are measured anew more quickly
	MostTime      = 8 * time.Hour // since the old laying
	MostHumidity  = 5.0           // points of relative humidity between the layings
)

// agreement is how many standard uncertainties two readings of one crown, or a link's residual, may lie apart before something is
// taken to have moved (definition): both readings have u, so their difference has sqrt(2) u.
const agreement = 4 * math.Sqrt2

// untestedLeverage: a link whose leverage is 1, but for rounding, fits exactly whatever it reads and tests nothing.
const untestedLeverage = 1 - 1e-9

// EveryTrack is a Shift's track where one plane carries all tracks.
const EveryTrack = -1

// Shift is what carrying adds to an old crown: C[0] + C[1] x + C[2] y, mm and mm per mm.
type Shift struct {
	Track int // the track that it carries, or EveryTrack
	C     [3]float64
}

// Link is one link and how it fits.
type Link struct {
	Crown                // as measured again
	Residual     float64 // mm; new less old height, less the fitted shift
	Leverage     float64 // h_ii of that fit, 0 to 1
	Standardised float64 // |residual| / (sqrt(2) u sqrt(1 - h_ii)); 0 where the leverage is 1 and nothing is tested
	Tested       bool
}

// Carried is old crowns in a new laying.
type Carried struct {
	Shifts []Shift // one plane, or a line for each track
	Links  []Link  // in the order given
	Agree  bool    // whether the links agree; where they do not the old crowns are withdrawn, whatever Crowns says
	Crowns []Crown // the old crowns, in the order given, carried; a link's has its new reading
	// Each carried height is a weighted sum of the inputs: Crowns[j].Z = sum over i of Old[j][i] times the height of old crown i, plus
	// the sum over i of New[j][i] times that of link i. Old and new readings are independent, each one counts once, so the covariance of
	// carried heights j and k is the sum of u_i^2 times the product of their weights (JCGM 100:2008, 5.1). A characteristic is
	// propagated through them to the readings.
	Old, New [][]float64
}

// Carry carries old crowns into a laying by links: crowns measured again, as Links asks. With d = z_new - z_old at the links, a carried
// crown is z + c0 + c1 x + c2 y, by least squares over all links, where they lie on two tracks at least and determine the plane; else
// z + c0 + c1 x along its own track. A link's crown takes its new reading.
//
// The links agree when each residual is at most 4 sqrt(2) u sqrt(1 - h_ii), whatever its sign, h_ii the link's leverage (D. A. Belsley, E. Kuh and
// R. E. Welsch, Regression Diagnostics (1980), chapter 2: a residual's variance is sigma^2 (1 - h_ii)); a link with h_ii = 1 is not
// tested, and where none is tested they do not agree. u, mm, is that of a reading from resolution and repeatability alone: what two
// readings share does not tell them apart.
//
// Errors: ErrNeck, ErrCrown (also for a link that is no old crown), ErrUndetermined where a track with crowns to carry has too few links.
// Whether there are enough old crowns to be worth it (FewestCarried) is asked before.
func Carry(neck Neck, old, links []Crown, u float64) (Carried, error) {
	if err := checkUncertainty(u); err != nil {
		return Carried{}, err
	}
	for _, crowns := range [][]Crown{links, old} {
		if _, err := neck.grid(crowns); err != nil {
			return Carried{}, err
		}
	}
	c := carrying{neck: neck, old: old, links: links}
	var err error
	if c.oldOf, c.linkOf, err = match(old, links); err != nil {
		return Carried{}, err
	}
	c.out = Carried{Links: make([]Link, len(links)), Crowns: make([]Crown, len(old)), Old: zeros(len(old), len(old)),
		New: zeros(len(old), len(links))}
	for j, o := range old {
		c.out.Crowns[j] = o
		if i := c.linkOf[j]; i >= 0 {
			c.out.Crowns[j].Z = links[i].Z
			c.out.New[j][i] = 1
		} else {
			c.out.Old[j][j] = 1
		}
	}
	if !c.carry(EveryTrack) {
		for t := range neck.Tracks {
			if !c.carry(t) {
				return Carried{}, fmt.Errorf("%w: track %d has crowns to carry and links at fewer than two frets; measure those that Links names",
					ErrUndetermined, t)
			}
		}
	}
	c.judge(u)
	return c.out, nil
}

// match returns which old crown each link is, and which link, or -1, each old crown is.
func match(old, links []Crown) (oldOf, linkOf []int, err error) {
	oldOf, linkOf = make([]int, len(links)), make([]int, len(old))
	for j := range linkOf {
		linkOf[j] = -1
	}
	for i, l := range links {
		oldOf[i] = -1
		for j, o := range old {
			if o.Track == l.Track && o.Fret == l.Fret {
				oldOf[i], linkOf[j] = j, i
			}
		}
		if oldOf[i] < 0 {
			return nil, nil, fmt.Errorf("%w: the link at track %d, fret %d is none of the old crowns; give links that Links names", ErrCrown,
				l.Track, l.Fret)
		}
	}
	return oldOf, linkOf, nil
}

// carrying is one call of Carry.
type carrying struct {
	neck       Neck
	old, links []Crown
	oldOf      []int // of each link, its old crown
	linkOf     []int // of each old crown, its link or -1
	out        Carried
}

// carry fits the shift of one track, or of every track, to its links and carries its crowns; false where the links do not determine it.
func (c *carrying) carry(track int) bool {
	var used []int
	tracks := map[int]bool{}
	for i, l := range c.links {
		if track == EveryTrack || l.Track == track {
			used = append(used, i)
			tracks[l.Track] = true
		}
	}
	columns := 2
	if track == EveryTrack {
		columns = 3
	}
	column, d := zeros(3, len(used)), make([]float64, len(used))
	for row, i := range used {
		x, y := c.place(c.links[i])
		column[0][row], column[1][row], column[2][row] = 1, x, y
		d[row] = c.links[i].Z - c.old[c.oldOf[i]].Z
	}
	var b basis
	b.reset(len(used))
	determined := true
	for _, values := range column[:columns] {
		determined = b.add(values, length(values)) && determined
	}
	if track == EveryTrack && (!determined || len(tracks) < 2) || track != EveryTrack && !determined && c.toCarry(track) {
		return false
	}
	parts := b.project(d)
	coefficients := b.coefficients(parts)
	if len(used) > 0 {
		c.out.Shifts = append(c.out.Shifts, Shift{Track: track, C: [3]float64(coefficients[:3])})
	}
	for row, i := range used {
		leverage := 0.0
		for k := range b.rank {
			leverage += b.q[k][row] * b.q[k][row]
		}
		c.out.Links[i] = Link{Crown: c.links[i], Residual: d[row], Leverage: leverage}
	}
	for j, o := range c.old {
		if c.linkOf[j] < 0 && (track == EveryTrack || o.Track == track) {
			c.shift(j, &b, parts, used)
		}
	}
	return true
}

// shift carries one old crown by a fit to the links used.
func (c *carrying) shift(j int, b *basis, parts [mostColumns]float64, used []int) {
	x, y := c.place(c.old[j])
	there := b.at([mostColumns]float64{1, x, y})
	for k := range b.rank {
		c.out.Crowns[j].Z += parts[k] * there[k]
	}
	for row, i := range used {
		weight := 0.0
		for k := range b.rank {
			weight += there[k] * b.q[k][row]
		}
		c.out.New[j][i] += weight
		c.out.Old[j][c.oldOf[i]] -= weight
	}
}

// toCarry reports whether a track has old crowns that are no links.
func (c *carrying) toCarry(track int) bool {
	for j, o := range c.old {
		if o.Track == track && c.linkOf[j] < 0 {
			return true
		}
	}
	return false
}

// place returns where a crown is.
func (c *carrying) place(of Crown) (x, y float64) {
	t := c.neck.Tracks[of.Track]
	return t.X[of.Fret], t.Y[of.Fret]
}

// judge tests every link.
func (c *carrying) judge(u float64) {
	tested, agree := false, true
	for i := range c.out.Links {
		l := &c.out.Links[i]
		if l.Leverage >= untestedLeverage {
			continue
		}
		tested, l.Tested = true, true
		l.Standardised = math.Abs(l.Residual) / (math.Sqrt2 * u * math.Sqrt(1-l.Leverage))
		agree = agree && l.Standardised <= agreement/math.Sqrt2
	}
	c.out.Agree = tested && agree
}

// zeros returns a matrix of them.
func zeros(rows, columns int) [][]float64 {
	m := make([][]float64, rows)
	for i := range m {
		m[i] = make([]float64, columns)
	}
	return m
}
