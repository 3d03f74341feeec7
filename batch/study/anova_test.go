package study

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// Source: the same study before pooling: sums of squares, F and p of the full model (gauge_studies.json).
func TestFullModel(t *testing.T) {
	e := references(t, "gauge_studies.json", "Crossed study 10x3x3, ANOVA")[0]
	g, err := newGrid(manualStudy(t), crossedStudy)
	if err != nil {
		t.Fatal(err)
	}
	part, appraiser, inter, repeat, total := g.squares()
	ss, ms := decode[map[string]float64](t, e.Expected, "SS"), decode[map[string]float64](t, e.Expected, "MS")
	for key, s := range map[string]square{"part": part, "operator": appraiser, "interaction": inter, "repeatability": repeat, "total": total} {
		near(t, key+" SS", s.ss, ss[key], 1e-11)
		if key != "total" {
			near(t, key+" MS", s.ms(), ms[key], 1e-11)
		}
	}
	f, p := decode[map[string]float64](t, e.Expected, "F"), decode[map[string]float64](t, e.Expected, "p")
	for _, c := range []struct {
		key, f string
		row    Source
	}{
		{"part", "part_over_interaction", part.row("part", &inter)},
		{"operator", "operator_over_interaction", appraiser.row("appraiser", &inter)},
		{"interaction", "interaction_over_repeatability", inter.row("part:appraiser", &repeat)},
	} {
		near(t, c.key+" F", c.row.F, f[c.f], 1e-10)
		near(t, c.key+" p", c.row.P, p[c.key], 1e-8)
	}
}

// One appraiser is a one-way analysis: NIST StRD certified values (anova_regression.json), digits lost by storing the data
// as doubles allowed as each entry says.
func TestOneAppraiserNIST(t *testing.T) {
	for _, e := range references(t, "anova_regression.json", "one-way ANOVA") {
		groups := nistGroups(t, e)
		var m []Measurement
		for p, group := range groups {
			for i, v := range group {
				m = append(m, Measurement{fmt.Sprint(p), "A", fmt.Sprint(i), v})
			}
		}
		r, err := Crossed(m, Options{})
		if err != nil {
			t.Fatalf("%s: %v", e.Name, err)
		}
		digits := 10.0
		if strings.Contains(e.Name, "SmLs04") {
			digits = 8
		} else if strings.Contains(e.Name, "SmLs07") {
			digits = 4 // the best a program reading doubles can do
		}
		part, within := r.Table[0], r.Table[1]
		for _, c := range []struct {
			key string
			got float64
		}{{"SS_between", part.SS}, {"SS_within", within.SS}, {"MS_between", *part.MS}, {"MS_within", *within.MS}, {"F", *part.F}, {"residual_sd", r.EV}} {
			want := decode[float64](t, e.Expected, c.key)
			if lre := -math.Log10(math.Abs(c.got-want) / want); lre < digits {
				t.Errorf("%s %s: %.15g, certified %.15g: log relative error %.1f, want %.0f", e.Name, c.key, c.got, want, lre, digits)
			}
		}
		if r.AV != 0 || *r.Interaction != 0 || r.Pooled || len(r.Table) != 3 {
			t.Errorf("%s: one appraiser has no reproducibility: %+v", e.Name, r)
		}
	}
}

// nistGroups builds a data set from its values or its rule.
func nistGroups(t *testing.T, e entry) [][]float64 {
	t.Helper()
	if e.Inputs["groups"] != nil {
		named := decode[map[string][]float64](t, e.Inputs, "groups")
		groups := make([][]float64, len(named))
		for i := range groups {
			groups[i] = named[fmt.Sprint(i+1)]
		}
		return groups
	}
	replicates := decode[int](t, e.Inputs, "replicates")
	var groups [][]float64
	for _, first := range decode[[]string](t, e.Inputs, "first_value_of_each_treatment") {
		whole, tenths, _ := strings.Cut(first, ".")
		group := []float64{decimal(t, whole, tenths, 0)}
		for len(group) < replicates {
			group = append(group, decimal(t, whole, tenths, -1), decimal(t, whole, tenths, 1))
		}
		groups = append(groups, group)
	}
	return groups
}

func decimal(t *testing.T, whole, tenths string, change int) float64 {
	t.Helper()
	var v float64
	if _, err := fmt.Sscan(fmt.Sprintf("%s.%c", whole, tenths[0]+byte(change)), &v); err != nil {
		t.Fatal(err)
	}
	return v
}

// Source: Dyestuff, Davies and Goldsmith (1972), Table 6.3 (gauge_studies.json).
func TestOneWayComponents(t *testing.T) {
	e := references(t, "gauge_studies.json", "Dyestuff")[0]
	r, err := Crossed(crossed([][][]float64{decode[[][]float64](t, e.Inputs, "data[batch][replicate]")}), Options{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "part variance", r.PV*r.PV, decode[float64](t, e.Expected, "unclipped_batch_variance"), 1e-8)
	near(t, "repeatability variance", r.EV*r.EV, decode[float64](t, e.Expected, "MS_within"), 1e-8)
}
