package batches

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/station/web/webtest"
)

// planted adds a batch of necks whose level zone, with an upper limit of 0.12 mm, is given; a neck every ten minutes from a
// Monday at seven.
func planted(s *webtest.Shop, number string, values []float64) (start time.Time) {
	s.Helper()
	ctx := context.Background()
	b := webtest.Must[batch.Batch](s)(s.Rec.OpenBatch(ctx, "Tove Aske", batch.Batch{Number: number, Spec: s.Batch.Spec, Planned: len(values)}, nil))
	start = time.Date(2025, time.November, 3, 7, 0, 0, 0, time.Local)
	stories := func(yield func(batch.Story, error) bool) {
		for i, v := range values {
			story := webtest.PastNeck(fmt.Sprintf("%s-%04d", number, i+1), start.Add(time.Duration(i)*10*time.Minute), 0.28, 1.7, "Wren Halloway")
			for a := range story.Attempts {
				story.Attempts[a].Gauges = []batch.GaugeUse{{Kind: batch.Crown, GaugeID: s.Gauge.ID}}
				c := inspect.Characteristic{Name: inspect.LevelZone, Value: &v, U: new(0.004), Unit: "mm", Upper: new(0.12), Zone: inspect.Conforming}
				if v > 0.12 {
					c.Zone = inspect.Nonconforming
				}
				res := story.Attempts[a].Verdicts[0].Result
				res.Characteristics = append(res.Characteristics, c)
			}
			if !yield(story, nil) {
				return
			}
		}
	}
	webtest.Must[batch.Import](s)(s.Rec.AppendStories(ctx, "Tove Aske", batch.Import{BatchID: b.ID, Origin: batch.Imported, Source: number + ".csv", SHA256: number}, stories))
	return start
}

// A zone's width is never below 0 and has one limit: its index goes by percentiles, and what is predicted is what a long run gives.
// A process that is steady is called so, one whose level was moved is not, and the neck after which it moved is named.
func TestCapabilityTellsPlantedTruths(t *testing.T) {
	s := shop(t)
	random := rand.New(rand.NewPCG(4, 4))
	values := make([]float64, 600)
	for i := range values {
		values[i] = math.Round(1e3*0.055*math.Exp(0.36*random.NormFloat64())) / 1e3
	}
	planted(s, "QM-2701", values)
	page := s.Get("/batches/QM-2701/charts?of=level_zone", 200)
	// The true index: (0.12 - median)/(99.865 % point - median) = (0.12 - 0.055)/(0.055 (exp(0.36 * 3) - 1)) = 0.61; the true
	// share above 0.12 mm is 15,100 of a million.
	webtest.Wants(t, page, "Level zone is steady as far as 600 necks tell and does not fit its limits: Ppk 0.", "by percentiles", "of the lognormal distribution", "for comparison")
	interval := regexp.MustCompile(`by percentiles \(95 % interval (\S+) to (\S+)\)`).FindStringSubmatch(page)
	if low, high := number(t, interval[1]), number(t, interval[2]); low > 0.61 || high < 0.61 {
		t.Errorf("index from %v to %v, planted 0.61", low, high)
	}
	var predicted, fewest, most float64
	if _, err := fmt.Sscanf(webtest.Cell(t, page, "Outside the limits, predicted", 0), "%f of a million (95 %% interval %f to %f)", &predicted, &fewest, &most); err != nil || fewest > 15100 || most < 15100 {
		t.Errorf("predicted %v (%v to %v), planted 15100, %v", predicted, fewest, most, err)
	}

	for i := range values {
		if i >= 400 {
			values[i] += 0.02
		}
	}
	planted(s, "QM-2702", values)
	page = s.Get("/batches/QM-2702/charts?of=level_zone", 200)
	webtest.Wants(t, page, "Level zone is not steady: its level moves, most after QM-2702-0", "tells of these 600 necks and not of the next", "if it moved on as before")
}

// Values from a time in which the gauge may have read wrong are no part of the index, nor is what was measured after rework; both
// are told.
func TestCapabilityKeepsApart(t *testing.T) {
	s := shop(t)
	ctx := context.Background()
	random := rand.New(rand.NewPCG(4, 5))
	values, high := make([]float64, 200), 0
	for i := range values {
		if values[i] = 0.06 + 0.01*random.NormFloat64(); i >= 120 && i < 150 { // the gauge reads wrong
			values[i] += 0.08
			if values[i] > 0.12 {
				high++
			}
		}
	}
	start := planted(s, "QM-2703", values)
	for _, c := range []struct {
		neck int
		good bool
	}{{120, true}, {150, false}, {150, true}} {
		webtest.Must[batch.GaugeCheck](s)(s.Rec.AppendGaugeCheck(ctx, batch.GaugeCheck{GaugeID: s.Gauge.ID, At: start.Add(time.Duration(c.neck)*10*time.Minute - time.Minute), By: "Tove Aske", Good: c.good, Why: "planted", After: batch.CheckShift}))
	}
	page := s.Get("/batches/QM-2703/charts?of=level_zone", 200)
	webtest.Wants(t, page, "Level zone is steady as far as 170 necks tell", "30 necks are left out: measured between a gauge&#39;s last check that passed and the check that failed. Of them "+strconv.Itoa(high)+" lie outside the limits.", "170 of 170 necks lie between their limits")

	again := s.Get("/batches/QM-2611/charts?of=relief/bass//7", 200)
	n := 0
	for neck, err := range s.Rec.EachNeck(ctx, s.Batch.ID) {
		if err != nil {
			t.Fatal(err)
		}
		if len(neck.Inspections) > 1 && neck.Inspections[len(neck.Inspections)-1].Verdict != nil {
			n++
		}
	}
	if n == 0 {
		s.Inspect("QM-2611-0001", 0.5, 0)
		again, n = s.Get("/batches/QM-2611/charts?of=relief/bass//7", 200), 1
	}
	webtest.Wants(t, again, fmt.Sprintf("First measurements only. %d neck", n))
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
