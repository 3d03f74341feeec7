package inspect

import (
	"strconv"
	"strings"
)

// Guard returns the guard factor: how many standard uncertainties lie between a limit and the one that is judged by. 1.645
// unless it is given; 0 means no guard.
func (d Decision) Guard() float64 {
	if d.GuardFactor == nil {
		return DefaultGuardFactor
	}
	return *d.GuardFactor
}

// Words states the decision rule in a sentence without its end: when a value conforms, when not, and what lies between
// (ISO 14253-1, JCGM 106).
func (d Decision) Words() string {
	const simple = "conforming at or inside the limits, nonconforming outside; the uncertainty is shown, not used"
	g := strconv.FormatFloat(d.Guard(), 'g', -1, 64)
	switch {
	case d.Rule == simpleRule:
	case d.Guard() == 0:
		return strings.ReplaceAll(d.Rule, "_", " ") + " with a guard factor of 0, which is no guard: " + simple
	case d.Rule == GuardedAcceptance:
		return "guarded acceptance: conforming inside the limits drawn in by " + g +
			" times the standard uncertainty u, nonconforming outside the limits, undecided between"
	case d.Rule == guardedRejection:
		return "guarded rejection: conforming inside the limits, nonconforming beyond the limits moved out by " + g +
			" times the standard uncertainty u, undecided between"
	}
	return "simple: " + simple
}
