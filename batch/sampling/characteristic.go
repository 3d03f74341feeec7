package sampling

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/combin"
)

// Acceptance is the probability that the plan accepts a lot from a process with the share p nonconforming, 0 to 1: that
// fewer than Reject of N are (binomial, type B). Source: MIL-STD-105E 4.10 and Table X.
func (p Plan) Acceptance(share float64) (float64, error) {
	if !(share >= 0 && share <= 1) {
		return 0, fmt.Errorf("share nonconforming: found %v; allowed: 0 to 1", share)
	}
	c := p.Reject - 1
	if c >= p.N {
		return 1, nil
	}
	return mathext.RegIncBeta(float64(p.N-c), float64(c+1), 1-share), nil
}

// AcceptanceOfLot is the probability that the plan accepts an isolated lot of size lot with bad units in it
// (hypergeometric, type A): that fewer than Reject are among N drawn without putting back.
func (p Plan) AcceptanceOfLot(lot, bad int) (float64, error) {
	if lot < p.N || bad < 0 || bad > lot {
		return 0, fmt.Errorf("lot: found %d with %d bad; allowed: at least the sample of %d, and no more bad than the lot", lot, bad, p.N)
	}
	sum := 0.0
	all := combin.LogGeneralizedBinomial(float64(lot), float64(p.N))
	for d := max(0, p.N-(lot-bad)); d <= min(p.Reject-1, p.N, bad); d++ {
		sum += math.Exp(combin.LogGeneralizedBinomial(float64(bad), float64(d)) +
			combin.LogGeneralizedBinomial(float64(lot-bad), float64(p.N-d)) - all)
	}
	return min(sum, 1), nil
}

// AcceptanceOfDefects is the probability that the plan accepts a lot with rate nonconformities per unit, where they are
// counted and not the units (Poisson): that fewer than Reject are found on N units.
func (p Plan) AcceptanceOfDefects(rate float64) (float64, error) {
	if !(rate >= 0) || math.IsInf(rate, 0) {
		return 0, fmt.Errorf("nonconformities per unit: found %v; allowed: a finite number, 0 or more", rate)
	}
	if rate == 0 {
		return 1, nil
	}
	return mathext.GammaIncRegComp(float64(p.Reject), float64(p.N)*rate), nil
}

// QualityAt is the share nonconforming that the plan accepts with probability accepted, between 0 and 1: the inverse of
// Acceptance. At 0.95 it is the producer's point, at 0.10 the consumer's.
func (p Plan) QualityAt(accepted float64) (float64, error) {
	if !(accepted > 0 && accepted < 1) {
		return 0, fmt.Errorf("probability of acceptance: found %v; allowed: between 0 and 1", accepted)
	}
	c := p.Reject - 1
	if c >= p.N {
		return 1, nil
	}
	return mathext.InvRegIncBeta(float64(c+1), float64(p.N-c), 1-accepted), nil
}
