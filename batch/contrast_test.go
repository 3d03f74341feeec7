package batch

import (
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"
)

// strataReference reads an entry of the worked examples; its source stands in the file.
func strataReference(t *testing.T, name string) (inputs, expected map[string]json.RawMessage) {
	t.Helper()
	text, err := os.ReadFile("../testdata/reference/statistics/strata.json")
	if err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Entries []struct {
			Name             string
			Inputs, Expected map[string]json.RawMessage
		}
	}
	if err := json.Unmarshal(text, &doc); err != nil {
		t.Fatal(err)
	}
	for _, e := range doc.Entries {
		if strings.HasPrefix(e.Name, name) {
			return e.Inputs, e.Expected
		}
	}
	t.Fatalf("there is no entry %q", name)
	return nil, nil
}

func decoded[T any](t *testing.T, from map[string]json.RawMessage, key string) (v T) {
	t.Helper()
	if err := json.Unmarshal(from[key], &v); err != nil {
		t.Fatalf("%s: %v", key, err)
	}
	return v
}

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-9*max(1, math.Abs(want)) {
		t.Errorf("%s %v, want %v", what, got, want)
	}
}

// pairsOf are an example's strata, by department, size or number.
func pairsOf(t *testing.T, name string) (pairs []Pair, expected map[string]json.RawMessage) {
	inputs, expected := strataReference(t, name)
	passed, of := decoded[[]int](t, inputs, "passed"), decoded[[]int](t, inputs, "of")
	restPassed, restOf := decoded[[]int](t, inputs, "rest_passed"), decoded[[]int](t, inputs, "rest_of")
	for i := range passed {
		pairs = append(pairs, Pair{passed[i], of[i], restPassed[i], restOf[i]})
	}
	return pairs, expected
}

func TestDifferenceOfRates(t *testing.T) {
	for _, name := range []string{"Admissions", "Success", "Sparse"} {
		pairs, want := pairsOf(t, name)
		r := DifferenceOfRates(pairs, 0.95)
		near(t, name+": difference", r.Value, decoded[float64](t, want, "difference"))
		interval := decoded[[]float64](t, want, "interval")
		near(t, name+": low", r.Low, interval[0])
		near(t, name+": high", r.High, interval[1])
		near(t, name+": odds ratio", r.OddsRatio, decoded[float64](t, want, "odds_ratio"))
		near(t, name+": p", r.P, decoded[float64](t, want, "p"))
		var all Pair
		for _, p := range pairs {
			all = all.Plus(p)
		}
		near(t, name+": crude", DifferenceOfRates([]Pair{all}, 0.95).Value, decoded[float64](t, want, "crude"))
	}
	if r := DifferenceOfRates([]Pair{{3, 5, 0, 0}, {0, 0, 1, 2}}, 0.95); r.Told != 0 || r.P != 1 {
		t.Errorf("strata of one side alone tell %+v", r)
	}
	if r := DifferenceOfRates([]Pair{{5, 5, 5, 5}}, 0.95); r.P != 1 || r.Value != 0 {
		t.Errorf("where all passed: %+v", r)
	}
}

func TestDifferenceWithinStrata(t *testing.T) {
	inputs, want := strataReference(t, "Difference of means")
	stratum, group, value := decoded[[]int](t, inputs, "stratum"), decoded[[]int](t, inputs, "group"), decoded[[]float64](t, inputs, "value")
	strata := make([]MeansPair, 7)
	for i, v := range value {
		m := &strata[stratum[i]].Rest
		if group[i] == 1 {
			m = &strata[stratum[i]].Group
		}
		*m = m.Plus(Moments{N: 1, Mean: v})
	}
	c, told := DifferenceWithinStrata(strata, 0.95)
	interval := decoded[[]float64](t, want, "interval")
	near(t, "difference", c.Value, decoded[float64](t, want, "difference"))
	near(t, "low", c.Low, interval[0])
	near(t, "high", c.High, interval[1])
	near(t, "p", c.P, decoded[float64](t, want, "p"))
	if told == 0 {
		t.Error("nothing is told")
	}
	if _, told := DifferenceWithinStrata(strata[:1], 0.95); told != 0 {
		t.Errorf("an empty stratum tells %d", told)
	}
}

// contrastOfSet is a published set as a contrast of inspections: departments or sizes are the models.
func contrastOfSet(t *testing.T, name string) Contrast {
	pairs, _ := pairsOf(t, name)
	var group, all []StratumShare
	for i, p := range pairs {
		s := Stratum{SpecName: string(rune('A' + i))}
		group = append(group, StratumShare{s, "group", p.Of, p.Passed})
		all = append(all, StratumShare{s, "", p.Of + p.RestOf, p.Passed + p.RestPassed})
	}
	return ContrastsOf(group, all, 0.95)[0]
}

// Two published sets in which what is put together misleads: the difference turns its sign within the strata, and the mix of strata is
// named as the reason.
func TestReversedSets(t *testing.T) {
	for _, name := range []string{"Admissions", "Success"} {
		c := contrastOfSet(t, name)
		if !(c.Crude.Value < 0 && c.Within.Value > 0) || c.Why != WhyModel {
			t.Errorf("%s: %.3f put together, %.3f like with like, because of %q", name, c.Crude.Value, c.Within.Value, c.Why)
		}
	}
	if c := contrastOfSet(t, "Admissions"); c.Crude.P > 1e-20 || c.Within.P < 0.05 || c.Model == "A" || len(c.Models) != 6 {
		t.Errorf("the crude difference is beyond chance, that of like with like is not: %+v", c)
	}
}

// A gauge that read wrong is named where its days explain the difference, and the group that has nothing beside it is told to be so.
func TestWhatIsMixedUp(t *testing.T) {
	sound, bad := Stratum{Batch: "1", SpecName: "M", Month: 202507}, Stratum{Batch: "1", SpecName: "M", Month: 202507, Span: 2}
	all := []StratumShare{{sound, "", 1000, 900}, {bad, "", 200, 60}}
	damp := []StratumShare{{sound, "60", 100, 90}, {bad, "60", 180, 54}}
	c := ContrastsOf(damp, all, 0.95)[0]
	if c.Crude.P > 1e-6 || c.Within.P < 0.5 || c.Why != WhySpan || c.Span != 2 {
		t.Errorf("the days of the bad gauge explain it: %+v", c)
	}
	alone := ContrastsOf([]StratumShare{{bad, "60", 200, 60}}, all, 0.95)[0]
	if alone.Within.Told != 0 || alone.Why != WhySpan || alone.Span != 2 {
		t.Errorf("nothing can be told of it: %+v", alone)
	}
	two := []StratumShare{{Stratum{SpecName: "M"}, "", 2000, 1600}, {Stratum{SpecName: "N"}, "", 2000, 1600}}
	c = ContrastsOf([]StratumShare{{Stratum{SpecName: "M"}, "60", 500, 350}, {Stratum{SpecName: "N"}, "60", 500, 450}}, two, 0.95)[0]
	if c.Differ > 1e-6 || len(c.Models) != 2 || c.Models[0].Value > 0 || c.Models[1].Value < 0 {
		t.Errorf("the models differ in it: %+v", c)
	}
}
