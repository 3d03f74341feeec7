package study

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The repeatability interval is exact: AIAG data (gauge_studies.json), unpooled mean square with 60 degrees of freedom.
func TestRepeatabilityInterval(t *testing.T) {
	e := references(t, "gauge_studies.json", "Crossed study 10x3x3, ANOVA")[0]
	want := decode[[]float64](t, e.Expected, "repeatability_sd_95_interval_with_interaction")
	got := interval([]term{{1, square{2.7589333333333337, 60}}})
	near(t, "low", got.Low, want[0], 1e-8)
	near(t, "high", got.High, want[1], 1e-8)
}

// A 95 % interval encloses the true standard deviation in about 95 of 100 studies: 2000 drawn from a Normal model of 10
// parts, 3 appraisers, 3 trials with known components. The binomial spread of the share is 0.5 %; the intervals of sums and
// differences are approximate, so 93 to 98 % is asked.
func TestIntervalCoverage(t *testing.T) {
	const studies, p, n = 2000, 10, 3
	random := rand.New(rand.NewPCG(1, 2))
	for _, c := range []struct {
		appraisers int
		truth      map[string]float64
	}{
		{3, map[string]float64{"ev": 0.2, "av": 0.3, "interaction": 0.25, "pv": 1, "grr": math.Sqrt(0.04 + 0.09 + 0.0625)}},
		{1, map[string]float64{"ev": 0.2, "pv": 0.3, "grr": 0.2}},
	} {
		inside, kept := map[string]int{}, 0
		for range studies {
			var r CrossedResult
			r.byVariance(drawn(random, c.truth, p, c.appraisers, n))
			if r.Pooled {
				continue
			}
			kept++
			for name, v := range c.truth {
				if i := r.Intervals[name]; i != nil && i.Low <= v && v <= i.High {
					inside[name]++
				}
			}
		}
		for name := range c.truth {
			if share := float64(inside[name]) / float64(kept); share < 0.93 || share > 0.98 {
				t.Errorf("%d appraisers, %s: the interval encloses the truth in %.1f %% of %d studies", c.appraisers, name, 100*share, kept)
			}
		}
	}
}

// drawn is a study drawn from a Normal model.
func drawn(random *rand.Rand, sd map[string]float64, p, o, n int) *grid {
	g := &grid{parts: make([]string, p), appraisers: make([]string, o), trials: make([]string, n)}
	appraisers := make([]float64, o)
	for j := range appraisers {
		appraisers[j] = sd["av"] * random.NormFloat64()
	}
	for range p {
		part := sd["pv"] * random.NormFloat64()
		for j := range o {
			cell := part + appraisers[j] + sd["interaction"]*random.NormFloat64()
			for range n {
				g.v = append(g.v, cell+sd["ev"]*random.NormFloat64())
			}
		}
	}
	g.largest = 10
	return g
}
