package webtest

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// Past adds two batches of another revision whose necks were inspected elsewhere from May to October of a year ago, July
// left out, and in September far worse than usual; the second with a gauge of its own.
func (s *Shop) Past() *Shop {
	ctx := context.Background()
	text := strings.Replace(SpecText, `revision = "B"`, `revision = "A"`, 1)
	spec := Must[batch.SpecRevision](s)(s.Rec.AddSpec(ctx, "Tove Aske", "", "bolt-a.toml", []byte(text)))
	random := rand.New(rand.NewPCG(7, 11))
	second := Must[batch.Gauge](s)(s.Rec.SaveGauge(ctx, "Tove Aske", batch.Gauge{ID: "second", Name: "second carriage", Measures: []batch.Kind{batch.Crown}, Decoder: "signed decimal with unit", Capture: "key", Sense: 1}))
	for i, number := range []string{"QM-2505", "QM-2509"} {
		b := Must[batch.Batch](s)(s.Rec.OpenBatch(ctx, "Tove Aske", batch.Batch{Number: number, Spec: spec, Planned: 200}, nil))
		stories := func(yield func(batch.Story, error) bool) {
			for n := range 200 {
				month := []time.Month{5, 6, 8, 9, 10}[2*i+n%(2+i)]
				at := time.Date(2025, month, 1+n%28, 7+n%8, n%60, 0, 0, time.Local)
				worse := 0.0
				if month == time.September {
					worse = 0.05
				}
				neck := PastNeck(fmt.Sprintf("%s-%04d", number, n+1), at, 0.28+worse+0.03*random.NormFloat64(), 1.7+0.1*random.NormFloat64(), []string{"Mara Quill", "Wren Halloway"}[n%2])
				for try := range neck.Attempts {
					neck.Attempts[try].Gauges = []batch.GaugeUse{{Kind: batch.Crown, GaugeID: []string{s.Gauge.ID, second.ID}[i]}}
				}
				if !yield(neck, nil) {
					return
				}
			}
		}
		Must[batch.Import](s)(s.Rec.AppendStories(ctx, "Tove Aske", batch.Import{BatchID: b.ID, Origin: batch.Imported, Source: number + ".csv", SHA256: number}, stories))
	}
	return s
}

// PastNeck is a neck that passes at its first inspection or after rework at its second.
func PastNeck(serial string, at time.Time, relief, action float64, by string) batch.Story {
	story := batch.Story{Serial: serial}
	for try, r := range []float64{relief, 0.28} {
		res := &inspect.Result{Serial: serial, Spec: "QM Bolt 648", Revision: "A", Disposition: inspect.Pass}
		for i, v := range []float64{r, action} {
			c := inspect.Characteristic{Name: inspect.Relief, Track: "bass", Fret: 7, Value: new(v), U: new(0.004), Unit: "mm", Lower: new(0.2), Target: new(0.28), Upper: new(0.36), Zone: inspect.Conforming}
			if i == 1 {
				c = inspect.Characteristic{Name: inspect.Action, String: 1, Fret: 12, Value: new(v), U: new(0.01), Unit: "mm", Lower: new(1.5), Upper: new(1.9), Zone: inspect.Conforming}
			}
			if v < *c.Lower || v > *c.Upper {
				c.Zone, res.Disposition = inspect.Nonconforming, inspect.Rework
			}
			res.Characteristics = append(res.Characteristics, c)
		}
		if try == 1 {
			res.Disposition = inspect.Pass
		}
		res.Conforms = res.Disposition == inspect.Pass
		story.Attempts = append(story.Attempts, batch.StoryAttempt{
			Inspector: by, StartedAt: at.Add(time.Duration(try) * time.Hour), Posture: "playing", Climate: inspect.Climate{HumidityPercent: new(40 + 10*math.Mod(relief*100, 2))},
			Verdicts: []batch.Verdict{{At: at.Add(time.Duration(try)*time.Hour + time.Minute), Result: res, Disposition: res.Disposition}},
		})
		if res.Conforms {
			break
		}
	}
	return story
}
