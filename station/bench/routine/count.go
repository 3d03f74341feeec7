package routine

import (
	"slices"

	"sagitta/batch"
)

// count counts the closing readings that are not among the points: before a verdict those that the profile will end with, after it
// those that it ended with.
func (l *layings) count() {
	taken := l.toBeTaken()
	if l.Concluded || len(taken) == 0 {
		taken = l.taken(l.of)
	}
	for _, c := range l.closings(taken) {
		p := c.Point
		p.Kind = batch.Closing
		switch {
		case l.Index(Key(p)) >= 0:
		case !l.Concluded:
			l.closing[0]++
		case l.again(c) != nil:
			l.closing[1]++
		}
	}
}

// taken are the crowns of a laying.
func (l *layings) taken(of int) []batch.LaidCrown {
	return slices.Collect(filter(l.crowns, func(c batch.LaidCrown) bool { return c.Row.Laying == of }))
}

// toBeTaken are the crowns that the present laying will have when the profile is complete: those taken in it, its links, what is still
// asked for.
func (l *layings) toBeTaken() []batch.LaidCrown {
	all := l.taken(l.Attempt.Laying)
	add := func(p batch.Point) {
		if !slices.ContainsFunc(all, func(c batch.LaidCrown) bool { return c.Point == p }) {
			all = append(all, batch.LaidCrown{Point: p})
		}
	}
	if l.Laid.State == batch.Linking {
		for _, p := range l.Laid.Links {
			add(p)
		}
	}
	for i := range l.Points {
		if p := &l.Points[i]; p.Point.Kind == batch.Crown && l.Asks(p.Key) {
			add(p.Point)
		}
	}
	return all
}
