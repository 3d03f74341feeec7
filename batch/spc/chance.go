package spc

import (
	_ "embed"
	"encoding/json"
	"math"
	"strconv"
	"sync"

	"gonum.org/v1/gonum/stat/distuv"
)

// ratesText is what simulation found of steady Normal series; rates_test.go made it and says how.
//
//go:embed testdata/rates.json
var ratesText []byte

// rateRow is how many signals a value something gives by chance where the limits are from Base values: after them, and among them.
type rateRow struct {
	What    string  `json:"what"` // a run test's number, or one of the names below
	Base    int     `json:"base"`
	After   float64 `json:"after"`
	AfterSE float64 `json:"after_se"` // standard errors
	In      float64 `json:"in"`
	InSE    float64 `json:"in_se"`
}

// What rates are known of besides the run tests with three-sigma limits.
const (
	limitsRate  = "limits"  // values beyond prediction limits, at a chance of 1/(2 Between)
	averageRate = "average" // the EWMA that is watched, beyond prediction limits for a run length of 2 Between
	ewmaRate    = "ewma"    // an EWMA of lambda 0.2 beyond three sigma
	cusumRate   = "cusum"   // a CUSUM of k 0.5 and h 5
	rangesRate  = "ranges"  // moving ranges beyond three sigma
)

var rates = sync.OnceValue(func() map[string][]rateRow {
	var table struct{ Rates []rateRow }
	if err := json.Unmarshal(ratesText, &table); err != nil {
		panic("rates.json: " + err.Error()) // it is part of the program
	}
	known := map[string][]rateRow{}
	for _, r := range table.Rates {
		known[r.What] = append(known[r.What], r)
	}
	return known
})

// rate is the row of what for limits from base points: between the table's bases by 1/n, beyond its ends as at them.
func rate(what string, base int) rateRow {
	rows := rates()[what]
	i := 1
	for i < len(rows)-1 && rows[i].Base < base {
		i++
	}
	few, many := rows[i-1], rows[i]
	n := float64(min(max(base, few.Base), many.Base))
	share := (1/n - 1/float64(many.Base)) / (1/float64(few.Base) - 1/float64(many.Base))
	return rateRow{What: what, Base: base, In: many.In + share*(few.In-many.In), After: many.After + share*(few.After-many.After)}
}

// times is a rate of so many times as many signals.
func (r rateRow) times(f float64) rateRow {
	r.In, r.After = f*r.In, f*r.After
	return r
}

// among is how many signals chance gives among points, of which the first Base are those that the limits are from.
func (r rateRow) among(points int) float64 {
	in := min(r.Base, points)
	return float64(in)*r.In + float64(points-in)*r.After
}

// ofTest is the rate of a test's signals in the chart; of an EWMA and a CUSUM, of a point beyond its limits.
func (c Chart) ofTest(test int) rateRow {
	base := c.baseSize()
	if c.Size > 1 && test > 1 {
		base = c.likeSingle()
	}
	switch {
	case c.Kind == CUSUMKind:
		return rate(cusumRate, base)
	case c.Kind == EWMAKind:
		between := c.between
		if between == 0 {
			between = AverageRunLength(c.average, 0)
		}
		if c.beyond > 0 {
			return rate(averageRate, base).times(2 * Between / between)
		}
		return rate(ewmaRate, base).times(AverageRunLength(Average{0.2, 3}, 0) / between)
	case test > 1:
		return rate(strconv.Itoa(test), base)
	case c.Kind == PKind || c.Kind == UKind:
		mean := c.tails / float64(len(c.Points))
		return rateRow{Base: base, In: mean, After: mean}
	case c.beyond == 0 && c.Base == (Base{}): // given limits
		return rateRow{Base: base, In: 2 * normalTail(-3), After: 2 * normalTail(-3)}
	case c.beyond > 0 && c.Size == 1:
		return rate(limitsRate, base).times(c.beyond * 2 * Between)
	case c.beyond > 0:
		return rateRow{Base: base, In: c.beyond, After: c.beyond}
	case c.Size > 1:
		return rateRow{Base: base, In: 2 * normalTail(-3), After: c.beyondThree()}
	}
	return rate("1", base)
}

// beyondThree is the chance of a further mean of a subgroup to lie beyond three-sigma limits from the base's: Student's t, as in
// [Prediction].
func (c Chart) beyondThree() float64 {
	n, f := float64(c.baseSize()), rangeFactors(c.Size)
	if c.Kind == XbarSKind {
		f = deviationFactors(c.Size)
	}
	freedom := freedomOf(f.sd * f.sd / (f.mean * f.mean * n))
	return 2 * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: freedom}.CDF(-3/(c4Of(freedom)*math.Sqrt(1+1/n)))
}

// ofSpread is the rate of the spread's points beyond its limits; of subgroups, of Normal values whose sigma is known.
func (c Chart) ofSpread() rateRow {
	base := c.baseSize()
	beyond, n := 0.0, float64(c.Size)
	switch c.Kind {
	case XbarRKind:
		f := rangeFactors(c.Size)
		beyond = 1 - rangeBelow(c.Size, f.mean+3*f.sd)
		if low := f.mean - 3*f.sd; low > 0 {
			beyond += rangeBelow(c.Size, low)
		}
	case XbarSKind:
		f, chi := deviationFactors(c.Size), distuv.ChiSquared{K: n - 1}
		low, high := max(0, f.mean-3*f.sd), f.mean+3*f.sd
		beyond = 1 - chi.CDF((n-1)*high*high) + chi.CDF((n-1)*low*low)
	default:
		return rate(rangesRate, base)
	}
	return rateRow{Base: base, In: beyond, After: beyond}
}

// rangeBelow is the chance that the range of n standard Normal values is no more than w: n times the integral of
// p(x) (P(x + w) - P(x))^(n-1). Source: H. L. Harter, Annals of Mathematical Statistics 31 (1960) 1122-1147.
func rangeBelow(n int, w float64) float64 {
	const step = 0.05
	sum := 0.0
	for x := -10.0; x <= 10; x += step {
		sum += step * math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) * math.Pow(normalTail(x+w)-normalTail(x), float64(n-1))
	}
	return float64(n) * sum
}

// every is how many points of a steady process give one such signal by chance.
func (c Chart) every(s Signal) float64 {
	switch s.Plotted {
	case Ranges, Deviations, MovingRanges:
		return 1 / c.ofSpread().After
	}
	return 1 / c.ofTest(s.Test).After
}

// likeSingle is how many single values give limits about as sure as those of a base of subgroups.
func (c Chart) likeSingle() int {
	base := c.baseSize()
	return base + min(base, math.MaxInt-base)
}

// baseSize is how many points the limits are from; as from very many where they were given.
func (c Chart) baseSize() int {
	if c.Base == (Base{}) {
		return math.MaxInt
	}
	return c.Base.To - c.Base.From + 1
}

// Chance is how many signals a steady process would give on the average in such a chart, by chance alone ([Chart.Signals] and
// [Chart.SpreadSignals]); tests are those used, none: all. Points beyond the limits of a p or u chart are counted from the binomial and
// the Poisson distribution; the rest is from simulated single Normal values, of a CUSUM with the usual k and h.
func (c Chart) Chance(tests Tests) float64 {
	sum := c.testChance(tests)
	if len(c.Spread) > 0 {
		sum += c.ofSpread().among(len(c.Spread))
	}
	return sum
}

// testChance is how many of them the run tests give.
func (c Chart) testChance(tests Tests) float64 {
	switch {
	case c.Kind == EWMAKind || c.Kind == CUSUMKind:
		tests = TestsOf(1)
	case tests == 0:
		tests = AllTests
	}
	if c.zone == 0 { // of a p or u chart whose limits vary, and where nothing spreads
		tests &= TestsOf(1, 2, 3, 4)
	}
	sum := 0.0
	for _, n := range tests.Numbers() {
		sum += c.ofTest(n).among(len(c.Points))
	}
	return sum
}

// Chance is how many of the signals a steady process would give on the average, by chance alone.
func (w Watched) Chance() float64 {
	sum := 0.0
	if w.Tests != 0 {
		sum = w.Values.testChance(w.Tests)
	}
	if w.EWMA {
		sum += w.Average.testChance(0)
	}
	return sum
}
