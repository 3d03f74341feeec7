package show

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// doubtLine is one inspection in doubt in words.
type doubtLine struct {
	batch.Doubt
	Where string // where the neck is to be looked for
	Taken string // which readings are in doubt: "34 crown heights"
	Rests string // the limited characteristics that rest on them
	Means string // what the error found means for it, while it stands
	Tried string // at how many moments that was worked out, "" where it was not
	Why   string // what cast the doubt
	Ended string // how the doubt was cleared, "" while it stands
}

// DoubtList is what is in doubt of a gauge, a batch or a neck.
type DoubtList struct {
	Sentence string
	Lines    []doubtLine // those that stand first: what would fail, what cannot be told, what still conforms
	Standing int
	Group    []batch.NeckDoubts // necks that still conform and may be cleared together
	List     string             // path of the call-back list that prints
	File     string             // path of the same as a delimited file
	Common   string             // what cast all of it; "" where that is several things
}

// mostDoubts is how many lines stand on a page; the call-back list has them all.
const mostDoubts = 10

// Short is the list as it stands on a page.
func (l DoubtList) Short() DoubtList {
	l.Lines = l.Lines[:min(mostDoubts, len(l.Lines))]
	return l
}

// Turn leaves so many lines, those of a page counted from 1, and returns which page that is and of how many.
func (l *DoubtList) Turn(page, lines int) (at, of int) {
	of = max(1, (len(l.Lines)+lines-1)/lines)
	at = min(max(page, 1), of)
	l.Lines = l.Lines[(at-1)*lines : min(at*lines, len(l.Lines))]
	return at, of
}

// More is how many lines the page leaves to the call-back list.
func (l DoubtList) More() int { return max(0, len(l.Lines)-mostDoubts) }

// doubtRecord is what a list of doubt is made of.
type doubtRecord interface {
	Doubts(ctx context.Context, f batch.DoubtFilter) ([]batch.Doubt, error)
	Batch(ctx context.Context, number string) (batch.Batch, error)
}

// DoubtsOf lists the inspections in doubt that a filter picks, with what each means, lengths in the given unit. query picks the same in a
// path.
func DoubtsOf(ctx context.Context, rec doubtRecord, f batch.DoubtFilter, query string, in unit.Unit, now time.Time) (DoubtList, error) {
	f.Impact = true
	all, err := rec.Doubts(ctx, f)
	if err != nil {
		return DoubtList{}, err
	}
	every := all // that stand on these necks, whatever the gauge and the cause
	if f.GaugeID != "" || f.CauseID != "" {
		if every, err = rec.Doubts(ctx, batch.DoubtFilter{Standing: true, Impact: true}); err != nil {
			return DoubtList{}, err
		}
	}
	l := DoubtList{List: "/callback?" + query, File: "/callback.csv?" + query}
	specs := map[string]*inspect.Spec{}
	for _, d := range all {
		if specs[d.Neck.BatchNumber] == nil {
			b, err := rec.Batch(ctx, d.Neck.BatchNumber)
			if err != nil {
				return l, err
			}
			specs[d.Neck.BatchNumber] = b.Spec.Spec.WithDefaults()
		}
		l.Lines = append(l.Lines, lineOf(d, specs[d.Neck.BatchNumber], in, now))
	}
	l.judge(every)
	slices.SortStableFunc(l.Lines, func(a, b doubtLine) int { return cmp.Compare(a.place(), b.place()) })
	if len(l.Lines) > 1 && !slices.ContainsFunc(l.Lines, func(d doubtLine) bool { return d.Why != l.Lines[0].Why }) {
		l.Common = l.Lines[0].Why
	}
	return l, nil
}

// lineOf is one doubt in words.
func lineOf(d batch.Doubt, spec *inspect.Spec, in unit.Unit, now time.Time) doubtLine {
	line := doubtLine{Doubt: d, Where: tell.Where(d), Taken: tell.Taken(d.Points), Rests: restWords(d.RestOn), Why: tell.DoubtCause(d)}
	if len(d.Points) == 0 && d.Cleared == "" {
		line.Taken = "its values, without readings"
	}
	switch d.Cleared {
	case batch.ClearedPerson:
		line.Ended = fmt.Sprintf("cleared by %s, %s: %s", d.ClearedBy, When(d.ClearedAt, now), d.Reason)
	case batch.ClearedAttempt:
		line.Ended = "inspected again, " + When(d.ClearedAt, now)
	case batch.ClearedMeasured:
		line.Ended = "its readings were measured again"
	case batch.ClearedProved, batch.ClearedFailed:
		line.Ended = tell.DoubtAnswered(d)
	default:
		line.Means, line.Tried = tell.Impact(spec, d.Impact, in), tell.ImpactTried(d.Impact)
	}
	return line
}

// place is where a line stands in the list.
func (d doubtLine) place() int {
	if d.Ended != "" {
		return len(batch.ImpactOutcomes)
	}
	return slices.Index(batch.ImpactOutcomes, d.Impact.Outcome)
}

// judge counts what stands, says what it means, and finds what may be cleared together; every are the doubts that stand on the necks.
func (l *DoubtList) judge(every []batch.Doubt) {
	necks, on := map[string]bool{}, batch.ImpactOn(every)
	outcomes := map[batch.ImpactOutcome]int{}
	for i := range l.Lines {
		d := &l.Lines[i]
		if d.Ended != "" {
			continue
		}
		l.Standing++
		if !necks[d.Neck.ID] {
			outcomes[on[d.Neck.ID]]++
		}
		necks[d.Neck.ID] = true
	}
	for _, g := range batch.StillConforming(every) {
		if necks[g.NeckID] {
			l.Group = append(l.Group, g)
		}
	}
	switch n := len(necks); {
	case len(l.Lines) == 0:
		l.Sentence = "Nothing is in doubt."
	case n == 0:
		l.Sentence = fmt.Sprintf("Nothing is in doubt any more: %s in doubt.", tell.Counted(len(l.Lines), "inspection was", "inspections were"))
	default:
		l.Sentence = tell.InDoubt(n, outcomes)
	}
}

// restWords names characteristics, those of one name together and many of them by their number: "relief, bass side and treble side;
// rocker at 40 places".
func restWords(all []inspect.Characteristic) string {
	var names []string
	by := map[string][]inspect.Characteristic{}
	for _, c := range all {
		if by[c.Name] == nil {
			names = append(names, c.Name)
		}
		by[c.Name] = append(by[c.Name], c)
	}
	words := make([]string, len(names))
	for i, name := range names {
		if n := len(by[name]); n > 2 {
			words[i] = fmt.Sprintf("%s at %d places", inspect.Name(name), n)
			continue
		}
		var places []string
		for _, c := range by[name] {
			if inspect.KindOf(name).ReliefFret {
				c.Fret = 0
			}
			if place := inspect.Place(c.Track, c.String, c.Fret); place != "" {
				places = append(places, place)
			}
		}
		words[i] = inspect.Name(name)
		if len(places) > 0 {
			words[i] += ", " + tell.List(places)
		}
	}
	return strings.Join(words, "; ")
}
