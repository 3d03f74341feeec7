package inspect

import "strconv"

// Words states the decision rule in a sentence without its end: when a value conforms, when not, and what lies between
// (ISO 14253-1, JCGM 106).
func (d Decision) Words() string {
	g := strconv.FormatFloat(d.GuardFactor, 'g', -1, 64)
	switch d.Rule {
	case "guarded_acceptance":
		return "guarded acceptance: conforming inside the limits drawn in by " + g +
			" times the standard uncertainty u, nonconforming outside the limits, undecided between"
	case "guarded_rejection":
		return "guarded rejection: conforming inside the limits, nonconforming beyond the limits moved out by " + g +
			" times the standard uncertainty u, undecided between"
	}
	return "simple: conforming at or inside the limits, nonconforming outside; the uncertainty is shown, not used"
}
