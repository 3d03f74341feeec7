package study

import (
	"slices"
	"strings"
	"testing"
)

// Every appraiser measures every part once in every trial, a trial is complete before the next begins, and an appraiser's
// round is not interrupted.
func TestPlan(t *testing.T) {
	parts := []string{"P1", "P2", "P3", "P4", "P5"}
	steps, err := Plan(parts, []string{"Ada", "Ben", "Cy"}, 3, 7)
	if err != nil {
		t.Fatal(err)
	}
	if len(steps) != 45 {
		t.Fatalf("%d steps, want 45", len(steps))
	}
	orders := map[string]bool{}
	for round := range slices.Chunk(steps, 5) {
		var seen []string
		for place, s := range round {
			if s.Appraiser != round[0].Appraiser || s.Trial != round[0].Trial || s.Place != place+1 || s.Places != 5 {
				t.Errorf("a round is broken: %+v", round)
			}
			seen = append(seen, s.Part)
		}
		orders[strings.Join(seen, " ")] = true
		slices.Sort(seen)
		if !slices.Equal(seen, parts) {
			t.Errorf("round %+v has not every part once", round)
		}
	}
	if len(orders) < 5 {
		t.Errorf("only %d different orders in 9 rounds", len(orders))
	}
	for trial := range slices.Chunk(steps, 15) {
		who := map[string]bool{}
		for _, s := range trial {
			if s.Trial != trial[0].Trial {
				t.Errorf("trial %s begins before %s ends", s.Trial, trial[0].Trial)
			}
			who[s.Appraiser] = true
		}
		if len(who) != 3 {
			t.Errorf("trial %s has %d appraisers", trial[0].Trial, len(who))
		}
	}
}

// One appraiser alone never has the same part in his hand twice in succession; rounds of different appraisers coincide no
// more often than chance has it (5! orders: 2000 seeds expect 16.7 equal pairs; more than 35 has a chance under 1e-4).
func TestPlanDoesNotRepeat(t *testing.T) {
	parts := []string{"1", "2", "3", "4", "5"}
	alike := 0
	for seed := range uint64(2000) {
		steps, err := Plan(parts, []string{"A"}, 4, seed)
		if err != nil {
			t.Fatal(err)
		}
		for i := range steps[1:] {
			if steps[i].Part == steps[i+1].Part {
				t.Fatalf("seed %d: part %s twice in succession", seed, steps[i].Part)
			}
		}
		if steps, err = Plan(parts, []string{"A", "B"}, 2, seed); err != nil {
			t.Fatal(err)
		}
		same := true
		for i := range parts {
			same = same && steps[i].Part == steps[i+5].Part
		}
		if same {
			alike++
		}
	}
	if alike > 35 {
		t.Errorf("%d of 2000 second rounds repeat the first", alike)
	}
}

// The same seed gives the same order, another seed another one.
func TestPlanIsReproducible(t *testing.T) {
	parts, people := []string{"a", "b", "c", "d", "e", "f", "g", "h"}, []string{"x", "y"}
	first, _ := Plan(parts, people, 2, 11)
	again, _ := Plan(parts, people, 2, 11)
	other, _ := Plan(parts, people, 2, 12)
	if !slices.Equal(first, again) || slices.Equal(first, other) {
		t.Error("the order does not follow the seed")
	}
}

// A part's first place is even over many seeds: chi-square of 600 plans over 6 places, 5 degrees of freedom, below 20.5
// (its 99.9 % point, Abramowitz and Stegun, table 26.8).
func TestPlanIsEven(t *testing.T) {
	var places [6]float64
	for seed := range uint64(600) {
		steps, err := Plan([]string{"1", "2", "3", "4", "5", "6"}, []string{"A"}, 2, seed)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range steps[:6] {
			if s.Part == "1" {
				places[s.Place-1]++
			}
		}
	}
	chi := 0.0
	for _, n := range places {
		chi += (n - 100) * (n - 100) / 100
	}
	if chi > 20.5 {
		t.Errorf("places %v: chi-square %.1f", places, chi)
	}
}

func TestPlanErrors(t *testing.T) {
	two := []string{"1", "2"}
	for _, c := range []struct {
		parts, appraisers []string
		trials            int
		want              string
	}{
		{two[:1], two, 2, "found 1, 2 and 2"},
		{two, nil, 2, "found 2, 0 and 2"},
		{two, two, 1, "found 2, 2 and 1"},
		{[]string{"1", "1"}, two, 2, `part 2: found "1"; needed: names that differ`},
		{two, []string{""}, 2, `appraiser 1: found ""`},
	} {
		if _, err := Plan(c.parts, c.appraisers, c.trials, 1); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v, want %q", err, c.want)
		}
	}
}

// An order once planned stays: the plan of a seed is what was shown at the bench. Recorded from this function; a change of
// the generator would show here.
func TestPlanStays(t *testing.T) {
	steps, err := Plan([]string{"1", "2", "3", "4", "5"}, []string{"A", "B"}, 2, 42)
	if err != nil {
		t.Fatal(err)
	}
	order := ""
	for _, s := range steps {
		order += s.Appraiser + s.Part + " "
	}
	if want := "A4 A1 A3 A5 A2 B5 B4 B1 B3 B2 A1 A2 A4 A5 A3 B4 B1 B2 B3 B5 "; order != want {
		t.Errorf("order %s, want %s", order, want)
	}
}
