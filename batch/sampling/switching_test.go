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

// The reasons name the lots that count, and what is still missing; a change counts afresh.
func TestSwitchingReasons(t *testing.T) {
	for _, c := range []struct {
		history             string
		reason              Reason // of the last change, "" for none
		lots                string
		run, rejected, left int
		last                string
	}{
		{"", "", "", 0, 0, 0, ""},
		{"AAA", "", "", 3, 0, 0, ""},
		{"AAR", "", "", 0, 1, 4, "3"},
		{"AARAAA", "", "", 3, 1, 1, "3"},
		{"AARAAAA", "", "", 4, 1, 0, "3"},
		{"AARARA", TwoRejected, "3 5", 1, 0, 0, ""},
		{"RRRRRRR", FiveRejected, "3 4 5 6 7", 0, 0, 0, ""},
		{"RRRRRRC", CauseCorrected, "7", 0, 0, 0, ""},
		{"AAAAAAAAAm", TenAccepted, "10", 0, 0, 0, ""},
		{"AAAAAAAAAmG", AboveAcceptance, "11", 0, 0, 0, ""},
		{"AAAAAAAAAmR", RejectedReduced, "11", 0, 0, 0, ""},
		{"AAAAAAAAAmu", UnsteadyLot, "11", 0, 0, 0, ""},
		{"RRAAAAA", FiveAccepted, "7", 0, 0, 0, ""},
	} {
		st, err := Switch(lots(c.history))
		if err != nil {
			t.Fatal(err)
		}
		var change Change
		if n := len(st.Changes); n > 0 {
			change = st.Changes[n-1]
		}
		if change.Reason != c.reason || strings.Join(change.Lots, " ") != c.lots || st.Run != c.run || st.Rejected != c.rejected || st.Left != c.left || st.LastRejected != c.last {
			t.Errorf("%s: %+v; want %+v", c.history, st, c)
		}
	}
	st, err := Switch([]Lot{{Name: "QM-2611", Outcome: Rejected}, {Name: "QM-2613", Outcome: Rejected}})
	if err != nil || len(st.Changes) != 1 || st.Changes[0].After != 2 || st.Changes[0].To != Tightened || !slices.Equal(st.Changes[0].Lots, []string{"QM-2611", "QM-2613"}) {
		t.Errorf("%+v, %v", st, err)
	}
}
