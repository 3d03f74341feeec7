package record

import (
	"math"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// TestAirDays: each day's mean of what was noted; a day on which nobody noted a humidity is none.
func TestAirDays(t *testing.T) {
	s := newShop(t, serials(4)...)
	noon := time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)
	for n, in := range []struct {
		at  time.Time
		air inspect.Climate
	}{{noon, inspect.Climate{HumidityPercent: new(40.0)}}, {noon.Add(time.Hour), inspect.Climate{HumidityPercent: new(44.0)}},
		{noon.AddDate(0, 0, 1), inspect.Climate{TemperatureC: new(21.0)}}, {noon.AddDate(0, 0, 2), inspect.Climate{HumidityPercent: new(51.0), TemperatureC: new(20.0)}}} {
		s.now = func() time.Time { return in.at }
		must(s.StartInspection(s.ctx, batch.Inspection{NeckID: s.neck(serials(4)[n]).ID, Inspector: "Ossian Reed", Climate: in.air}))(t)
	}
	days := must(s.AirDays(s.ctx))(t)
	if len(days) != 2 || math.Abs(days[0].HumidityPercent-42) > 1e-9 || math.Abs(days[1].HumidityPercent-51) > 1e-9 || days[0].At.UTC().Day() != 2 || days[1].At.UTC().Day() != 4 {
		t.Errorf("days %+v", days)
	}
}
