package show

import (
	"context"

	"sagitta/batch"
)

// gaugeRecord is what knows the gauges.
type gaugeRecord interface {
	Gauges(ctx context.Context) ([]batch.Gauge, error)
}

// GaugeNames are the names of all gauges by ID.
func GaugeNames(ctx context.Context, rec gaugeRecord) (map[string]string, error) {
	gauges, err := rec.Gauges(ctx)
	if err != nil {
		return nil, err
	}
	names := map[string]string{}
	for _, g := range gauges {
		names[g.ID] = g.Name
	}
	return names, nil
}

// GaugeOf is the gauge of an ID.
func GaugeOf(ctx context.Context, rec gaugeRecord, id string) (batch.Gauge, error) {
	all, err := rec.Gauges(ctx)
	if err != nil {
		return batch.Gauge{}, err
	}
	for _, g := range all {
		if g.ID == id {
			return g, nil
		}
	}
	return batch.Gauge{}, batch.Absent.Errorf("No gauge with this identity is in the record. The page Gauges lists all of them.")
}
