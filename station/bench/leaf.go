package bench

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect/unit"
	"sagitta/station/bench/routine"
)

// leafWithin is how far a leaf that is typed may lie from one that is made, mm: what rounding to a thousandth of a millimetre or a tenth
// of a thousandth of an inch leaves.
const leafWithin = 0.0015

// leavesMade are the usual feeler leaves, mm, rising: by hundredths to 0.10 mm and by twentieths to 1 mm, and the whole thousandths of an
// inch to 0.035 in with 0.0015 and 0.0025 in. Common practice, no source.
var leavesMade = func() []float64 {
	thou := []float64{1.5, 2.5}
	for n := 1.0; n <= 35; n++ {
		thou = append(thou, n)
	}
	var mm []float64
	for n := 2.0; n <= 10; n++ {
		mm = append(mm, n/100)
	}
	for n := 3.0; n <= 20; n++ {
		mm = append(mm, n/20)
	}
	for _, n := range thou {
		mm = append(mm, unit.Thousandth.To(n))
	}
	slices.Sort(mm)
	return mm
}()

// leafAsked asks about leaves of which one is not among the shop's own: those of the set with which the point is measured, else those that the
// specification names, else those that are commonly made.
func (n *neck) leafAsked(p *routine.Point, leaves []float64, set *batch.Gauge) string {
	if !p.Point.Kind.IsLeaf() {
		return ""
	}
	made, none := leavesMade, "no leaf that is commonly made"
	switch r := n.Spec.Routine; {
	case set != nil && set.Kind == batch.LeavesGauge:
		made, none = set.LeavesMM, "no leaf of the "+set.Name
	case r != nil && len(r.LeavesMM) > 0:
		made, none = slices.Sorted(slices.Values(r.LeavesMM)), "no leaf of this shop's set"
	}
	for _, mm := range leaves {
		if near := nearLeaves(made, mm); len(near) > 0 {
			return fmt.Sprintf("%s is %s; next to it %s %s. Is it the right number, and the right unit?",
				lengthWords(mm), none, tell.Plural(len(near), "is", "are"), strings.Join(near, " and "))
		}
	}
	return ""
}

// nearLeaves are the next leaves of a rising set below and above a thickness that is none of them, in words; nil of one that is.
func nearLeaves(made []float64, mm float64) (near []string) {
	above := slices.IndexFunc(made, func(leaf float64) bool { return leaf > mm })
	if above < 0 {
		above = len(made)
	}
	for _, i := range []int{above - 1, above} {
		if i < 0 || i >= len(made) {
			continue
		}
		if math.Abs(made[i]-mm) <= leafWithin {
			return nil
		}
		near = append(near, lengthWords(made[i]))
	}
	return near
}
