package history

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// The effects are where the list says they are, and nowhere else: read from the invented verdicts by the list alone.
func TestPlantsCanBeFound(t *testing.T) {
	for seed := range uint64(3) {
		s, err := New(Options{Necks: 30_000, End: end, Seed: seed})
		if err != nil {
			t.Fatal(err)
		}
		_, specs := shop(t, 1)
		gauge, from, found := s.BadZero()
		heavy, off := s.Heavy()
		var bad, sound, heavyOnes, others, hour batch.Moments
		one := func(v float64) batch.Moments { return batch.Moments{N: 1, Mean: v} }
		inspectors := map[string]map[string]bool{} // by bench
		for _, b := range s.Batches {
			for story, err := range s.Stories(b, specs[b.SpecName+" "+b.Revision]) {
				if err != nil {
					t.Fatal(err)
				}
				a := story.Attempts[0]
				relief, _ := inspect.MeanRelief(a.Verdicts[0].Result)
				target := *a.Verdicts[0].Result.Characteristics[0].Target
				within := !a.StartedAt.Before(from) && a.StartedAt.Before(found)
				if within && a.Gauges[0].GaugeID == gauge.ID {
					bad = bad.Plus(one(*relief - target))
				} else {
					sound = sound.Plus(one(*relief - target))
				}
				for _, c := range a.Verdicts[0].Result.Characteristics {
					if c.Name == inspect.Action && c.String == 1 {
						if v := one(*c.Value - *c.Target); a.Inspector == heavy {
							heavyOnes = heavyOnes.Plus(v)
						} else {
							others = others.Plus(v)
						}
					}
				}
				if w := a.StartedAt.Weekday(); w == time.Saturday || w == time.Sunday || a.StartedAt.Hour() < 6 || a.StartedAt.Hour() >= 22 {
					t.Fatalf("%s was inspected at %v", story.Serial, a.StartedAt)
				}
				hour = hour.Plus(one(float64(a.StartedAt.Hour())))
				if inspectors[a.Station] == nil {
					inspectors[a.Station] = map[string]bool{}
				}
				inspectors[a.Station][a.Inspector] = true
			}
		}
		if bad.N < 20 || math.Abs(bad.Mean-sound.Mean-s.planted.badMM) > 0.03 {
			t.Errorf("seed %d: relief is %.3f mm higher in the %d necks of the bad zero, planted %.3f", seed, bad.Mean-sound.Mean, bad.N, s.planted.badMM)
		}
		if math.Abs(heavyOnes.Mean-others.Mean-off) > 0.012 {
			t.Errorf("seed %d: %s reads action %.3f mm higher, planted %.3f", seed, heavy, heavyOnes.Mean-others.Mean, off)
		}
		for station, all := range inspectors {
			if len(all) != len(s.Inspectors) {
				t.Errorf("seed %d: %d people worked at %s", seed, len(all), station)
			}
		}
		if sd, _ := hour.SD(); sd < 3 {
			t.Errorf("seed %d: inspections spread over the hours by %.1f", seed, sd)
		}
	}
}

// Checks come at ordinary times, by several people, with scatter; the one check that fails is the one that found the bad zero.
func TestChecks(t *testing.T) {
	places := map[time.Time]bool{}
	for seed := range uint64(8) {
		s, err := New(Options{Necks: 100_000, End: end, Seed: seed})
		if err != nil {
			t.Fatal(err)
		}
		gauge, from, found := s.BadZero()
		places[from] = true
		if !from.Before(found) || from.Before(s.Start) || found.After(s.End) || found.Sub(from) < 48*time.Hour {
			t.Errorf("seed %d: the bad zero is from %v to %v", seed, from, found)
		}
		people, minutes, failed := map[string]bool{}, map[int]bool{}, 0
		var shift batch.Moments
		last := map[string]time.Time{}
		for _, c := range s.Checks() {
			people[c.By], minutes[c.At.Minute()] = true, true
			if w := c.At.Weekday(); w == time.Saturday || w == time.Sunday || c.At.Hour() < 5 || c.At.Hour() > 13 {
				t.Errorf("seed %d: a check at %v", seed, c.At)
			}
			if c.At.Before(last[c.GaugeID]) {
				t.Errorf("seed %d: checks out of order at %v", seed, c.At)
			}
			if !last[c.GaugeID].IsZero() && c.Good && c.After == batch.CheckShift {
				shift = shift.Plus(batch.Moments{N: 1, Mean: c.ShiftMM})
			}
			last[c.GaugeID] = c.At
			if !c.Good {
				failed++
				if c.GaugeID != gauge.ID || !c.At.Equal(found) {
					t.Errorf("seed %d: the check of %s at %v failed with %v", seed, c.GaugeID, c.At, c.ShiftMM)
				}
			}
			if c.GaugeID == gauge.ID && c.At.After(from) && c.At.Before(found) {
				t.Errorf("seed %d: a check within the bad zero, at %v", seed, c.At)
			}
		}
		if sd, _ := shift.SD(); failed != 1 || len(people) < 5 || len(minutes) < 20 || sd < 0.001 {
			t.Errorf("seed %d: %d checks failed, %d people, %d minutes, shifts of %.4f", seed, failed, len(people), len(minutes), sd)
		}
	}
	if len(places) < 6 {
		t.Errorf("the bad zero begins at %d places with 8 seeds", len(places))
	}
}

// In a calendar without a Monday whose week is worked throughout, the last working day stands in.
func TestNoWholeWeek(t *testing.T) {
	start := time.Date(2026, 11, 4, 0, 0, 0, 0, time.UTC) // a Wednesday
	s := &Shop{days: newCalendar(start, start.AddDate(0, 0, 2))}
	if got := s.monday(rand.New(rand.NewPCG(1, 0))); got.Format(time.DateOnly) != "2026-11-05" {
		t.Errorf("%s", got)
	}
}
