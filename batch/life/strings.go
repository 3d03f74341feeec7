package life

import "math"

// What strings do to a neck in general, mm of relief for each newton of pull more: the beam's formula s = T h J^2/(8 E I) for a neck's
// section of 18 to 22 mm depth, E of 10 to 13 GPa, J of 340 to 370 mm and h of 15 to 17 mm, less a fifth for a datum from fret 1 to the
// joint. Worked out, for six strings on a wooden neck; a rod takes a little off.
const (
	CommonLow  = 0.0005
	CommonHigh = 0.0015
)

// Giving is how much a neck gives to the pull of its strings.
type Giving struct {
	Pairs     int // of measurements before and after other strings with no other work between, at one visit
	PerN      float64
	Low, High float64 // its interval of 95 %
	TooAlike  bool    // there are such pairs, and their pulls can hardly be told apart
}

// OwnSign says that the neck has shown that it gives, and to which side.
func (g *Giving) OwnSign() bool { return g.Pairs > 0 && (g.Low > 0 || g.High < 0) }

// GivingOf tells what the neck gave to other strings at its own visits: the mean over the pairs by their weights, with what the
// measurements and the pulls leave uncertain. What is uncertain of the pulls is taken to be common to all pairs.
func (n *Neck) GivingOf() Giving {
	var g Giving
	of := n.kind()
	type pair struct{ perN, u, share, weight float64 }
	var pairs []pair
	weights := 0.0
	for i := 0; i+1 < len(n.Measured); i++ {
		a, b := n.Measured[i], n.Measured[i+1]
		before, ub, ok := a.mean(of)
		after, ua, also := b.mean(of)
		if !ok || !also || a.Visit != b.Visit || !a.Strings.otherPull(b.Strings) || !n.onlyStrings(i, i+1) {
			continue
		}
		pull, up := more(a.Strings, b.Strings)
		if math.Abs(pull) < coverage*up {
			g.TooAlike = true
			continue
		}
		p := pair{perN: (after - before) / pull, u: math.Hypot(ub, ua) / math.Abs(pull), share: up / math.Abs(pull)}
		p.weight = 1 / (p.u*p.u + math.Pow(p.share*(CommonLow+CommonHigh)/2, 2))
		pairs, weights = append(pairs, p), weights+p.weight
	}
	if g.Pairs = len(pairs); g.Pairs == 0 {
		return g
	}
	own, shared := 0.0, 0.0
	for _, p := range pairs {
		w := p.weight / weights
		g.PerN += w * p.perN
		own, shared = math.Hypot(own, w*p.u), shared+w*p.share
	}
	reach := coverage * math.Hypot(own, g.PerN*shared)
	g.Low, g.High = g.PerN-reach, g.PerN+reach
	return g
}

// coverage is that of expanded uncertainties, for intervals of 95 % by uncertainties that are known.
const coverage = 2

// onlyStrings says that nothing but other strings came between two neighbouring measurements.
func (n *Neck) onlyStrings(i, j int) bool {
	for _, w := range n.between(i, j) {
		if w.Bends && !w.Strings {
			return false
		}
	}
	return true
}

// eachOwn is the share of what is uncertain of two sets' estimated masses that is each set's own: sets of one kind are taken to be wound
// alike, so that the rest errs alike in both. Practice; of another metal they differ more.
const eachOwn = 0.4

// more is by how much a set pulls more than another, N, with its standard uncertainty.
func more(from, to Strings) (pull, u float64) {
	return to.PullN - from.PullN, math.Hypot(to.U-from.U, eachOwn*math.Hypot(from.U, to.U))
}

// Restrung is what another set is expected to do to the relief.
type Restrung struct {
	PullN, U      float64 // by which it pulls more
	Own           bool    // told from the neck's own visits, else what is common
	MM, Low, High float64 // of change; MM only where Own
	Alike         bool    // it pulls like the one before it, as far as that is known
}

// Restring says what a set in place of the one on the neck would do to its relief. ok is false where either's pull is unknown.
func (g Giving) Restring(from, to Strings) (r Restrung, ok bool) {
	if from.PullN <= 0 || to.PullN <= 0 {
		return r, false
	}
	r.PullN, r.U = more(from, to)
	r.Alike = from.samePull(to) || math.Abs(r.PullN) < coverage*r.U
	low, high := CommonLow*r.PullN, CommonHigh*r.PullN
	if r.Own = g.OwnSign(); r.Own {
		r.MM = g.PerN * r.PullN
		half := (g.High - g.Low) / 2
		reach := math.Sqrt(math.Pow(half*r.PullN, 2) + math.Pow(coverage*g.PerN*r.U, 2) + math.Pow(half*r.U, 2))
		low, high = r.MM-reach, r.MM+reach
	}
	r.Low, r.High = min(low, high), max(low, high)
	return r, true
}
