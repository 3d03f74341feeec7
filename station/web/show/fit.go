package show

import (
	"fmt"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/station/bench/routine"
)

// Fit gives a specification the routine that the gauges there are can measure: relief by an indicator on every fret, else by a beam, else
// by leaves; strings' heights where a gauge measures them, with a ruler those of the outer strings. Limits of what is then not measured, or
// of what every gauge for it is too coarse, are left out: their places in the list come back, with the limits that there were.
func Fit(spec *inspect.Spec, gauges []batch.Gauge) (left []int, had []inspect.Limit) {
	return fit(spec, gauges, tooCoarse)
}

// FitWished does the same for a visit: of what every gauge is too coarse for, it keeps the wishes themselves, action and relief, and what a gauge
// can still show to be inside its limits, U being under half of what lies between; their places in the list come back too. Of them nothing may be
// called as wished that was not shown to be: where there are any, the specification judges by guarded acceptance.
func FitWished(spec *inspect.Spec, gauges []batch.Gauge) (left, coarse []int, had []inspect.Limit) {
	left, had = fit(spec, gauges, func(l inspect.Limit, gauges []batch.Gauge) bool {
		wish := l.Characteristic == inspect.Action || l.Characteristic == inspect.Relief
		return !wish && everyOne(l, gauges, func(g batch.Gauge) bool { return bounds(l) && 4*g.U() > *l.UpperMM-*l.LowerMM-1e-9 })
	})
	for i, l := range had {
		if !slices.Contains(left, i) && tooCoarse(l, gauges) {
			coarse = append(coarse, i)
		}
	}
	if len(coarse) > 0 {
		spec.Decision = inspect.Decision{Rule: inspect.GuardedAcceptance}
	}
	return left, coarse, had
}

// fit leaves out what is not measured and what unfit says.
func fit(spec *inspect.Spec, gauges []batch.Gauge, unfit func(inspect.Limit, []batch.Gauge) bool) (left []int, had []inspect.Limit) {
	fitRoutine(spec, gauges)
	unmeasured := spec.Unmeasurable()
	had = spec.Limits
	var kept []inspect.Limit
	for i, l := range had {
		place := fmt.Sprintf("limit[%d]", i+1)
		if slices.ContainsFunc(unmeasured, func(f inspect.Fault) bool { return f.Field == place }) || unfit(l, gauges) {
			left = append(left, i)
		} else {
			kept = append(kept, l)
		}
	}
	spec.Limits = kept
	return left, had
}

// LeftOut names the limits at some places of a list: a characteristic alone where none of its limits stays, else which of its strings, or
// each limit.
func LeftOut(left []int, had []inspect.Limit) []string {
	var names []string
	for _, i := range left {
		name := inspect.Name(had[i].Characteristic)
		var gone, stay []inspect.Limit
		for j, l := range had {
			switch {
			case l.Characteristic != had[i].Characteristic:
			case slices.Contains(left, j):
				gone = append(gone, l)
			default:
				stay = append(stay, l)
			}
		}
		if len(stay) > 0 {
			if numbers := onlyStrings(gone, stay); numbers != nil {
				name += " of " + Pick(len(numbers) == 1, "string ", "strings ") + runs(numbers)
			} else {
				name = tell.LimitName(had[i])
			}
		}
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}

// onlyStrings are the strings of the limits that went, in order, where their numbers alone tell them from those that stay; else nil.
func onlyStrings(gone, stay []inspect.Limit) []int {
	var numbers []int
	for _, l := range gone {
		same := func(o inspect.Limit) bool { return o.String.Each || o.String == l.String }
		if l.String.Number == 0 || slices.ContainsFunc(stay, same) {
			return nil
		}
		numbers = append(numbers, l.String.Number)
	}
	slices.Sort(numbers)
	return slices.Compact(numbers)
}

// runs writes numbers that count on as "2 to 5", the others with commas between.
func runs(numbers []int) string {
	var words []string
	for i := 0; i < len(numbers); {
		j := i
		for j+1 < len(numbers) && numbers[j+1] == numbers[j]+1 {
			j++
		}
		if j > i+1 {
			words = append(words, fmt.Sprintf("%d to %d", numbers[i], numbers[j]))
		} else {
			for _, n := range numbers[i : j+1] {
				words = append(words, fmt.Sprint(n))
			}
		}
		i = j + 1
	}
	return strings.Join(words, ", ")
}

// fitRoutine gives a specification the routine that the gauges can do.
func fitRoutine(spec *inspect.Spec, gauges []batch.Gauge) {
	r := inspect.Routine{}
	if spec.Routine != nil {
		r = *spec.Routine
	}
	r.Profile, r.Pitch = routine.Fitted(gauges)
	if !serves(gauges, batch.ActionHeight, true) { // each is typed
		numbers := spec.StringNumbers()
		r.Strings = inspect.StringList{Numbers: []int{}}
		if serves(gauges, batch.ActionHeight, false) && len(numbers) > 1 {
			r.Strings.Numbers = []int{slices.Max(numbers), slices.Min(numbers)}
		}
	}
	spec.Routine = &r
}

// serves says whether one of the gauges measures such points, with a line or not.
func serves(gauges []batch.Gauge, k batch.Kind, withLine bool) bool {
	return slices.ContainsFunc(gauges, func(g batch.Gauge) bool { return g.Serves(k) && !(withLine && g.ByEye()) })
}

// tooCoarse says that every gauge for what a limit is of is too coarse for it.
func tooCoarse(l inspect.Limit, gauges []batch.Gauge) bool {
	alone := &inspect.Spec{Limits: []inspect.Limit{l}}
	return everyOne(l, gauges, func(g batch.Gauge) bool { return len(CoarseLimits(alone, g)) > 0 })
}

// Finest is the finest of the gauges that measure what a limit is of; nil where none does.
func Finest(l inspect.Limit, gauges []batch.Gauge) (finest *batch.Gauge) {
	for _, p := range inspect.KindOf(l.Characteristic).Points {
		for i := range gauges {
			if g := &gauges[i]; g.Serves(batch.Kind(p)) && (finest == nil || g.U() < finest.U()) {
				finest = g
			}
		}
	}
	return finest
}

// bounds says that a limit bounds a length on both sides.
func bounds(l inspect.Limit) bool { return l.LowerMM != nil && l.UpperMM != nil }

// everyOne says that there are gauges for what a limit is of, and that all of them are so.
func everyOne(l inspect.Limit, gauges []batch.Gauge, so func(batch.Gauge) bool) bool {
	some := false
	for _, p := range inspect.KindOf(l.Characteristic).Points {
		for _, g := range gauges {
			if !g.Serves(batch.Kind(p)) {
				continue
			}
			if !so(g) {
				return false
			}
			some = true
		}
	}
	return some
}
