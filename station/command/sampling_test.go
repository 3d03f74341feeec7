package command

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"sagitta/batch/sampling"
)

// The worked sequences of acceptance_sampling.json (rules: MIL-STD-105E 4.7.1 to 4.7.4 and 4.8) give the same severities
// from a file.
func TestLotsOfAFile(t *testing.T) {
	for _, e := range examples(t, "acceptance_sampling.json", "Switching sequence") {
		rows := "result,may_reduce\n"
		may := value[[]int](t, e.Inputs, "lots after which the conditions for reduced (limit number met, steady production, wanted) hold")
		for i, letter := range value[[]string](t, e.Inputs, "lot_results (A accepted, R rejected, G accepted between Ac and Re under reduced)") {
			rows += map[string]string{"A": "accepted", "R": "rejected", "G": "between"}[letter] + map[bool]string{true: ",yes\n", false: ",no\n"}[slices.Contains(may, i+1)]
		}
		code, out, errs := sagitta(t, rows, "sampling", "--lots", "-", "--json")
		var got sampling.Standing
		if err := json.Unmarshal([]byte(out), &got); code != exitDone || err != nil {
			t.Fatalf("%s: code %d, %v, %s", e.Name, code, err, errs)
		}
		applied, next := value[[]sampling.Severity](t, e.Expected, "severity_applied_to_each_lot"), value[sampling.Severity](t, e.Expected, "severity_for_next_lot")
		if !slices.Equal(got.Applied, applied) || got.Next != next {
			t.Errorf("%s: %v then %s, want %v then %s", e.Name, got.Applied, got.Next, applied, next)
		}
	}
}

// The plan is Table II-B's for letter K (125, 1 and 2 at AQL 0.65), to which letter H's arrow leads (MIL-STD-105E).
func TestNextLotInWords(t *testing.T) {
	rows := "\ufefflot;result;corrected\r\nQM-2601;accepted;\r\nQM-2602;rejected;no\r\nQM-2603;accepted;\r\nQM-2604;rejected;no\r\nQM-2605;accepted;\r\n"
	code, out, errs := sagitta(t, rows, "sampling", "--lots", "-", "--lot", "500", "--aql", "0.65")
	for _, want := range []string{"Next lot: tightened inspection.\n", "Lots QM-2602 and QM-2604 were rejected, two of five in a row or fewer", "there is 1;", "QM-2605  tightened", "Look at 125 of 500 units. Accept the lot with at most 1 nonconforming unit,"} {
		if code != exitDone || !strings.Contains(out, want) {
			t.Errorf("code %d, %s%s\nwant %q", code, out, errs, want)
		}
	}
	_, out, _ = sagitta(t, rows, "sampling", "--lots", "-", "--lot", "500", "--aql", "0.65", "--json")
	if !strings.Contains(out, `"next":"tightened"`) || !strings.Contains(out, `"plan":{"code":"H","n":125,"accept":1,"reject":2}`) {
		t.Errorf("%s", out)
	}
	_, out, _ = sagitta(t, "result\n"+strings.Repeat("rejected\n", 7), "sampling", "--lots", "-", "--lot", "500", "--aql", "0.65")
	if !strings.Contains(out, "Next lot: no inspection by sampling.") || strings.Contains(out, "Look at ") {
		t.Errorf("%s", out)
	}
}

func TestLotsThatCannotBe(t *testing.T) {
	for _, c := range []struct {
		rows string
		args []string
		code int
		want string
	}{
		{"result\naccepted\npassed\n", nil, exitFailed, `standard input:3: result: found "passed"; allowed: accepted, rejected, between`},
		{"result\naccepted\nbetween\n", nil, exitFailed, `standard input:3: result: found "between" under normal inspection`},
		{"result\n" + strings.Repeat("rejected\n", 8), nil, exitFailed, "standard input:9: result: was inspected although inspection is discontinued"},
		{"result,may_reduce\naccepted,maybe\n", nil, exitFailed, `standard input:2: may_reduce: found "maybe"; allowed: yes, no or nothing`},
		{"result,may_reduc\naccepted,yes\n", nil, exitFailed, `standard input:1: may_reduc: unknown column; did you mean "may_reduce"?`},
		{"lot,result,nonconforming\nQM-2601,accepted,0\n", nil, exitFailed, "standard input:1: nonconforming: unknown column; known here: result, lot, may_reduce, unsteady, corrected"},
		{"outcome\naccepted\n", nil, exitFailed, "standard input:1: result: is missing; the header names: outcome"},
		{"result\naccepted\n", []string{"--severity", "reduced"}, exitUsage, "--severity: found with --lots"},
		{"result\naccepted\n", []string{"--lot", "50"}, exitUsage, "--lots: found with one of --lot and --aql"},
		{"result\naccepted\n", []string{"--lot", "50", "--aql", "1.1"}, exitUsage, "--aql: found 1.1"},
		{"result\naccepted\n", []string{"--lot", "0", "--aql", "1"}, exitUsage, "--lot: found 0; allowed: 2 or more"},
		{"result\naccepted\n", []string{"--level", "I"}, exitUsage, "--level: found with --lots and without --lot and --aql"},
		{"result\n" + strings.Repeat("rejected\n", 7), []string{"--lot", "0", "--aql", "1"}, exitUsage, "--lot: found 0; allowed: 2 or more"},
		{"result\n" + strings.Repeat("rejected\n", 7), []string{"--lot", "50", "--aql", "3"}, exitUsage, "--aql: found 3"},
		{"result\n" + strings.Repeat("rejected\n", 7), []string{"--lot", "50", "--aql", "1", "--level", "IV"}, exitUsage, "--level: found"},
	} {
		code, _, errs := sagitta(t, c.rows, append([]string{"sampling", "--lots", "-"}, c.args...)...)
		if code != c.code || !strings.Contains(errs, c.want) {
			t.Errorf("%q %v: code %d, %s; want %q", c.rows, c.args, code, errs, c.want)
		}
	}
}

// The columns are read in their order, so that of two wrong cells the same one is told at every run.
func TestFirstWrongColumnOfLots(t *testing.T) {
	for range 20 {
		code, _, errs := sagitta(t, "result,corrected,unsteady,may_reduce\naccepted,perhaps,often,maybe\n", "sampling", "--lots", "-")
		if want := `standard input:2: may_reduce: found "maybe"`; code != exitFailed || !strings.Contains(errs, want) {
			t.Fatalf("code %d, %s; want %q", code, errs, want)
		}
	}
}

// A lot after which inspection is discontinued and resumed at once tells both changes, in their order (MIL-STD-105E 4.8).
func TestLotWithTwoChanges(t *testing.T) {
	code, out, errs := sagitta(t, "result,corrected\n"+strings.Repeat("rejected,no\n", 6)+"rejected,yes\n", "sampling", "--lots", "-")
	want := "Lots 3, 4, 5, 6 and 7 were rejected under tightened inspection, five in all: inspection is discontinued. The cause was put right after lot 7: inspection is resumed, tightened."
	if code != exitDone || !strings.Contains(out, want) {
		t.Errorf("code %d, %s%s\nwant %q", code, out, errs, want)
	}
}
