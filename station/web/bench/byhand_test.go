package bench

import (
	"slices"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/bench"
	"sagitta/station/bench/routine"
	"sagitta/station/web/webtest"
)

// byLeaves is a bench that asks for leaves of a set, or of what lies between two of them.
func byLeaves(s *webtest.Shop, set []float64, between [][]float64) bench.Snapshot {
	snap := measuring(s, crowned{relief: 0.3}, 1)
	spec := *snap.Batch.Spec.Spec.WithDefaults()
	routineOf := *spec.Routine
	routineOf.Profile, spec.Routine = "leaves", &routineOf
	on := *snap.Batch
	on.Spec.Spec, snap.Batch = &spec, &on
	leaves := batch.Ordinary(batch.LeavesGauge, unit.Millimetre)
	leaves.ID = "leaves"
	snap.Points, snap.Live = routine.Points(&spec, []batch.Gauge{leaves}), bench.Live{}
	snap.Points[0].Taken, snap.Next = true, 1
	snap.Done, snap.Of = 1, len(snap.Points)
	snap.Gauges = []bench.GaugeLine{{ID: "leaves", Name: "feeler leaves", State: "live", Words: "feeler leaves, read by eye", How: "tap the leaf, or type it", ByEye: true}}
	snap.Leaves = &bench.Leaves{Name: "feeler leaves", Finer: between != nil}
	steps := between
	for _, mm := range set {
		steps = append(steps, []float64{mm})
	}
	if between == nil {
		snap.Leaves.Rungs = append(snap.Leaves.Rungs, bench.Rung{Stops: steps[0]})
	}
	for i := range steps[1:] {
		snap.Leaves.Rungs = append(snap.Leaves.Rungs, bench.Rung{Passes: steps[i], Stops: steps[i+1]})
	}
	return snap
}

// byRuler is a bench that asks for the height of a string by ruler: the nut height of string 6, or its action.
func byRuler(s *webtest.Shop, kind batch.Kind) bench.Snapshot {
	snap := byLeaves(s, []float64{0.1, 0.2}, nil)
	ruler := batch.Ordinary(batch.RulerGauge, unit.Millimetre)
	ruler.ID, snap.Leaves = "ruler", nil
	snap.Points = routine.Points(snap.Batch.Spec.Spec, []batch.Gauge{ruler})
	snap.Next = slices.IndexFunc(snap.Points, func(p routine.Point) bool { return p.Point.Kind == kind })
	for i := range snap.Points[:snap.Next] {
		snap.Points[i].Taken = true
	}
	snap.Done = snap.Next
	snap.Gauges = []bench.GaugeLine{{ID: "ruler", Name: "ruler", State: "live", Words: "ruler, read by eye", How: "type what it shows and press Enter", ByEye: true}}
	return snap
}

// TestTaps: what may be tapped are the marks of a ruler about the limits, in the unit that was chosen, and leaves; that no leaf goes in can be
// tapped on a small screen whatever the limits are.
func TestTaps(t *testing.T) {
	_, s := storybook(t)
	at := func(snap bench.Snapshot, lengths unit.Unit) *benchView {
		v := &benchView{Snapshot: &snap, Unit: lengths, Spec: snap.Batch.Spec.Spec.WithDefaults()}
		v.live()
		return v
	}
	inFew := func(taps []tapButton) (few []string) {
		for _, k := range taps {
			if k.Near {
				few = append(few, k.Front)
			}
		}
		return few
	}
	action := byRuler(s, batch.ActionHeight) // from 1.4 to 2.1 mm
	lower, upper := 1.4, 2.1
	action.Result = &inspect.Result{Characteristics: []inspect.Characteristic{{Name: inspect.Action, String: 1, Fret: 12, Lower: &lower, Upper: &upper}}}
	for lengths, want := range map[unit.Unit]struct{ first, inside, sent string }{
		unit.Millimetre: {"0.9", "1.4 1.5 1.6 1.7 1.8 1.9 2.0 2.1", "1.4 mm"},
		unit.Inch:       {"1/64", "1/16 5/64", "4/64 in"},
	} {
		v, inside := at(action, lengths), []string{}
		for _, k := range v.Taps {
			if k.Main {
				if len(inside) == 0 && (k.To != "entry" || k.Field != "text" || k.Value != want.sent) {
					t.Errorf("%s: %+v, want %s to be sent as an entry", lengths, k, want.sent)
				}
				inside = append(inside, k.Front)
			}
		}
		if few := inFew(v.Taps); len(few) != mostTaps || few[0] != want.first || strings.Join(inside, " ") != want.inside {
			t.Errorf("%s: shown from %s on, inside the limits %s; want %s and %s", lengths, few, inside, want.first, want.inside)
		}
	}
	few := inFew(at(byLeaves(s, batch.LeavesMetric, nil), unit.Millimetre).Taps)
	if len(few) != mostTaps || few[0] != "none" {
		t.Errorf("of a set of leaves a small screen shows %s", few)
	}
}
