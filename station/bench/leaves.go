package bench

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/station/bench/routine"
)

// Leaves are what a set of leaves can find at the point asked for, each to be tapped.
type Leaves struct {
	Name  string // of the set
	Stops bool   // the leaf that passes is known: only the one that stops is asked for
	Finer bool   // they lie between the leaf that passed and the one that stopped in a round before
	Rungs []Rung
}

// Rung is one that may be tapped: the thickest leaf, or two together, that goes in, and the thinnest that does not. Of either there may be
// none: no leaf goes in, or every leaf does.
type Rung struct{ Passes, Stops []float64 }

// Thickness is that of leaves together, mm.
func Thickness(leaves []float64) float64 {
	sum := 0.0
	for _, mm := range leaves {
		sum += mm
	}
	return math.Round(sum*1e6) / 1e6
}

// leavesAsked are the leaves of the set that the point asked for is measured with, nil where it is not measured with a set.
func (b *Bench) leavesAsked(n *neck) *Leaves {
	p := n.point()
	if p == nil || !p.Point.Kind.IsLeaf() {
		return nil
	}
	g := b.gauge(p.GaugeID)
	if g == nil || g.Kind != batch.LeavesGauge {
		return nil
	}
	l := &Leaves{Name: g.Name}
	passes, stops := n.bracket(p.Point)
	steps := make([][]float64, 0, len(g.LeavesMM))
	for _, mm := range g.LeavesMM {
		steps = append(steps, []float64{mm})
	}
	if p.Point.Kind == batch.LeafStops {
		l.Stops = true
		for _, step := range steps {
			if passes == nil || Thickness(step) > *passes {
				l.Rungs = append(l.Rungs, Rung{Stops: step})
			}
		}
		return l
	}
	if n.RoundOf(p.Key) > 1 && passes != nil && stops != nil {
		if between := between(g.LeavesMM, *passes, *stops); len(between) > 0 {
			l.Finer = true
			steps = slices.Concat([][]float64{leavesOf(g.LeavesMM, *passes)}, between, [][]float64{leavesOf(g.LeavesMM, *stops)})
			for i := range steps[1:] {
				l.Rungs = append(l.Rungs, Rung{steps[i], steps[i+1]})
			}
			return l
		}
	}
	l.Rungs = append(l.Rungs, Rung{Stops: steps[0]})
	for i := range steps {
		rung := Rung{Passes: steps[i]}
		if i+1 < len(steps) {
			rung.Stops = steps[i+1]
		}
		l.Rungs = append(l.Rungs, rung)
	}
	return l
}

// bracket is what stands of a place: the thickest leaf that passed and the thinnest that did not, of all rounds.
func (n *neck) bracket(p batch.Point) (passes, stops *float64) {
	if n.Measured == nil {
		return nil, nil
	}
	for _, l := range n.Measured.Leaves {
		if l.Track == p.Track && l.Fret == p.Fret {
			return l.PassesMM, l.StopsMM
		}
	}
	return nil, nil
}

// between are the leaves of a set, and where there are none its pairs, whose thickness lies between two others, rising: of pairs of one
// thickness one.
func between(set []float64, above, below float64) [][]float64 {
	var steps [][]float64
	lies := func(leaves []float64) {
		mm := Thickness(leaves)
		if mm < above+leafWithin || mm > below-leafWithin {
			return
		}
		if !slices.ContainsFunc(steps, func(other []float64) bool { return math.Abs(Thickness(other)-mm) <= leafWithin }) {
			steps = append(steps, leaves)
		}
	}
	for _, mm := range set {
		lies([]float64{mm})
	}
	if len(steps) == 0 {
		for i, thin := range set {
			for _, thick := range set[i+1:] {
				lies([]float64{thick, thin})
			}
		}
	}
	slices.SortFunc(steps, func(a, b []float64) int {
		if Thickness(a) < Thickness(b) {
			return -1
		}
		return 1
	})
	return steps
}

// leavesOf are the leaves of a set that a thickness was measured with: one, else two together, which are known less well.
func leavesOf(set []float64, mm float64) []float64 {
	same := func(leaves ...float64) bool { return math.Abs(Thickness(leaves)-mm) <= leafWithin }
	for _, one := range set {
		if same(one) {
			return []float64{one}
		}
	}
	for i, thin := range set {
		for _, thick := range set[i+1:] {
			if same(thick, thin) {
				return []float64{thick, thin}
			}
		}
	}
	return []float64{mm}
}

// Leaf records a tapped rung, by its place among those that the snapshot shows: the leaf that goes in and the one that does not, in one
// commit.
func (b *Bench) Leaf(ctx context.Context, rung int) error {
	return b.does(ctx, toType, func() error {
		n := b.neck()
		p, err := b.askedNow(ctx, n)
		if err != nil {
			return err
		}
		l := b.leavesAsked(n)
		if l == nil {
			return batch.Conflict.Errorf("no leaf is asked for now, but %s", p.Words)
		}
		if rung < 0 || rung >= len(l.Rungs) {
			return batch.Mendable.Errorf("leaf %d of %d: tap one of those on the page", rung+1, len(l.Rungs))
		}
		return b.tapped(ctx, n, p, l.Rungs[rung], l.Stops)
	})
}

func (b *Bench) tapped(ctx context.Context, n *neck, p *routine.Point, r Rung, onlyStops bool) error {
	g := b.gauge(p.GaugeID)
	passes, stops := p.Point, p.Point
	passes.Kind, stops.Kind = batch.LeafPasses, batch.LeafStops
	words := inspect.Place(p.Point.Track, 0, p.Point.Fret)
	var rows []batch.Reading
	if !onlyStops {
		some, err := b.leafRow(n, g, passes, r.Passes, "no leaf of the set goes in")
		if err != nil {
			return err
		}
		rows = append(rows, some...)
	}
	some, err := b.leafRow(n, g, stops, r.Stops, "every leaf of the set goes in")
	if err != nil {
		return err
	}
	rows = append(rows, some...)
	if err := n.judgeable(rows...); err != nil {
		return err
	}
	if err := b.keep(ctx, n, words+" was NOT recorded", rows); err != nil {
		return err
	}
	if n.verdict == nil {
		b.say(false, n.withSaid(fmt.Sprintf("Taken: %s: %s.", words, r.words())))
	}
	return nil
}

// leafRow are the rows of one end of what leaves find: its thickness, or that there is none.
func (b *Bench) leafRow(n *neck, g *batch.Gauge, p batch.Point, leaves []float64, none string) ([]batch.Reading, error) {
	point := n.Point(routine.Key(p))
	if point == nil {
		return nil, nil
	}
	row, now := b.reading(n, point), b.now()
	row.At, row.GaugeID = now, g.ID
	if len(leaves) > 0 {
		row.Sent, row.Unit = digitsOf(leaves), "mm"
		if len(leaves) > 1 {
			row.U = batch.StackU
		}
		err := b.readByEye(g, point, Thickness(leaves), &row)
		return []batch.Reading{row}, err
	}
	row.Withdrawn, row.Supersedes, row.Reason = true, "", none
	if old := n.Stands(point.Key); old != nil {
		back := b.takenBack(n, *old, none)
		back.At = now
		return []batch.Reading{back, row}, nil
	}
	return []batch.Reading{row}, nil
}

// words says what goes in and what does not.
func (r Rung) words() string {
	switch {
	case len(r.Stops) == 0:
		return leavesWords(r.Passes) + " goes in, and so every leaf of the set"
	case len(r.Passes) == 0:
		return leavesWords(r.Stops) + " does not go in"
	}
	return leavesWords(r.Passes) + " goes in, " + leavesWords(r.Stops) + " does not"
}

// leavesWords names a leaf, or two together.
func leavesWords(leaves []float64) string {
	if len(leaves) == 1 {
		return lengthWords(leaves[0])
	}
	return digitsOf(leaves) + " together, " + lengthWords(Thickness(leaves)) + ","
}

func digitsOf(leaves []float64) string {
	digits := make([]string, len(leaves))
	for i, mm := range leaves {
		digits[i] = fmt.Sprint(mm)
	}
	return strings.Join(digits, "+")
}
