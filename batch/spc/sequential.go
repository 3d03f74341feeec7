package spc

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Evidence is how much better a share below plan explains passes of trials than any share of the plan or more does: the likelihood
// ratio against the plan, averaged over all shares below it alike,
//
//	e = B(passed + 1, failed + 1) I(plan; passed + 1, failed + 1) / (plan · plan^passed (1 - plan)^failed)
//
// with the beta function B and its regularised integral I; plan is from 0 to 1, otherwise NaN. Where the true share is the
// plan or more, e looked at after every trial has a chance of no more than alpha to reach 1/alpha ever: a batch may be looked at as
// often as one likes. Computed as a logarithm, Inf where it leaves the numbers.
// Source: J. Ville, Étude critique de la notion de collectif (1939), for the bound; H. Robbins, Annals of Mathematical Statistics 41
// (1970) 1397-1409, for the mixture; A. Ramdas, P. Grünwald, V. Vovk and G. Shafer, Statistical Science 38 (2023) 576-601, for a
// whole range of shares as what is assumed.
func Evidence(passed, failed int, plan float64) float64 {
	switch {
	case !(plan >= 0 && plan <= 1) || passed < 0 || failed < 0:
		return math.NaN()
	case plan == 0 || plan == 1 && failed == 0:
		return 1
	case plan == 1:
		return math.Inf(1)
	}
	a, b := float64(passed+1), float64(failed+1)
	within := mathext.RegIncBeta(a, b, plan)
	return math.Exp(mathext.Lbeta(a, b) + math.Log(within) - a*math.Log(plan) - (b-1)*math.Log1p(-plan))
}

// Alpha is the chance of a false alarm that a whole batch has against its plan, however often it is looked at.
const Alpha = 0.01

// BelowPlan says whether so many passes and failures show a share below plan, at the chance alpha of a false alarm over the whole
// batch.
func BelowPlan(passed, failed int, plan, alpha float64) bool {
	return Evidence(passed, failed, plan) >= 1/alpha
}
