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
	if label := steps[7].Blind(); label != "round 1, piece 3 of 5" || strings.Contains(label, steps[7].Part) {
		t.Errorf("blind label %q of %+v", label, steps[7])
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

// What is left follows the plan, whatever order the readings came in; the complete study is one that Crossed accepts.
func TestRemaining(t *testing.T) {
	steps, err := Plan([]string{"1", "2", "3"}, []string{"A", "B"}, 2, 3)
	if err != nil {
		t.Fatal(err)
	}
	var taken []Measurement
	for i, s := range steps {
		rest, err := Remaining(steps, taken)
		if err != nil || !slices.Equal(rest, steps[i:]) {
			t.Fatalf("after %d: %v, %v", i, rest, err)
		}
		taken = append(taken, Measurement{s.Part, s.Appraiser, s.Trial, float64(i * i % 7)})
	}
	if rest, err := Remaining(steps, taken); err != nil || len(rest) != 0 {
		t.Errorf("complete: %v, %v", rest, err)
	}
	if _, err := Crossed(taken, Options{}); err != nil {
		t.Error(err)
	}
	rest, err := Remaining(steps, taken[4:6]) // another appraiser first
	if err != nil || len(rest) != 10 || rest[0] != steps[0] {
		t.Errorf("%v, %v", rest, err)
	}
	if _, err := Remaining(steps, append(taken, taken[2])); err == nil || !strings.Contains(err.Error(), "was measured before") {
		t.Error(err)
	}
	if _, err := Remaining(steps, []Measurement{{"9", "A", "1", 0}}); err == nil || !strings.Contains(err.Error(), "part 9, appraiser A, trial 1 is not in the plan") {
		t.Error(err)
	}
}
