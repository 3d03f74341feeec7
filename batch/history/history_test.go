package history

import (
	"math"
	"reflect"
	"testing"
	"time"

	"sagitta/batch/files"
	"sagitta/inspect"
)

var end = time.Date(2026, 11, 20, 16, 0, 0, 0, time.UTC)

func shop(t testing.TB, necks int) (*Shop, map[string]*inspect.Spec) {
	t.Helper()
	s, err := New(Options{Necks: necks, End: end, Seed: 7})
	if err != nil {
		t.Fatal(err)
	}
	specs := map[string]*inspect.Spec{}
	for _, text := range s.Specs {
		spec, err := files.ReadSpec("history.toml", text)
		if err != nil {
			t.Fatal(err)
		}
		specs[spec.Name+" "+spec.Revision] = spec.WithDefaults()
	}
	return s, specs
}

// Every verdict is what the decision rule of the specification gives for its values, every time lies in the two years,
// and the planted effects can be found again.
func TestStoriesAreConsistent(t *testing.T) {
	s, specs := shop(t, 30_000)
	necks, passed := 0, 0
	xy, xx := map[string]float64{}, map[string]float64{} // per model, within batches: humidity times relief, and its square
	for _, b := range s.Batches {
		spec := specs[b.SpecName+" "+b.Revision]
		if spec == nil {
			t.Fatalf("batch %s has no specification %s %s", b.Number, b.SpecName, b.Revision)
		}
		var n, h, y, hy, hh float64
		for story, err := range s.Stories(b, spec) {
			if err != nil {
				t.Fatal(err)
			}
			necks++
			for i, a := range story.Attempts {
				if a.StartedAt.Before(s.Start.AddDate(0, 0, -7)) || a.StartedAt.After(s.End.AddDate(0, 0, 3)) || i > 0 && !a.StartedAt.After(story.Attempts[i-1].StartedAt) {
					t.Fatalf("%s: attempt %d at %v", story.Serial, i+1, a.StartedAt)
				}
				for _, v := range a.Verdicts {
					for _, c := range v.Result.Characteristics {
						zone, err := inspect.Judge(spec.Decision.Rule, spec.Decision.Guard(), *c.Value, *c.U, c.Lower, c.Upper)
						if err != nil || zone != c.Zone {
							t.Fatalf("%s: %s is %s, the rule says %s, %v", story.Serial, c.Name, c.Zone, zone, err)
						}
					}
					if v.DecidedBy == "" && v.Disposition != v.Result.Disposition {
						t.Fatalf("%s: %s without a person, the result says %s", story.Serial, v.Disposition, v.Result.Disposition)
					}
				}
			}
			first := story.Attempts[0]
			if first.Verdicts[len(first.Verdicts)-1].Disposition == inspect.Pass {
				passed++
			}
			relief, _ := inspect.MeanRelief(first.Verdicts[0].Result)
			x := *first.Climate.HumidityPercent
			n, h, y, hy, hh = n+1, h+x, y+*relief, hy+x**relief, hh+x*x
		}
		xy[b.SpecName] += hy - h*y/n
		xx[b.SpecName] += hh - h*h/n
	}
	if necks != 30_000 {
		t.Errorf("%d necks, want 30000", necks)
	}
	if share := float64(passed) / float64(necks); share < 0.7 || share > 0.92 {
		t.Errorf("first pass %.3f, an ordinary shop has 0.7 to 0.92", share)
	}
	for _, m := range models {
		got := xy[m.name] / xx[m.name] // least squares, each batch about its own means
		if math.Abs(got-s.Humidity(m.name)) > 0.001 {
			t.Errorf("%s: %.4f mm a %% RH, planted %.4f", m.name, got, s.Humidity(m.name))
		}
	}
	again, _ := shop(t, 30_000)
	if !reflect.DeepEqual(again.Batches, s.Batches) {
		t.Error("the same seed gives another plan")
	}
}

func BenchmarkStories(b *testing.B) {
	s, specs := shop(b, 1_000_000)
	one := s.Batches[0]
	n := 0
	for b.Loop() {
		for _, err := range s.Stories(one, specs[one.SpecName+" "+one.Revision]) {
			if err != nil {
				b.Fatal(err)
			}
			n++
		}
	}
	b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "necks/s")
}
