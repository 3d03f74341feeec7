package export

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/sampling"
)

// The workbook tells a batch's outgoing audits, the oldest first, a row for each drawn neck; a batch without has no sheet.
func TestAudits(t *testing.T) {
	s := newShop(6)
	if f := open(t, made(t, s, options("mm"))); slices.Contains(f.GetSheetList(), "Audits") {
		t.Error("a batch without an audit has its sheet")
	}
	audit := batch.OutgoingAudit{ID: "a1", At: opened.Add(50 * time.Hour), By: "Ines Quill", AQL: 6.5, Level: "II", Severity: sampling.Normal,
		Plan: sampling.Plan{Code: "A", N: 2, Accept: 0, Reject: 1}, LotSize: 5, State: batch.OutgoingRejected, Found: 2, Nonconforming: 1,
		EndedAt: opened.Add(51 * time.Hour), EndedBy: "Ines Quill", Note: "second shift",
		Release: &batch.LotRelease{At: opened.Add(52 * time.Hour), By: "Mara Quill", Done: "sorted by hand"},
		Necks: []batch.OutgoingNeck{
			{Serial: "QM-2611-0001", Finding: &batch.OutgoingFinding{At: opened.Add(50 * time.Hour), By: "Mara Quill", Note: "buzz at fret 3"}},
			{Serial: "QM-2611-0006", Finding: &batch.OutgoingFinding{At: opened.Add(50 * time.Hour), By: "Mara Quill", Conforms: true}},
		}}
	again := audit
	again.Release, again.ID, again.State, again.EndedBy, again.EndedAt, again.Necks = nil, "a2", batch.OutgoingOpen, "", time.Time{}, []batch.OutgoingNeck{{Serial: "QM-2611-0002"}}
	s.audits = []batch.OutgoingAudit{again, audit}
	f := open(t, made(t, s, options("mm")))
	ended := cell(t, f, "Audits", "Q2")
	if ended == "" {
		t.Error("the end of an audit is missing")
	}
	for row, want := range [][]string{
		{"Serial number", "Found", "Note", "Looked at by", "AQL (% nonconforming)", "Acceptance number", "Rejection number", "Result", "Ended by", "Ended", "Released for another draw by", "What was done with the rejected lot"},
		{"QM-2611-0001", "nonconforming", "buzz at fret 3", "Mara Quill", "6.5", "0", "1", "rejected", "Ines Quill", ended, "Mara Quill", "sorted by hand"},
		{"QM-2611-0006", "conforming", "", "Mara Quill", "6.5", "0", "1", "rejected", "Ines Quill", ended, "Mara Quill", "sorted by hand"},
		{"QM-2611-0002", "", "", "", "6.5", "0", "1", "open", "", "", "", ""},
	} {
		for i, column := range []string{"A", "B", "C", "D", "H", "M", "N", "O", "P", "Q", "S", "U"} {
			if got := cell(t, f, "Audits", fmt.Sprint(column, row+1)); got != want[i] {
				t.Errorf("%s%d: %q, want %q", column, row+1, got, want[i])
			}
		}
	}
}
