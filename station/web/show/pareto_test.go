package show

import (
	"slices"
	"testing"

	"sagitta/batch"
)

func TestParetoRunsToTheWhole(t *testing.T) {
	rows := ParetoOf([]batch.Reason{{Name: "action", Necks: 1}, {Name: "fall_away", Necks: 6}, {Name: "relief", Necks: 3}}, nil)
	var names []string
	for i, r := range rows {
		names = append(names, r.Name)
		if i > 0 && (r.Necks > rows[i-1].Necks || r.Cumulative <= rows[i-1].Cumulative) {
			t.Errorf("row %d of the Pareto table is out of order: %+v", i, r)
		}
	}
	if !slices.Equal(names, []string{"fall-away", "relief", "action"}) || rows[0].Share != 60 || rows[2].Cumulative != 100 {
		t.Errorf("got %+v", rows)
	}
}

// Definition: a Pareto table is led by its commonest reason; equals lead together, each with its own share.
func TestCommonestNamesWhatLeads(t *testing.T) {
	for _, c := range []struct {
		rows []ReasonRow
		want string
	}{
		{nil, ""},
		{[]ReasonRow{{Name: "relief", Necks: 5, Share: 50}, {Name: "twist", Necks: 3, Share: 30}, {Name: "action", Necks: 2, Share: 20}},
			"Relief stands first: 5 of 10 necks (50.0 %)."},
		{[]ReasonRow{{Name: "relief", Necks: 2, Share: 100}}, "Relief stands first: 2 of 2 necks (100.0 %)."},
		{[]ReasonRow{{Name: "action", Necks: 2, Share: 40}, {Name: "relief", Necks: 2, Share: 40}, {Name: "twist", Necks: 1, Share: 20}},
			"Action and relief stand first with 2 each of 5 necks (40.0 % each)."},
		{[]ReasonRow{{Name: "action", Necks: 1, Share: 100.0 / 3}, {Name: "relief", Necks: 1, Share: 100.0 / 3}, {Name: "twist", Necks: 1, Share: 100.0 / 3}},
			"Action, relief and twist stand first with 1 each of 3 necks (33.3 % each)."},
	} {
		if got := Commonest(c.rows, "necks"); got != c.want {
			t.Errorf("commonest(%v) = %q, want %q", c.rows, got, c.want)
		}
	}
}

func TestBarsThatLeadTogetherAreMarkedTogether(t *testing.T) {
	c := ParetoChart("p", []ReasonRow{{Name: "action", Necks: 2}, {Name: "relief", Necks: 2}, {Name: "twist", Necks: 1}}, "necks")
	var marked []bool
	for _, p := range c.Series[0].Points {
		marked = append(marked, p.State == "nonconforming")
	}
	if !slices.Equal(marked, []bool{true, true, false}) {
		t.Errorf("marked %v", marked)
	}
}
