package tell

import (
	"errors"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"sagitta/batch"
)

var update = flag.Bool("update", false, "write the golden sentences from what is said now; the commit says which changed and why")

// Every state that a batch can have, with the sentence that all outlets say of it in testdata/batch, one file a state.
func TestBatch(t *testing.T) {
	audit := func(state batch.OutgoingState, again bool) *batch.OutgoingAudit {
		return &batch.OutgoingAudit{State: state, Again: again, LotSize: 22}
	}
	reasons := func(pairs ...any) (all []batch.Reason) {
		for i := 0; i < len(pairs); i += 2 {
			all = append(all, batch.Reason{Name: pairs[i].(string), Necks: pairs[i+1].(int)})
		}
		return all
	}
	full := batch.Counts{Planned: 24, Registered: 24, Inspected: 24, FirstPass: 22, Passed: 22, Rework: 2, Reasons: reasons("relief", 2)}
	with := func(change func(c *batch.Counts)) batch.Counts {
		c := full
		change(&c)
		return c
	}
	states := map[string]batch.Counts{
		"empty":            {},
		"not-begun":        {Planned: 30},
		"on-the-bench":     {Planned: 30, Registered: 1, InProgress: 1},
		"only-undecided":   {Planned: 30, Registered: 1, Undecided: 1},
		"open":             {Planned: 30, Registered: 30, Inspected: 25, Passed: 21, Concession: 1, Rework: 3, Reasons: reasons("rocker", 2, "relief", 3)},
		"all-passed":       {Registered: 24, Inspected: 24, FirstPass: 24, Passed: 24},
		"waiting":          full,
		"repair-and-scrap": {Registered: 24, Inspected: 23, Passed: 18, Rework: 2, Repair: 2, Scrap: 1, Undecided: 1, Reasons: reasons("twist", 2, "relief", 2, "rocker", 1)},
		"one-failed":       {Registered: 24, Inspected: 24, Passed: 23, Rework: 1, Reasons: reasons("relief", 1)},
		"all-alike":        {Registered: 24, Inspected: 24, Passed: 21, Rework: 3, Reasons: reasons("relief", 3)},
		"three-lead":       {Registered: 24, Inspected: 24, Passed: 21, Rework: 3, Reasons: reasons("relief", 1, "twist", 1, "rocker", 1)},
		"in-doubt":         with(func(c *batch.Counts) { c.InDoubt, c.Withheld = 5, 4 }),
		"all-in-doubt":     with(func(c *batch.Counts) { c.InDoubt, c.Withheld = 22, 22 }),
		"held":             with(func(c *batch.Counts) { c.Held, c.Audit = 1, audit(batch.OutgoingAccepted, false) }),
		"audit-open":       with(func(c *batch.Counts) { c.Audit = audit(batch.OutgoingOpen, false) }),
		"accepted":         with(func(c *batch.Counts) { c.Audit = audit(batch.OutgoingAccepted, false) }),
		"accepted-not-all": with(func(c *batch.Counts) { c.Audit, c.Uncovered = audit(batch.OutgoingAccepted, false), 1 }),
		"rejected":         with(func(c *batch.Counts) { c.Held, c.Left, c.Audit = 3, 22, audit(batch.OutgoingRejected, false) }),
		"rejected-part-again": with(func(c *batch.Counts) {
			c.Held, c.Left, c.LeftAgain, c.Audit = 1, 22, 11, audit(batch.OutgoingRejected, false)
		}),
		"rejected-all-again": with(func(c *batch.Counts) { c.Left, c.LeftAgain, c.Audit = 22, 22, audit(batch.OutgoingRejected, false) }),
		"rejected-stated": with(func(c *batch.Counts) {
			c.Held, c.Left, c.Audit = 3, 22, audit(batch.OutgoingRejected, false)
			c.Audit.Release = &batch.LotRelease{By: "Mara Quill", Done: "sorted by hand, two nuts cut deeper."}
		}),
		"rejected-released": with(func(c *batch.Counts) {
			c.Passed, c.Concession, c.Left, c.Audit = 20, 2, 22, audit(batch.OutgoingRejected, false)
		}),
		"redrawn":          with(func(c *batch.Counts) { c.Audit = audit(batch.OutgoingOpen, true) }),
		"redrawn-accepted": with(func(c *batch.Counts) { c.Audit = audit(batch.OutgoingAccepted, true) }),
		"closed":           with(func(c *batch.Counts) { c.Closed = true }),
		"closed-empty":     {Planned: 30, Closed: true},
		"imported":         with(func(c *batch.Counts) { c.Imported = 24 }),
		"partly-imported":  with(func(c *batch.Counts) { c.Imported = 1 }),
	}
	for state, c := range states {
		got := Batch(c) + "\n"
		path := filepath.Join("testdata", "batch", state+".txt")
		if *update {
			if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if got != string(want) {
			t.Errorf("%s:\n got %swant %s", state, got, want)
		}
	}
	files, err := filepath.Glob(filepath.Join("testdata", "batch", "*.txt"))
	if err != nil || len(files) != len(states) {
		t.Errorf("%d golden sentences for %d states, %v", len(files), len(states), err)
	}
}

// TestSentenceHasTrueMinusSigns: an error's numbers are read with a true minus; names, ranges and what was typed stay.
func TestSentenceHasTrueMinusSigns(t *testing.T) {
	for said, want := range map[string]string{
		"allowed is from -1200 to 1200 cents":     "Allowed is from −1200 to 1200 cents.",
		"found \"-5\" (-0.1 mm), QM-2611-0001":    "Found \"-5\" (−0.1 mm), QM-2611-0001.",
		"the 2026-11-30 file a-1 lacks --lot -.5": "The 2026-11-30 file a-1 lacks --lot −.5.",
	} {
		if got := Sentence(errors.New(said)); got != want {
			t.Errorf("%q is told as %q, want %q", said, got, want)
		}
	}
}
