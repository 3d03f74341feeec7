package specs

import (
	"fmt"
	"html/template"
	"strings"

	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/station/bench/routine"
	"sagitta/station/web/draw"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
)

// figure draws what a section is about: a characteristic on the neck that the form describes, or where that is not whole yet on the example's.
func (s *sheet) figure(name string) template.HTML {
	if inspect.KindOf(name).Name != "" {
		spec := s.shown().WithDefaults()
		if len(spec.Check()) > 0 {
			spec = draw.Example()
		}
		return draw.Defines(name, spec).SVG
	}
	return draw.Meaning(name)
}

// summary says in a line what a section holds.
func (s *sheet) summary(section string) string {
	spec := s.shown().WithDefaults()
	switch section {
	case "neck":
		return fmt.Sprintf("%s, revision %s: %s, %s", spec.Name, spec.Revision, tell.Nominal(spec.Neck.Scale(), s.lengths)+show.Pick(spec.Neck.MultiScale(), " in the middle", ""), tell.Count(spec.Neck.Frets, "fret"))
	case "string":
		var names []string
		for _, t := range tell.BassToTreble(spec.Strings) {
			names = append(names, t.Name)
		}
		return tell.Count(len(names), "string") + ": " + strings.Join(names, " ")
	case "limit":
		return tell.Count(len(spec.Limits), "limit")
	case "routine":
		points, took := routine.Lasts(spec, s.gauges)
		return tell.RoutineLasts(points, took)
	case "track":
		return show.Pick(len(spec.Tracks) == 0, "none", tell.Count(len(spec.Tracks), "track"))
	case "datum":
		return fmt.Sprintf("frets %d and %d, relief at fret %d", spec.Datum.FirstFret, spec.Datum.SecondFret, spec.Datum.ReliefFret)
	case "decision":
		return spec.Decision.Words()
	case "uncertainty":
		return show.Pick(spec.Uncertainty == inspect.UncertaintySpec{}, "none given", tell.Nominal(spec.Uncertainty.RepeatabilityMM, s.lengths)+" repeatability")
	}
	return show.Pick(s.typed["has."+section] == yes, "given", "left out")
}

// costs tells of each choice of the routine what it comes to.
func (s *sheet) costs(name string, options []form.Option) []form.Option {
	if s.gauges == nil || s.spec == nil {
		return options
	}
	for i, o := range options {
		r := *s.spec.WithDefaults().Routine
		switch name {
		case "routine.profile":
			r.Profile = o.Value
			if o.Value == "none" {
				r.Tracks = nil
			} else if len(r.Tracks) == 0 {
				r.Tracks = []string{"bass", "treble"}
			}
		case "routine.pitch":
			r.Pitch = o.Value
		case "routine.closing":
			r.Closing = map[string]*bool{"yes": new(true), "no": new(false)}[o.Value]
		default:
			return options
		}
		with := *s.spec
		with.Routine = &r
		options[i].Label += ": " + tell.RoutineLasts(routine.Lasts(&with, s.gauges))
	}
	return options
}
