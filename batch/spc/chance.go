package spc

import (
	_ "embed"
	"encoding/json"
	"math"
	"strconv"
	"sync"
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

// chance is how many signals of what a steady process gives among points, with limits from base points that are among them; rates
// between the table's bases go by 1/n, and beyond its ends they are as at them.
func chance(what string, base, points int) float64 {
	rows := rates()[what]
	i := 1
	for i < len(rows)-1 && rows[i].Base < base {
		i++
	}
	few, many := rows[i-1], rows[i]
	n := float64(min(max(base, few.Base), many.Base))
	share := (1/n - 1/float64(many.Base)) / (1/float64(few.Base) - 1/float64(many.Base))
	in := min(base, points)
	return float64(in)*(many.In+share*(few.In-many.In)) + float64(points-in)*(many.After+share*(few.After-many.After))
}

// Chance is how many signals a steady process would give on the average in such a chart, by chance alone ([Chart.Signals] and
// [Chart.SpreadSignals]); tests are those used, none: all. Points beyond the limits of a p or u chart are counted from the binomial and
// the Poisson distribution; the rest is from simulated single Normal values, of a CUSUM with the usual k and h.
func (c Chart) Chance(tests Tests) float64 {
	points, base := len(c.Points), c.baseSize()
	switch {
	case c.Kind == CUSUMKind:
		return chance(cusumRate, base, points)
	case c.Kind == EWMAKind && c.beyond > 0:
		return 2 * Between / AverageRunLength(c.average, 0) * chance(averageRate, base, points)
	case c.Kind == EWMAKind:
		return AverageRunLength(Average{0.2, 3}, 0) / AverageRunLength(c.average, 0) * chance(ewmaRate, base, points)
	}
	sum := c.testChance(tests)
	if len(c.Spread) > 0 {
		sum += chance(rangesRate, base, points)
	}
	return sum
}

// baseSize is how many points the limits are from; as from very many where they were given.
func (c Chart) baseSize() int {
	if c.Base == (Base{}) {
		return math.MaxInt
	}
	return c.Base.To - c.Base.From + 1
}

// testChance is how many signals the run tests give by chance.
func (c Chart) testChance(tests Tests) float64 {
	if tests == 0 {
		tests = AllTests
	}
	if c.zone == 0 { // of a p or u chart whose limits vary
		tests &= TestsOf(1, 2, 3, 4)
	}
	points, base, sum := len(c.Points), c.baseSize(), 0.0
	for _, n := range tests.Numbers() {
		switch {
		case n > 1:
			sum += chance(strconv.Itoa(n), base, points)
		case c.Kind == PKind || c.Kind == UKind:
			sum += c.tails
		case c.beyond > 0:
			sum += c.beyond * 2 * Between * chance(limitsRate, base, points)
		default:
			sum += chance("1", base, points)
		}
	}
	return sum
}

// Chance is how many signals a steady process would give on the average among those of [Watched.Signals], by chance alone.
func (w Watched) Chance() float64 {
	sum := 0.0
	if w.Tests != 0 {
		sum = w.Values.testChance(w.Tests)
	}
	if w.EWMA {
		sum += 2 * Between / w.each() * chance(averageRate, w.Average.baseSize(), len(w.Average.Points))
	}
	return sum
}
