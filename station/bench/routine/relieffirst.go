package routine

import (
	"slices"

	"sagitta/batch"
	"sagitta/inspect"
)

// ReliefFirst reports that after this work relief is asked for before anything else: the rod alone was turned, and relief is read by hand, with leaves or
// a beam. Each turn is measured by it, and the strings' heights, which the rod moves too, are worth measuring once it is right.
func ReliefFirst(s *inspect.Spec, done []batch.ReworkAction) bool {
	return reliefByHand(s) && batch.SumRodWork(done).Alone
}

// StringsAsked says whether a routine asks for heights of strings.
func StringsAsked(s *inspect.Spec) bool {
	return s.Routine.Strings.Each || len(s.Routine.Strings.Numbers) > 0
}

func reliefByHand(s *inspect.Spec) bool {
	return s.Routine.Profile == "leaves" || s.Routine.Profile == "beam"
}

// AfterRod reports that the attempt asks for relief before anything else, see ReliefFirst.
func (a *Attempt) AfterRod() bool { return reliefByHand(a.Spec) && (a.Rod.Alone || a.Rod.again()) }

// Following are the strings whose heights are asked for once relief is right, bass to treble; nil where none of them waits for that.
// points are those asked for now.
func (a *Attempt) Following(points []Point) (strings []int) {
	if !a.AfterRod() || slices.ContainsFunc(points, isHeight) {
		return nil
	}
	for _, p := range a.Routine {
		if isHeight(p) && !slices.Contains(strings, p.Point.String) {
			strings = append(strings, p.Point.String)
		}
	}
	slices.Sort(strings)
	slices.Reverse(strings)
	return strings
}

func isHeight(p Point) bool {
	return p.Point.Kind == batch.NutHeight || p.Point.Kind == batch.ActionHeight
}

// points are those of the routine that the attempt asks for: after a turn of the rod no string's height until every limited relief conforms, for
// the next turn would move it again. On an error of inspect.Evaluate all.
func (a *Attempt) points() []Point {
	if !a.AfterRod() {
		return a.Routine
	}
	_, res, err := a.Judge(a.Readings)
	if err != nil {
		return a.Routine
	}
	open := slices.ContainsFunc(res.Characteristics, func(c inspect.Characteristic) bool {
		return inspect.KindOf(c.Name).Step == inspect.StepRod && c.Zone != inspect.Conforming && c.Zone != inspect.NoLimit
	})
	if !open {
		return a.Routine
	}
	return slices.DeleteFunc(slices.Clone(a.Routine), isHeight)
}
