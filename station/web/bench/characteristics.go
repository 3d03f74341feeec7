package bench

import (
	"cmp"
	"math"
	"slices"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/station/bench"
	"sagitta/station/web/show"
)

// judged is a characteristic with its margin.
type judged struct {
	c      inspect.Characteristic
	margin float64
}

// characteristics lists what is limited, worst margin first; of the values at single frets only those that do not
// conform and each track's worst.
func (v *benchView) characteristics() {
	if v.Result == nil {
		return
	}
	all := v.judged()
	largest := map[string]float64{} // |value| by characteristic: rows of one name share a scale
	for _, j := range all {
		if j.c.Value != nil {
			largest[j.c.Name] = math.Max(largest[j.c.Name], math.Abs(*j.c.Value))
		}
	}
	var doubted []batch.Point
	for _, p := range v.Points {
		if p.InDoubt {
			doubted = append(doubted, p.Point)
		}
	}
	for _, j := range all {
		row := v.row(j.c, largest[j.c.Name])
		row.Doubt = len(doubted) > 0 && len(batch.RestOn(v.Spec, &inspect.Result{Characteristics: []inspect.Characteristic{j.c}}, doubted)) > 0
		v.Rows = append(v.Rows, row)
	}
	v.inFront(all)
	v.inOrder(all)
}

// judged are the values that are listed, worst margin first. It counts those at single frets that it leaves out.
func (v *benchView) judged() []judged {
	var all []judged
	worst := map[string]int{}
	for _, c := range inspect.BassFirst(v.Result.Characteristics) {
		if c.CarriedFrom != nil && c.Zone == inspect.NotMeasured && v.Stage == bench.Measuring {
			c.Zone = v.carriedZone(c) // this attempt's pitch is not read yet; what is carried over was judged at pitch
		}
		if c.Zone == inspect.NoLimit || (c.Zone == inspect.NotMeasured && inspect.KindOf(c.Name).AtEveryFret()) {
			continue
		}
		m := inspect.RelativeMargin(c)
		if key := c.Name + c.Track; inspect.KindOf(c.Name).AtEveryFret() && c.Zone.Rank() < inspect.Undecided.Rank() {
			if i, seen := worst[key]; seen {
				v.Hidden++
				if m < all[i].margin {
					all[i] = judged{c, m}
				}
				continue
			}
			worst[key] = len(all)
		}
		all = append(all, judged{c, m})
	}
	slices.SortStableFunc(all, func(a, b judged) int {
		return cmp.Or(cmp.Compare(rankOf(b.c.Zone), rankOf(a.c.Zone)), cmp.Compare(a.margin, b.margin))
	})
	return all
}

// carriedZone is the state in which a value that is carried over was judged.
func (v *benchView) carriedZone(c inspect.Characteristic) inspect.Zone {
	for _, was := range v.Snapshot.Carried {
		if was.Name == c.Name && was.Track == c.Track && was.String == c.String && was.Fret == c.Fret && was.HeldFret == c.HeldFret {
			return was.Zone
		}
	}
	return c.Zone
}

// frontRows is how many values stand beside the prompt.
const frontRows = 6

// inFront picks the rows that stand beside the prompt: relief first, then the worst margins.
func (v *benchView) inFront(all []judged) {
	var rest []benchRow
	for i, j := range all {
		switch {
		case j.c.Name == inspect.Relief:
			v.Front = append(v.Front, v.Rows[i])
		case j.c.Value != nil:
			rest = append(rest, v.Rows[i])
		}
	}
	v.Front = append(v.Front, rest...)
	if len(v.Front) > frontRows {
		v.Front, v.Unlisted = v.Front[:frontRows], len(v.Front)-frontRows
	}
}

// inOrder lists each limited characteristic once, its worst, in the order of the specification; relief first, each side.
func (v *benchView) inOrder(all []judged) {
	nearest := -1
	for i, j := range all {
		if j.c.Zone == inspect.Conforming && (nearest < 0 || j.margin < all[nearest].margin) {
			nearest = i
		}
	}
	add := func(name string, each bool) {
		for i, j := range all {
			if j.c.Name != name {
				continue
			}
			row := v.Rows[i]
			row.Nearest = i == nearest
			v.Ordered = append(v.Ordered, row)
			if !each {
				return
			}
		}
	}
	add(inspect.Relief, true)
	done := []string{inspect.Relief}
	for _, l := range v.Spec.Limits {
		if !slices.Contains(done, l.Characteristic) {
			done = append(done, l.Characteristic)
			add(l.Characteristic, false)
		}
	}
}

// FewInOrder are the rows of Ordered that stand beside the prompt: the first ones, and the one nearest to a limit wherever it is.
func (v *benchView) FewInOrder() []benchRow {
	if len(v.Ordered) <= frontRows {
		return v.Ordered
	}
	few := slices.Clone(v.Ordered[:frontRows])
	for _, row := range v.Ordered[frontRows:] {
		if row.Nearest {
			few[frontRows-1] = row
		}
	}
	return few
}

// MoreInOrder is how many rows of Ordered do not stand beside the prompt.
func (v *benchView) MoreInOrder() int { return max(0, len(v.Ordered)-frontRows) }

// rankOf orders zones as they need looking at, but what is not measured last: it is on its way while readings arrive.
func rankOf(z inspect.Zone) int {
	if z == inspect.NotMeasured {
		return 0
	}
	return z.Rank()
}

// others counts what stands behind the first of a list.
func others(list any) int {
	switch l := list.(type) {
	case []string:
		return len(l) - 1
	case []show.StepView:
		return len(l) - 1
	}
	return 0
}
