package sampling

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

// lots writes a history in letters: A accepted, R rejected, G accepted in the gap, m accepted with MayReduce, u accepted
// while unsteady, C rejected and then corrected.
func lots(letters string) []Lot {
	var history []Lot
	for _, l := range letters {
		history = append(history, map[rune]Lot{
			'A': {Outcome: Accepted}, 'R': {Outcome: Rejected}, 'G': {Outcome: Marginally},
			'm': {Outcome: Accepted, MayReduce: true}, 'u': {Outcome: Accepted, Unsteady: true, MayReduce: true},
			'C': {Outcome: Rejected, Corrected: true},
		}[l])
	}
	return history
}

// Source: MIL-STD-105E 4.7.1 to 4.7.4 and 4.8, sequences of acceptance_sampling.json.
func TestSwitchingSequences(t *testing.T) {
	for _, e := range references(t, "Switching sequence") {
		letters := decode[[]string](t, e.Inputs, "lot_results (A accepted, R rejected, G accepted between Ac and Re under reduced)")
		history := lots(strings.Join(letters, ""))
		for _, n := range decode[[]int](t, e.Inputs, "lots after which the conditions for reduced (limit number met, steady production, wanted) hold") {
			history[n-1].MayReduce = true
		}
		got, err := Switch(history)
		if err != nil {
			t.Fatalf("%s: %v", e.Name, err)
		}
		if want := decode[[]Severity](t, e.Expected, "severity_applied_to_each_lot"); !slices.Equal(got.Applied, want) {
			t.Errorf("%s: %v, want %v", e.Name, got.Applied, want)
		}
		if want := decode[Severity](t, e.Expected, "severity_for_next_lot"); got.Next != want {
			t.Errorf("%s: next %s, want %s", e.Name, got.Next, want)
		}
	}
}

// Source: MIL-STD-105E 4.7 and 4.8, the rules at their edges; applied is given by first letters (n, t, r, d) with the next
// lot's severity last.
func TestSwitchingEdges(t *testing.T) {
	for _, c := range []struct{ name, history, want string }{
		{"nothing yet", "", "n"},
		{"five accepted on tightened, one rejected between", "RRAAAARAAAAAA", "nnttttttttttnn"},
		{"nine accepted are too few for reduced", "AAAAAAAAm", "nnnnnnnnnn"},
		{"ten are enough, when allowed", "AAAAAAAAAm", "nnnnnnnnnnr"},
		{"allowed later", "AAAAAAAAAAAm", "nnnnnnnnnnnnr"},
		{"not while unsteady", "AAAAAAAAAu", "nnnnnnnnnnn"},
		{"reduced ends by a rejection", "AAAAAAAAAmAR", "nnnnnnnnnnrrn"},
		{"reduced ends when unsteady", "AAAAAAAAAmAu", "nnnnnnnnnnrrn"},
		{"a rejection on reduced does not count on normal", "AAAAAAAAAmRRA", "nnnnnnnnnnrnnn"},
		{"five rejected in all on tightened", "RRRARARRAR", "nnttttttttd"},
		{"rejected before tightened began do not count", "RRRARARRA", "nntttttttt"},
		{"five accepted come first", "RRRAAAAARA", "nnttttttnnn"},
		{"corrected", "RRRRRRC", "nntttttt"},
		{"after a correction counting starts afresh", "RRRRRRCRRRRA", "nnttttttttttt"},
	} {
		st, err := Switch(lots(c.history))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		got := ""
		for _, s := range append(st.Applied, st.Next) {
			got += string(s[0])
		}
		if got != c.want {
			t.Errorf("%s: %s gives %s, want %s", c.name, c.history, got, c.want)
		}
	}
}

func TestSwitchingErrors(t *testing.T) {
	for _, c := range []struct{ history, want string }{
		{"RRRRRRRA", "lot 8: was inspected although inspection is discontinued"},
		{"AAG", fmt.Sprintf("lot 3: found %q under normal inspection", Marginally)},
		{"RRG", "under tightened inspection"},
		{"Ax", `lot 2: found ""`},
	} {
		if _, err := Switch(lots(c.history)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.history, err, c.want)
		}
	}
}

// The reasons name the lots that count and what is still missing; a change and what it counts afresh.
func TestSwitchingSaysWhy(t *testing.T) {
	for _, c := range []struct{ history, want string }{
		{"", "Inspection began normal. Two lots rejected of five in a row"},
		{"AAA", "ten accepted in a row, of which there are 3"},
		{"AAR", "Lot 3 was rejected: another rejected one among the next 4 makes inspection tightened."},
		{"AARAAA", "Lot 3 was rejected: another rejected one among the next 1 makes"},
		{"AARAAAA", "Two lots rejected of five in a row"},
		{"AARARA", "Lots 3 and 5 were rejected, two of five in a row or fewer: inspection becomes tightened. Of five lots accepted in a row, which make it normal, there is 1; of five rejected, which end inspection by sampling, 0."},
		{"RRRRRRR", "Lots 3, 4, 5, 6, 7 were rejected under tightened inspection, five in all: inspection is discontinued. No lot is accepted by sampling until"},
		{"RRRRRRC", "The cause was put right after lot 7: inspection is resumed, tightened. Of five"},
		{"AAAAAAAAAm", "Ten lots in a row or more up to 10 were accepted and the other conditions hold: inspection becomes reduced. It stays reduced"},
		{"AAAAAAAAAmG", "Lot 11 was accepted above the acceptance number: inspection becomes normal."},
	} {
		st, err := Switch(lots(c.history))
		if err != nil || !strings.Contains(st.Why, c.want) {
			t.Errorf("%s: %q, %v; want %q", c.history, st.Why, err, c.want)
		}
	}
	st, err := Switch([]Lot{{Name: "QM-2611", Outcome: Rejected}, {Name: "QM-2613", Outcome: Rejected}})
	if err != nil || len(st.Changes) != 1 || st.Changes[0].After != 2 || st.Changes[0].To != Tightened || !strings.Contains(st.Changes[0].Why, "QM-2611 and QM-2613") {
		t.Errorf("%+v, %v", st, err)
	}
}
