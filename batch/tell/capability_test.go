package tell

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"sagitta/batch/spc"
)

// A capability's sentence looks at steadiness first, then at the limits, and comes with what is to be known of its figures.
func TestCapability(t *testing.T) {
	by := func(basis spc.Basis, d spc.Distribution, index, low, high float64) spc.Performance {
		return spc.Performance{Basis: basis, Distribution: d, Fit: 0.4, Index: &index, Low: low, High: high}
	}
	tried := func(p spc.Performance) spc.Performance {
		p.Tried = []spc.Distribution{spc.NormalDistribution, spc.LognormalDistribution, spc.WeibullDistribution}
		return p
	}
	steady := spc.Steadiness{N: 200, Ratio: 2, RatioP: 0.5, SumP: 0.5}
	moves := spc.Steadiness{N: 200, RatioP: 0.001, SumP: 0.5, At: 120, Moving: 0.25}
	normal := &spc.Normality{Statistic: 0.3, P: 0.4}
	for _, c := range []struct {
		r    spc.CapabilityResult
		says []string
	}{
		{spc.CapabilityResult{N: 9}, []string{"Relief shows no spread", "All values are equal", "Only 9 necks: fewer than 25"}},
		{spc.CapabilityResult{N: 12, SigmaOverall: 1, SigmaWithin: 1, Performance: by(spc.ByNormal, spc.NormalDistribution, 1.4, 1.0, 1.8), Normality: normal},
			[]string{"Relief fits its limits: Ppk 1.40 (95 % interval 1.00 to 1.80, so that 12 necks do not settle it), 1.33 is usually asked for; 12 necks are too few to tell whether it is steady. 12 of 12 necks lie between their limits.", "Only 12 necks"}},
		{spc.CapabilityResult{N: 200, SigmaWithin: 1, SigmaOverall: 1.5, Subgrouped: true, Performance: by(spc.ByNormal, spc.NormalDistribution, 1.4, 1.34, 1.5), Normality: normal, Steadiness: steady},
			[]string{"Relief is steady as far as 200 necks tell and fits its limits: Ppk 1.40 (95 % interval 1.34 to 1.50), 1.33 is usually asked for. 200 of 200", "Nothing speaks against a Normal distribution (Anderson-Darling A² 0.3, p 0.4)", "The sigma of all values is 1.50 times the sigma inside subgroups"}},
		{spc.CapabilityResult{N: 200, Above: 3, SigmaWithin: 1, SigmaOverall: 1, Performance: by(spc.ByPercentiles, spc.LognormalDistribution, 1.1, 1.05, 1.2), Steadiness: moves},
			[]string{"Relief is not steady: its level moves, most after neck 120. What follows tells of these 200 necks and not of the next: it just fits its limits: Ppk 1.10 by percentiles (95 % interval 1.05 to 1.20)", "197 of 200 necks lie", "about 25 % of the variance", "percentiles of a lognormal distribution"}},
		{spc.CapabilityResult{N: 200, Below: 20, SigmaWithin: 1, SigmaOverall: 1, Performance: tried(by(spc.ByCount, "", 0.43, 0.38, 0.48)), Steadiness: steady},
			[]string{"does not fit its limits: Ppk 0.43 by the share counted outside", "No Normal, lognormal or Weibull distribution fits"}},
		{spc.CapabilityResult{N: 200, SigmaWithin: 1, SigmaOverall: 1, Performance: spc.Performance{Basis: spc.ByCount, Low: 0.72, High: math.Inf(1)}, Steadiness: steady},
			[]string{"shows none outside its limits, which proves no more than Ppk 0.72; 1.33 is usually asked for"}},
	} {
		c.r.Confidence = 0.95
		answer, why := Capability(c.r, "Relief", "neck", func(n int) string { return fmt.Sprintf("neck %d", n) })
		said := answer + " " + strings.Join(why, " ")
		for _, words := range c.says {
			if !strings.Contains(said, words) {
				t.Errorf("%q does not say %q", said, words)
			}
		}
	}
}

// Nothing is said of an interval that is not defined, of distributions that were not tried, or of a level that wanders where it is steady.
func TestCapabilitySaysWhatWasDone(t *testing.T) {
	none := 0.0
	r := spc.CapabilityResult{N: 60, Confidence: 0.95, Performance: spc.Performance{Basis: spc.ByNormal, Distribution: spc.NormalDistribution, PerMillion: &none, Fewest: math.NaN(), Most: math.NaN()}}
	if words := Predicted(r); words != "fewer than 0.1 of a million, of the Normal distribution" {
		t.Error(words)
	}
	for _, c := range []struct {
		tried []spc.Distribution
		says  string
	}{
		{nil, "No distribution was fitted: that needs at least 8 values, all above 0, for values that cannot lie below it. The share counted is the basis"},
		{[]spc.Distribution{spc.NormalDistribution}, "No Normal distribution fits"},
		{[]spc.Distribution{spc.LognormalDistribution, spc.WeibullDistribution}, "No lognormal or Weibull distribution fits"},
	} {
		r.Performance = spc.Performance{Basis: spc.ByCount, Tried: c.tried}
		if words := capabilityFinding(r, spc.FitsNone, "neck"); !strings.HasPrefix(words, c.says) {
			t.Errorf("%v: %s", c.tried, words)
		}
	}
	for _, c := range []struct {
		steady            float64
		subgrouped, wants bool
	}{{0.5, false, false}, {0.5, true, true}, {0.001, false, true}} {
		r := spc.CapabilityResult{N: 200, SigmaWithin: 1, SigmaOverall: 1.5, Subgrouped: c.subgrouped, Steadiness: spc.Steadiness{N: 200, RatioP: c.steady, SumP: 0.5, At: 3}}
		_, why := Capability(r, "Relief", "neck", func(n int) string { return fmt.Sprint(n) })
		if got := strings.Contains(strings.Join(why, " "), "wanders"); got != c.wants {
			t.Errorf("%+v: %v", c, why)
		}
	}
}
