package study

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// The ten parts, three appraisers and three trials of the AIAG manual, chapter III section B.
func manualStudy(t *testing.T) []Measurement {
	t.Helper()
	e := references(t, "gauge_studies.json", "Crossed study 10x3x3, ANOVA")[0]
	return crossed(decode[[][][]float64](t, e.Inputs, "data"))
}

// Source: AIAG manual, average and range, with factors computed to full digits (gauge_studies.json).
func TestAverageAndRange(t *testing.T) {
	for _, e := range references(t, "gauge_studies.json", "average-and-range method") {
		if strings.Contains(e.Name, "printed factors") {
			continue // the same data with factors rounded to four places: see TestPrintedFactors
		}
		r, err := Crossed(crossed(decode[[][][]float64](t, e.Inputs, "data")), Options{Method: AverageAndRange})
		if err != nil {
			t.Fatal(err)
		}
		for key, got := range map[string]any{"EV": r.EV, "AV": r.AV, "GRR": r.GRR, "PV": r.PV, "TV": r.TV, "pct_GRR": r.PercentGRR, "pct_PV": r.PercentPV} {
			near(t, e.Name+" "+key, got, decode[float64](t, e.Expected, key), 1e-9)
		}
		if r.NDC == nil || *r.NDC != 5 {
			t.Errorf("ndc %v, want 5", r.NDC)
		}
		if r.Interaction != nil || r.Pooled || len(r.Table) != 0 || len(r.Intervals) != 0 {
			t.Errorf("average and range estimates no interaction and has no table: %+v", r)
		}
	}
}

// Source: AIAG manual, analysis of variance, interaction pooled at p = 0.974 (gauge_studies.json).
func TestAnalysisOfVariance(t *testing.T) {
	e := references(t, "gauge_studies.json", "Crossed study 10x3x3, ANOVA")[0]
	r, err := Crossed(manualStudy(t), Options{Tolerance: 6})
	if err != nil {
		t.Fatal(err)
	}
	type figures struct {
		SD          map[string]float64
		Study       map[string]float64 `json:"pct_study_variation"`
		Share       map[string]float64 `json:"pct_contribution"`
		NDC         int
		PooledError struct {
			SS, MS float64
			DF     int
		} `json:"pooled_error"`
		F, P map[string]float64
	}
	want := decode[figures](t, e.Expected, "interaction_pooled")
	near(t, "ev", r.EV, want.SD["repeatability"], 1e-8)
	near(t, "av", r.AV, want.SD["operator"], 1e-8)
	near(t, "interaction", r.Interaction, 0, 0)
	near(t, "grr", r.GRR, want.SD["GRR"], 1e-8)
	near(t, "pv", r.PV, want.SD["part"], 1e-8)
	near(t, "tv", r.TV, want.SD["total"], 1e-8)
	near(t, "percent_grr", r.PercentGRR, want.Study["GRR"], 1e-8)
	near(t, "percent_pv", r.PercentPV, want.Study["part"], 1e-8)
	near(t, "variance_share_grr", r.VarianceShareGRR, want.Share["GRR"], 1e-8)
	if !r.Pooled || r.NDC == nil || *r.NDC != want.NDC {
		t.Errorf("pooled %v ndc %v, want pooled, ndc %d", r.Pooled, r.NDC, want.NDC)
	}
	ss, df := decode[map[string]float64](t, e.Expected, "SS"), decode[map[string]int](t, e.Expected, "df")
	p := decode[map[string]float64](t, e.Expected, "p")
	near(t, "p of the interaction", r.InteractionP, p["interaction"], 1e-8)
	names := []string{"part", "appraiser", "repeatability", "total"}
	for i, row := range r.Table {
		if row.Source != names[i] {
			t.Fatalf("row %d is %s, want %s", i, row.Source, names[i])
		}
		key := strings.Replace(row.Source, "appraiser", "operator", 1)
		if key == "repeatability" {
			near(t, "pooled SS", row.SS, want.PooledError.SS, 1e-8)
			near(t, "pooled MS", row.MS, want.PooledError.MS, 1e-8)
			if row.DF != want.PooledError.DF {
				t.Errorf("pooled df %d", row.DF)
			}
			continue
		}
		near(t, key+" SS", row.SS, ss[key], 1e-8)
		if row.DF != df[key] {
			t.Errorf("%s df %d, want %d", key, row.DF, df[key])
		}
		if key != "total" {
			near(t, key+" F", row.F, want.F[key], 1e-8)
			near(t, key+" p", row.P, want.P[key], 1e-8)
		}
	}
	if len(r.Table) != 4 {
		t.Errorf("%d rows", len(r.Table))
	}
	tolerance := references(t, "gauge_studies.json", "percent of tolerance")[0]
	shares := decode[map[string]float64](t, tolerance.Expected, "interaction_pooled pct_tolerance")
	near(t, "percent_tolerance_grr", r.PercentToleranceGRR, shares["GRR"], 1e-9)
}

// By hand: two parts, two appraisers, two trials with an interaction that nothing can hide.
func TestInteractionKept(t *testing.T) {
	// Two parts, two appraisers, two trials. Cell means 1, 3; 4, 2 with trials +-0.1: mean 2.5, part means 2, 3, appraiser
	// means 2.5, 2.5, interaction effects all +-1. By hand: SS part 2, appraiser 0, interaction 8, repeatability 0.08.
	means := [2][2]float64{{1, 3}, {4, 2}}
	var m []Measurement
	for p := range means {
		for a, v := range means[p] {
			m = append(m, Measurement{fmt.Sprint(p), fmt.Sprint(a), "1", v - 0.1}, Measurement{fmt.Sprint(p), fmt.Sprint(a), "2", v + 0.1})
		}
	}
	r, err := Crossed(m, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if r.Pooled {
		t.Fatal("pooled")
	}
	near(t, "ev^2", r.EV*r.EV, 0.02, 1e-12)
	near(t, "interaction^2", *r.Interaction**r.Interaction, (8-0.02)/2, 1e-12)
	near(t, "av", r.AV, 0, 0) // negative variance
	near(t, "pv", r.PV, 0, 0)
	near(t, "grr^2", r.GRR*r.GRR, 0.02+3.99, 1e-12)
	near(t, "percent_grr", r.PercentGRR, 100, 1e-12)
	want := []struct {
		source string
		df     int
		ss, f  float64
	}{{"part", 1, 2, 0.25}, {"appraiser", 1, 0, 0}, {"part:appraiser", 1, 8, 400}, {"repeatability", 4, 0.08, 0}, {"total", 7, 10.08, 0}}
	for i, w := range want {
		row := r.Table[i]
		if row.Source != w.source || row.DF != w.df {
			t.Errorf("row %d: %s with %d, want %s with %d", i, row.Source, row.DF, w.source, w.df)
		}
		near(t, w.source+" ss", row.SS, w.ss, 1e-12)
		if i < 3 {
			near(t, w.source+" f", row.F, w.f, 1e-12)
		} else if row.F != nil || row.P != nil {
			t.Errorf("%s has an F", w.source)
		}
	}
	if r.NDC == nil || *r.NDC != 0 {
		t.Errorf("ndc %v, want 0", r.NDC)
	}
}

// Equal readings and readings without repeatability leave percents, ndc or F undefined; they never become infinite.
func TestUndefinedCrossed(t *testing.T) {
	same := crossed([][][]float64{{{0.1, 0.1}, {0.1, 0.1}}, {{0.1, 0.1}, {0.1, 0.1}}})
	exact := crossed([][][]float64{{{0.1, 0.1}, {0.7, 0.7}}, {{0.2, 0.2}, {0.8, 0.8}}}) // additive: 0.1, 0.7 and 0.1 more
	for _, method := range []Method{ANOVA, AverageAndRange} {
		r, err := Crossed(same, Options{Method: method})
		if err != nil {
			t.Fatal(err)
		}
		if r.TV != 0 || r.PercentGRR != nil || r.PercentPV != nil || r.VarianceShareGRR != nil || r.NDC != nil {
			t.Errorf("%s: equal readings: %+v", method, r)
		}
		if f, _ := r.Verdict(); f != Unknown {
			t.Errorf("%s: equal readings are %s", method, f)
		}
		r, err = Crossed(exact, Options{Method: method})
		if err != nil {
			t.Fatal(err)
		}
		if r.EV != 0 || !(r.AV > 0.05) || (r.Interaction != nil && *r.Interaction != 0) {
			t.Errorf("%s: additive readings: %+v", method, r)
		}
		for _, row := range r.Table {
			if row.F != nil {
				t.Errorf("F of %s against nothing: %v", row.Source, *row.F)
			}
		}
	}
}

// Whatever is wrong is named: the cell, the row, the option.
func TestCrossedErrors(t *testing.T) {
	good := manualStudy(t)
	edit := func(change func([]Measurement) []Measurement) []Measurement {
		return change(append([]Measurement(nil), good...))
	}
	for _, c := range []struct {
		name string
		m    []Measurement
		o    Options
		want string
	}{
		{"missing", edit(func(m []Measurement) []Measurement { return append(m[:40], m[41:]...) }), Options{}, "part 4, appraiser B, trial 2 is missing: 89 of 90"},
		{"twice", edit(func(m []Measurement) []Measurement { return append(m, m[4]) }), Options{}, "row 91: trial: part 2, appraiser A, trial 2 is there a second time"},
		{"not a number", edit(func(m []Measurement) []Measurement { m[7].Value = math.NaN(); return m }), Options{}, "row 8: value: found NaN"},
		{"infinite", edit(func(m []Measurement) []Measurement { m[7].Value = math.Inf(-1); return m }), Options{}, "row 8: value: found -Inf"},
		{"no name", edit(func(m []Measurement) []Measurement { m[7].Appraiser = ""; return m }), Options{}, "row 8: appraiser: is empty"},
		{"one trial", edit(func(m []Measurement) []Measurement {
			var one []Measurement
			for _, v := range m {
				if v.Trial == "1" {
					one = append(one, v)
				}
			}
			return one
		}), Options{}, "needs at least 2 parts and 2 trials; found 10 and 1"},
		{"nothing", nil, Options{}, "found 0 and 0"},
		{"large", edit(func(m []Measurement) []Measurement { m[0].Value = 1e200; return m }), Options{}, "too large"},
		{"method", good, Options{Method: "reml"}, `method: found "reml"; allowed: anova or range`},
		{"tolerance", good, Options{Tolerance: -1}, "tolerance: found -1"},
		{"tolerance", good, Options{Tolerance: math.NaN()}, "tolerance: found NaN"},
	} {
		_, err := Crossed(c.m, c.o)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
	var row RowError
	_, err := Crossed(append(good, good[4]), Options{})
	if !errors.As(err, &row) || row.Row != 90 || row.Field != "trial" {
		t.Errorf("%v is no row error of row 90", err)
	}
}

// The stated rule, at its edges.
func TestVerdict(t *testing.T) {
	for _, c := range []struct {
		percent float64
		want    Fitness
	}{{0, Fit}, {9.99, Fit}, {10, Conditional}, {30, Conditional}, {30.01, Unfit}, {100, Unfit}} {
		if got := FitnessOf(&c.percent); got != c.want {
			t.Errorf("%v %%: %s, want %s", c.percent, got, c.want)
		}
	}
	r, err := Crossed(manualStudy(t), Options{Tolerance: 6})
	if err != nil {
		t.Fatal(err)
	}
	fitness, found := r.Verdict()
	if fitness != Conditional || !slices.Equal(found, []Finding{GaugeShare, FewCategories, ToleranceShare}) {
		t.Errorf("%s: %q", fitness, found)
	}
	alone := []Measurement{{"1", "A", "1", 1}, {"1", "A", "2", 1.01}, {"2", "A", "1", 2}, {"2", "A", "2", 2.01}}
	if r, err = Crossed(alone, Options{}); err != nil {
		t.Fatal(err)
	}
	if _, found = r.Verdict(); !slices.Contains(found, SmallStudy) || !slices.Contains(found, OneAppraiser) {
		t.Errorf("two parts, one appraiser: %q", found)
	}
}

// Laws: an offset changes nothing, a factor multiplies standard deviations, the order of rows is nothing, and the sums of
// squares and of variances add up.
func TestCrossedLaws(t *testing.T) {
	base := manualStudy(t)
	for _, method := range []Method{ANOVA, AverageAndRange} {
		r, err := Crossed(base, Options{Method: method})
		if err != nil {
			t.Fatal(err)
		}
		moved := append([]Measurement(nil), base...)
		for i := range moved {
			moved[i].Value = 1000 - 3*moved[i].Value
		}
		rand.New(rand.NewPCG(5, 6)).Shuffle(len(moved), func(i, j int) { moved[i], moved[j] = moved[j], moved[i] })
		s, err := Crossed(moved, Options{Method: method})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "ev", s.EV, 3*r.EV, 1e-10)
		near(t, "av", s.AV, 3*r.AV, 1e-10)
		near(t, "pv", s.PV, 3*r.PV, 1e-10)
		near(t, "percent", s.PercentGRR, *r.PercentGRR, 1e-10)
		near(t, "tv^2", r.TV*r.TV, r.EV*r.EV+r.AV*r.AV+r.PV*r.PV, 1e-12)
	}
}
