package show

import (
	"context"
	"slices"

	"sagitta/batch"
	"sagitta/inspect/unit"
)

// Handful are gauges without a line that are entered together by one press.
type Handful struct {
	Key, Label string
	Kinds      []batch.GaugeKind
}

// ByHand are the gauges that are entered by a press, as they are commonly found.
var ByHand = []Handful{
	{"leaves-ruler", "I have leaves and a ruler", []batch.GaugeKind{batch.LeavesGauge, batch.RulerGauge}},
	{"leaves", "I have leaves", []batch.GaugeKind{batch.LeavesGauge}},
	{"beam", "I have a beam on two feet, read by eye", []batch.GaugeKind{batch.BeamByEyeGauge}},
}

// HandfulOf finds one by its key.
func HandfulOf(key string) (Handful, error) {
	for _, h := range ByHand {
		if h.Key == key {
			return h, nil
		}
	}
	return Handful{}, batch.Mendable.Errorf("%q is none of the gauges that are offered", key)
}

// GaugeRecord is where gauges are entered.
type GaugeRecord interface {
	Gauges(ctx context.Context) ([]batch.Gauge, error)
	SaveGauge(ctx context.Context, by string, g batch.Gauge) (batch.Gauge, error)
}

// InUse are the gauges that measure and are not retired.
func InUse(ctx context.Context, rec GaugeRecord) (gauges []batch.Gauge, err error) {
	all, err := rec.Gauges(ctx)
	for _, g := range all {
		if g.RetiredAt.IsZero() && !g.NoGauge() {
			gauges = append(gauges, g)
		}
	}
	return gauges, err
}

// Enter enters gauges as they are commonly found in the unit of length that the shop works in, but those of which there is one, and tells of it;
// changed may be nil.
func (h Handful) Enter(ctx context.Context, rec GaugeRecord, by string, in unit.Unit, changed func(context.Context) error) error {
	known, err := InUse(ctx, rec)
	if err != nil {
		return err
	}
	for _, k := range h.Kinds {
		if slices.ContainsFunc(known, func(g batch.Gauge) bool { return g.Kind == k }) {
			continue
		}
		if _, err := rec.SaveGauge(ctx, by, batch.Ordinary(k, in)); err != nil {
			return err
		}
	}
	if changed == nil {
		return nil
	}
	return changed(ctx)
}
