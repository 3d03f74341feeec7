package show

import (
	"fmt"
	"slices"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// Unmeasurable names the limits that the specification's own routine never measures: with one of them no neck can pass.
func Unmeasurable(spec *inspect.Spec) []string {
	var warnings []string
	for _, f := range spec.Unmeasurable() {
		name := f.Field
		for i, l := range spec.Limits {
			if f.Field == fmt.Sprintf("limit[%d]", i+1) {
				name = fmt.Sprintf("limit %d, %s,", i+1, tell.LimitName(l))
			}
		}
		warnings = append(warnings, tell.NeverMeasured(name, f.Found, f.Allowed))
	}
	return warnings
}

// UnmeasurableOf is unmeasurable for each of several revisions, with its name.
func UnmeasurableOf(specs []batch.SpecRevision) []string {
	var warnings []string
	for _, sp := range specs {
		if w := Unmeasurable(sp.Spec); len(w) > 0 {
			text := fmt.Sprintf("%s, revision %s. %s", sp.Name, sp.Revision, w[0])
			if len(w) > 1 {
				text += " " + tell.Counted(len(w)-1, "more of its limits is never measured.", "more of its limits are never measured.")
			}
			warnings = append(warnings, text)
		}
	}
	return warnings
}

// CoarseWarnings names the limits that a gauge is too coarse for: its U (2 u) is over a quarter of the tolerance.
func CoarseWarnings(spec *inspect.Spec, gauges []batch.Gauge, lengths unit.Unit) []string {
	var warnings []string
	for _, g := range gauges {
		if g.RetiredAt.IsZero() {
			for _, name := range CoarseLimits(spec, g) {
				warnings = append(warnings, tell.TooCoarse(g.Name, name, Uncertainty(2*g.U(), lengths)))
			}
		}
	}
	for _, k := range []batch.Kind{batch.ActionHeight, batch.NutHeight} {
		if slices.ContainsFunc(gauges, func(g batch.Gauge) bool { return g.Serves(k) }) {
			continue
		}
		ruler := batch.Gauge{Measures: []batch.Kind{k}, CalibrationU: batch.RulerU}
		for _, name := range CoarseLimits(spec, ruler) {
			warnings = append(warnings, tell.RulerTooCoarse(k, name, Uncertainty(2*ruler.U(), lengths)))
		}
	}
	return warnings
}

// CoarseLimits names the two-sided limits in mm that a gauge is used for and too coarse for: U = 2 u of one reading
// is over a quarter of the tolerance.
func CoarseLimits(spec *inspect.Spec, g batch.Gauge) []string {
	var names []string
	for _, l := range spec.Limits {
		if !bounds(l) {
			continue
		}
		used := slices.ContainsFunc(inspect.KindOf(l.Characteristic).Points, func(p string) bool { return slices.Contains(g.Measures, batch.Kind(p)) })
		if name := inspect.Name(l.Characteristic); used && inspect.CoarseFor(g.U(), *l.LowerMM, *l.UpperMM) && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}
