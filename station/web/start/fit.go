package start

import (
	"fmt"
	"slices"

	"sagitta/batch"
	"sagitta/batch/files"
	"sagitta/batch/instrument"
	"sagitta/inspect"
	"sagitta/station/bench/routine"
	"sagitta/station/web/show"
)

// fitted is a template's text with its routine as the gauges there are can measure it: relief by an indicator on every fret, else by a beam,
// else by leaves; strings' heights where a gauge measures them, with a ruler those of the outer strings. Limits of what is then not measured,
// or of what every gauge for it is too coarse, are left out, and named. taken says that a name and revision can no longer be given.
func fitted(t instrument.Template, gauges []batch.Gauge, taken func(name, revision string) bool) (text []byte, left []string, err error) {
	spec, err := files.ReadSpec(t.Name+".toml", []byte(t.Text))
	if err != nil {
		return nil, nil, err
	}
	fitRoutine(spec, gauges)
	for revision := 'A'; revision <= 'Z' && taken(spec.Name, spec.Revision); revision++ {
		spec.Revision = string(revision)
	}
	unmeasured := spec.Unmeasurable()
	var kept []inspect.Limit
	for i, l := range spec.Limits {
		place := fmt.Sprintf("limit[%d]", i+1)
		if !slices.ContainsFunc(unmeasured, func(f inspect.Fault) bool { return f.Field == place }) && !tooCoarse(l, gauges) {
			kept = append(kept, l)
		} else if name := inspect.Name(l.Characteristic); !slices.Contains(left, name) {
			left = append(left, name)
		}
	}
	spec.Limits = kept
	text, _ = files.Rewrite([]byte(t.Text), spec)
	return text, left, nil
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
	alone, some := &inspect.Spec{Limits: []inspect.Limit{l}}, false
	for _, p := range inspect.KindOf(l.Characteristic).Points {
		for _, g := range gauges {
			if !g.Serves(batch.Kind(p)) {
				continue
			}
			if len(show.CoarseLimits(alone, g)) == 0 {
				return false
			}
			some = true
		}
	}
	return some
}
