package study

import "math"

// poolAbove is the p of the interaction above which it is pooled into repeatability.
// Source: Measurement Systems Analysis reference manual (AIAG, 4th ed., 2010), Appendix A.
const poolAbove = 0.25

// Source is one row of an analysis of variance. MS, F and P are nil where they are not defined.
type Source struct {
	Source string   `json:"source"` // part, appraiser, part:appraiser, repeatability or total
	DF     int      `json:"df"`     // degrees of freedom
	SS     float64  `json:"ss"`     // sum of squares
	MS     *float64 `json:"ms"`     // mean square: SS/DF; nil for the total
	F      *float64 `json:"f"`      // MS over the mean square it is tested against
	P      *float64 `json:"p"`      // probability of so large an F without an effect
}

// square is a sum of squares with its degrees of freedom.
type square struct {
	ss float64
	df int
}

func (s square) ms() float64 { return s.ss / float64(s.df) }

// row tests a sum of squares against another; against nothing it has no F.
func (s square) row(name string, against *square) Source {
	row := Source{Source: name, DF: s.df, SS: s.ss, MS: Defined(s.ms())}
	if against != nil {
		f := s.ms() / against.ms()
		row.F = Defined(f)
		row.P = Defined(fTail(f, float64(s.df), float64(against.df)))
	}
	return row
}

// byVariance fills the table and the standard deviations by analysis of variance.
func (r *CrossedResult) byVariance(g *grid) {
	p, o, n := float64(len(g.parts)), float64(len(g.appraisers)), float64(len(g.trials))
	part, appraiser, inter, repeat, total := g.squares()
	zero := 0.0
	r.Interaction = &zero
	if len(g.appraisers) == 1 {
		r.Table = []Source{part.row("part", &repeat), repeat.row("repeatability", nil), {Source: "total", DF: total.df, SS: total.ss}}
		r.fill(map[string][]term{
			"ev":  {{1, repeat}},
			"grr": {{1, repeat}},
			"pv":  {{1 / n, part}, {-1 / n, repeat}},
		})
		return
	}
	interaction := inter.row("part:appraiser", &repeat)
	r.InteractionP = interaction.P
	r.Pooled = interaction.P != nil && *interaction.P > poolAbove
	if r.Pooled {
		pooled := square{inter.ss + repeat.ss, inter.df + repeat.df}
		r.Table = []Source{part.row("part", &pooled), appraiser.row("appraiser", &pooled), pooled.row("repeatability", nil),
			{Source: "total", DF: total.df, SS: total.ss}}
		r.fill(map[string][]term{
			"ev":  {{1, pooled}},
			"av":  {{1 / (p * n), appraiser}, {-1 / (p * n), pooled}},
			"grr": {{1 / (p * n), appraiser}, {(p*n - 1) / (p * n), pooled}},
			"pv":  {{1 / (o * n), part}, {-1 / (o * n), pooled}},
		})
		return
	}
	r.Table = []Source{part.row("part", &inter), appraiser.row("appraiser", &inter), interaction, repeat.row("repeatability", nil),
		{Source: "total", DF: total.df, SS: total.ss}}
	r.fill(map[string][]term{
		"ev":          {{1, repeat}},
		"av":          {{1 / (p * n), appraiser}, {-1 / (p * n), inter}},
		"interaction": {{1 / n, inter}, {-1 / n, repeat}},
		"grr":         {{1 / (p * n), appraiser}, {(p - 1) / (p * n), inter}, {(n - 1) / n, repeat}},
		"pv":          {{1 / (o * n), part}, {-1 / (o * n), inter}},
	})
}

// squares are the sums of squares of a balanced two-way layout, from deviations rather than from squares of the readings.
// One that is no larger than the rounding of the readings is 0.
func (g *grid) squares() (part, appraiser, interaction, repeatability, total square) {
	p, o, n := len(g.parts), len(g.appraisers), len(g.trials)
	origin := g.v[0]
	cells := make([][]float64, p) // means of the cells, from the origin
	byPart, byAppraiser := make([]float64, p), make([]float64, o)
	grand := 0.0
	for i := range g.parts {
		cells[i] = make([]float64, o)
		for j := range g.appraisers {
			m, ss := about(g.cell(i, j), origin)
			repeatability.ss += ss
			cells[i][j] = m
			byPart[i] += m / float64(o)
			byAppraiser[j] += m / float64(p)
			grand += m / float64(p*o)
		}
	}
	for i := range g.parts {
		d := byPart[i] - grand
		part.ss += float64(o*n) * d * d
		for j := range g.appraisers {
			e := cells[i][j] - byPart[i] - byAppraiser[j] + grand
			interaction.ss += float64(n) * e * e
		}
	}
	for j := range g.appraisers {
		d := byAppraiser[j] - grand
		appraiser.ss += float64(p*n) * d * d
	}
	rounding := 4 * 0x1p-52 * g.largest
	for _, s := range []*square{&part, &appraiser, &interaction, &repeatability} {
		if s.ss <= float64(len(g.v))*rounding*rounding {
			s.ss = 0
		}
		total.ss += s.ss
	}
	part.df, appraiser.df, interaction.df, repeatability.df = p-1, o-1, (p-1)*(o-1), p*o*(n-1)
	total.df = p*o*n - 1
	return part, appraiser, interaction, repeatability, total
}

// term is a mean square with its weight in a variance.
type term struct {
	weight float64
	square
}

// fill sets the standard deviations and their intervals from the variances as sums of weighted mean squares, by the name
// of the standard deviation. GRR is left to be summed from its parts after negative variances became 0; its interval
// belongs to the sum of mean squares, which is never negative.
func (r *CrossedResult) fill(variances map[string][]term) {
	r.Intervals = map[string]*Interval{}
	for name, terms := range variances {
		variance := 0.0
		for _, t := range terms {
			variance += t.weight * t.ms()
		}
		sd := math.Sqrt(max(0, variance))
		switch name {
		case "ev":
			r.EV = sd
		case "av":
			r.AV = sd
		case "interaction":
			*r.Interaction = sd
		case "pv":
			r.PV = sd
		}
		r.Intervals[name] = interval(terms)
	}
}
