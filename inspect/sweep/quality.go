package sweep

import (
	"fmt"
	"math"

	"sagitta/inspect/unit"
)

// Thresholds of a good crown, each with its reason.
const (
	// leastSamples: two parameters are fitted and three heights left to show a misfit. At 100 readings a second that is
	// up to 55 mm/s.
	leastSamples = 5
	// leastSide is how far heights must reach beyond the top on either side, mm: a crown seen from one side alone is not
	// a top. Two readings at 25 mm/s.
	leastSide = 0.25
	// widestHole about the top, mm: further apart the top lies in what was not seen.
	widestHole = 1.0
	// largestU, mm: U is then 0.010, what one placement is good for where resolution and calibration are counted in.
	largestU = 0.005
	// largestMisfit: heights that scatter more than twice what their uncertainty says, in square, were not taken on a
	// clean round crown. With 8 heights noise alone gives more once in 2000 crowns (chi-square, 6 degrees of freedom).
	largestMisfit = 4.0
	// roundMisfit: beyond it the crown may be worn flat, which is tried too.
	roundMisfit = 1.2
	// wornBefore is the share of crowns taken to be worn flat before any is measured (common practice, no source): what
	// the heights say must outweigh it.
	wornBefore = 0.02
	// farthestOff, mm: the crown stands where no fret of this neck should.
	farthestOff = 0.75
)

// crowns fits every fret's crown, and what is the same for all of them: the scatter that the frames' times show, and
// the effective radius, of which only a first value need be known.
func (p *Found) crowns(track []placed, c place, tops []top, labels []int, o Options, shape *path) {
	points := along(track, c, o)
	seen := make([]float64, len(o.FretsMM)+1)
	for n := range seen {
		seen[n] = math.NaN()
	}
	for i, t := range tops {
		if labels[i] != unknown {
			seen[labels[i]] = (t.p - c.offset) / c.scale // where this round's track has it, lateness and all
		}
	}
	var fits []fitted
	for range 3 {
		fits = fits[:0]
		for n := 1; n <= len(o.FretsMM); n++ {
			f := fitted{}
			if !math.IsNaN(seen[n]) {
				f = fit(within(points, seen[n], *shape), seen[n], *shape, p.TimingS)
			}
			fits = append(fits, f)
		}
		p.TimingS = timingOf(fits)
		shape.grow(fits, o)
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, q := range points {
		lo, hi = math.Min(lo, q.x), math.Max(hi, q.x)
	}
	p.Crowns = make([]Crown, 0, len(o.FretsMM))
	speed, counted := 0.0, 0.0
	for n := 1; n <= len(o.FretsMM); n++ {
		f := fits[n-1]
		x := o.fretX(n)
		if !f.ok {
			p.Crowns = append(p.Crowns, Crown{Fret: n, State: Missing, Why: missing(n, x, lo+shape.reach(), hi-shape.reach())})
			continue
		}
		if f.misfit(2) > roundMisfit {
			f = orFlat(f, fitWorn(within(points, f.x, *shape), f.x, *shape, p.TimingS))
		}
		for _, q := range f.used {
			speed += math.Abs(q.speed)
			counted++
		}
		p.Crowns = append(p.Crowns, judge(n, x, f))
	}
	p.SpeedMMS = speed / math.Max(1, counted)
	p.RadiusMM = shape.crown + shape.tip
}

// grow takes the effective radius that the median crown asks for, within half and one and a half of what was given.
// A radius that is 10 % off would put crowns 0.015 mm too high or low, all alike, and make each look misshapen.
func (s *path) grow(fits []fitted, o Options) {
	var off []float64
	for _, f := range fits {
		if f.ok && len(f.used) >= leastSamples {
			if step := f.radiusOff(); !math.IsNaN(step) {
				off = append(off, step)
			}
		}
	}
	if len(off) < leastTops {
		return
	}
	given := o.CrownRadiusMM + o.TipRadiusMM
	r := s.crown + s.tip + median(off)
	r = math.Max(given/2, math.Min(1.5*given, r))
	s.crown = math.Max(r-o.TipRadiusMM, 0.1*r)
	s.tip = r - s.crown
}

// orFlat weighs the round and the worn fit of one crown by how likely each is, exp(-chi²/2) times its share before:
// height and u are those of the mixture, the rest is the likelier one's. Where the heights do not tell which it is, the
// mixture's u says so.
func orFlat(round, flat fitted) fitted {
	if !flat.ok {
		return round
	}
	odds := wornBefore / (1 - wornBefore) * math.Exp(math.Min(100, (round.chi2-flat.chi2)/2))
	p := odds / (1 + odds)
	chosen := round
	if p > 0.5 {
		chosen = flat
	}
	d := round.z - flat.z
	chosen.z = round.z - p*d
	flatU := math.Max(flat.uz, math.Min(flat.withWear(), math.Abs(d))) // the wear is hardly told where the flat is narrow
	chosen.uz = math.Sqrt((1-p)*round.uz*round.uz + p*flatU*flatU + p*(1-p)*d*d)
	return chosen
}

// missing says why a fret has no crown; lo and hi are between which it would have been seen whole.
func missing(n int, x, lo, hi float64) string {
	switch {
	case x < lo:
		return fmt.Sprintf("the sweep did not reach fret %d at the nut's end: sweep again from before it", n)
	case x > hi:
		return fmt.Sprintf("the sweep did not reach fret %d at the body's end: sweep again to beyond it", n)
	}
	return fmt.Sprintf("nothing stood where fret %d should: sweep again, or place the indicator on it", n)
}

// judge puts one fit into a crown and says whether it is good.
func judge(n int, x float64, f fitted) Crown {
	parameters := 2
	if f.path.worn > 0 {
		parameters = 3
	}
	misfit := f.misfit(parameters)
	c := Crown{
		Fret: n, State: Good, ZMM: f.z, UMM: f.uz * math.Sqrt(math.Max(1, misfit)), XMM: f.x, OffMM: f.x - x,
		Samples: len(f.used), MisfitMM: f.rms(), Misfit: misfit, FlatMM: f.path.flat(),
		From: f.used[0].index, To: f.used[len(f.used)-1].index + 1,
	}
	var before, behind float64                     // farthest heights on either side of the top
	under, over := -f.path.reach(), f.path.reach() // nearest ones
	for _, p := range f.used {
		d := p.x - f.x
		before, behind = math.Min(before, d), math.Max(behind, d)
		if d <= 0 {
			under = math.Max(under, d)
		}
		if d >= 0 {
			over = math.Min(over, d)
		}
	}
	doubt := func(format string, a ...any) {
		if c.State == Good {
			c.State, c.Why = Doubtful, fmt.Sprintf(format, a...)
		}
	}
	switch {
	case c.Samples < leastSamples:
		doubt("fret %d has %d of the %d readings that it needs: sweep over it whole and more slowly", n, c.Samples, leastSamples)
	case -before < leastSide || behind < leastSide:
		doubt("fret %d was seen from one side only: sweep over it from before it to behind it", n)
	case over-under > widestHole:
		doubt("the top of fret %d lies in a gap of %s between readings: sweep over it again, more slowly", n, length(over-under))
	case math.Abs(c.OffMM) > farthestOff:
		doubt("a top stands %s from where fret %d should: is the fret in its place, or is it something else?", length(math.Abs(c.OffMM)), n)
	case misfit > largestMisfit:
		doubt("fret %d is no clean round crown: readings lie %s off it; look for a burr or a scratch, then sweep again or place the indicator on it", n, length(c.MisfitMM))
	case c.UMM > largestU:
		doubt("the height of fret %d is uncertain by %s (U): sweep over it again, more slowly and evenly", n, length(2*c.UMM))
	}
	return c
}

// length writes a length in both units, for people who work in either.
func length(mm float64) string { return fmt.Sprintf("%.3f mm (%.4f in)", mm, unit.Inch.From(mm)) }

const (
	firstTiming = 3e-4 // s, before the crowns have shown it
	leastTiming = 2e-4
	mostTiming  = 5e-3
)

// timingOf is the standard deviation of the frames' times against one another that makes the heights on the crowns'
// flanks scatter as they do. From each residual: r² = u² + slope² (u_x² + v² tau²), so a crown's tau² is the weighted
// mean of what its r² leave over. The median crown decides, so that burrs and scratches do not; by skewness it lies at
// 0.87 of the mean (chi-square, 5 degrees of freedom).
func timingOf(fits []fitted) float64 {
	var each []float64
	for _, f := range fits {
		if !f.ok || len(f.used) < leastSamples {
			continue
		}
		share := float64(len(f.used)) / float64(len(f.used)-2) // two parameters took part of the scatter
		var over, under float64
		for _, p := range f.used {
			h, slope := f.path.at(p.x - f.x)
			r := p.z - f.z - h
			g := slope * slope * p.speed * p.speed
			total := p.variance(slope, firstTiming)
			over += g / (total * total) * (share*r*r - p.variance(slope, 0))
			under += g / (total * total) * g
		}
		if under > 0 {
			each = append(each, over/under)
		}
	}
	if len(each) == 0 {
		return firstTiming
	}
	return math.Sqrt(math.Max(leastTiming*leastTiming, math.Min(mostTiming*mostTiming, median(each)/0.87)))
}
