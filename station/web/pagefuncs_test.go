package web

import (
	"testing"

	"sagitta/station/web/show"
)

// Definition: a Pareto table is led by its commonest reason; equals lead together, each with its own share.
func TestCommonestNamesWhatLeads(t *testing.T) {
	for _, c := range []struct {
		rows []show.ReasonRow
		want string
	}{
		{nil, ""},
		{[]show.ReasonRow{{Name: "relief", Necks: 5, Share: 50}, {Name: "twist", Necks: 3, Share: 30}, {Name: "action", Necks: 2, Share: 20}},
			"Relief stands first: 5 of 10 necks (50.0 %)."},
		{[]show.ReasonRow{{Name: "action", Necks: 2, Share: 40}, {Name: "relief", Necks: 2, Share: 40}, {Name: "twist", Necks: 1, Share: 20}},
			"Action and relief stand first with 2 each of 5 necks (40.0 % each)."},
		{[]show.ReasonRow{{Name: "action", Necks: 1, Share: 100.0 / 3}, {Name: "relief", Necks: 1, Share: 100.0 / 3}, {Name: "twist", Necks: 1, Share: 100.0 / 3}},
			"Action, relief and twist stand first with 1 each of 3 necks (33.3 % each)."},
	} {
		if got := show.Commonest(c.rows, "necks"); got != c.want {
			t.Errorf("commonest(%v) = %q, want %q", c.rows, got, c.want)
		}
	}
}
