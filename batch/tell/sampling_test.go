package tell

import (
	"strings"
	"testing"

	"sagitta/batch/sampling"
)

// lots writes a history in letters: A accepted, R rejected, G accepted between the numbers, m accepted where reduced inspection
// may follow, u accepted while unsteady, C rejected and then corrected.
func lots(letters string) []sampling.Lot {
	var history []sampling.Lot
	for _, l := range letters {
		history = append(history, map[rune]sampling.Lot{
			'A': {Outcome: sampling.Accepted}, 'R': {Outcome: sampling.Rejected}, 'G': {Outcome: sampling.Marginally},
			'm': {Outcome: sampling.Accepted, MayReduce: true}, 'u': {Outcome: sampling.Accepted, Unsteady: true},
			'C': {Outcome: sampling.Rejected, Corrected: true},
		}[l])
	}
	return history
}

// The reasons name the lots that count, and say what would change the severity.
func TestStanding(t *testing.T) {
	for _, c := range []struct{ history, want string }{
		{"", "Inspection began normal. Two lots rejected of five in a row"},
		{"AAA", "ten accepted in a row, of which there are 3"},
		{"AAR", "Lot 3 was rejected: another rejected one among the next 4 makes inspection tightened."},
		{"AARAAA", "Lot 3 was rejected: another rejected one among the next 1 makes"},
		{"AARAAAA", "Two lots rejected of five in a row"},
		{"AARARA", "Lots 3 and 5 were rejected, two of five in a row or fewer: inspection becomes tightened. Of five lots accepted in a row, which make it normal, there is 1; of five rejected, which end inspection by sampling, 0."},
		{"RRRRRRR", "Lots 3, 4, 5, 6 and 7 were rejected under tightened inspection, five in all: inspection is discontinued. No lot is accepted by sampling until"},
		{"RRRRRRC", "The cause was put right after lot 7: inspection is resumed, tightened. Of five"},
		{"AAAAAAAAAm", "Ten lots in a row or more up to 10 were accepted and the other conditions hold: inspection becomes reduced. It stays reduced"},
		{"AAAAAAAAAmG", "Lot 11 was accepted above the acceptance number: inspection becomes normal."},
		{"AAAAAAAAAmR", "Lot 11 was rejected: inspection becomes normal."},
		{"AAAAAAAAAmu", "Production was not steady at lot 11: inspection becomes normal."},
		{"RRAAAAA", "Five lots in a row up to 7 were accepted: inspection becomes normal."},
	} {
		st, err := sampling.Switch(lots(c.history))
		if err != nil {
			t.Fatal(err)
		}
		if got := Standing(st); !strings.Contains(got, c.want) {
			t.Errorf("%s: %q; want %q", c.history, got, c.want)
		}
	}
	st, err := sampling.Switch(lots("RRRRRRC"))
	if err != nil {
		t.Fatal(err)
	}
	if got, want := History(st, 7), "Lots 3, 4, 5, 6 and 7 were rejected under tightened inspection, five in all: inspection is discontinued. The cause was put right after lot 7: inspection is resumed, tightened."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

func TestPlan(t *testing.T) {
	for _, c := range []struct {
		p    sampling.Plan
		aql  float64
		lot  int
		noun string
		want string
	}{
		{sampling.Plan{N: 5, Reject: 1}, 1, 24, "neck", "Look at 5 of 24 necks. Accept the lot with no nonconforming neck, reject it from 1 on."},
		{sampling.Plan{N: 13, Accept: 1, Reject: 2}, 4, 60, "neck", "Look at 13 of 60 necks. Accept the lot with at most 1 nonconforming neck, reject it from 2 on."},
		{sampling.Plan{N: 13, Accept: 1, Reject: 4}, 4, 60, "neck", "Look at 13 of 60 necks. Accept the lot with at most 1 nonconforming neck, reject it from 4 on. Between the two it is accepted, and the next lot is inspected normally."},
		{sampling.Plan{N: 13, Accept: 0, Reject: 1, CheckAll: true}, 1, 9, "unit", "Look at all 9 units: the plan's sample of 13 is not smaller than the lot. Accept the lot with no nonconforming unit, reject it from 1 on."},
		{sampling.Plan{N: 5, Accept: 3, Reject: 4}, 25, 24, "unit", "Look at 5 of 24 units. Accept the lot with at most 3 nonconformities, reject it from 4 on."},
	} {
		if got := Plan(c.p, c.aql, c.lot, c.noun); got != c.want {
			t.Errorf("%+v: %q, want %q", c.p, got, c.want)
		}
	}
}
