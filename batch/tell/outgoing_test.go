package tell

import (
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/sampling"
)

// What an audit asks for, at each point of it.
func TestOutgoingToDo(t *testing.T) {
	a := batch.OutgoingAudit{LotSize: 60, Plan: sampling.Plan{N: 13, Accept: 1, Reject: 2}, State: batch.OutgoingOpen}
	for _, c := range []struct {
		found, nonconforming int
		state                batch.OutgoingState
		want                 string
	}{
		{3, 0, batch.OutgoingOpen, ""},
		{3, 1, batch.OutgoingOpen, "The neck found nonconforming is held"},
		{3, 2, batch.OutgoingOpen, "The lot will be rejected"},
		{13, 1, batch.OutgoingOpen, "sign the result below. It accepts the lot."},
		{13, 2, batch.OutgoingOpen, "sign the result below. It rejects the lot."},
		{13, 0, batch.OutgoingAccepted, ""},
		{13, 1, batch.OutgoingAccepted, "is held and inspected again before it ships"},
		{13, 2, batch.OutgoingRejected, "The local quality rules decide"},
		{3, 2, batch.OutgoingGivenUp, ""},
	} {
		a.Found, a.Nonconforming, a.State = c.found, c.nonconforming, c.state
		if got := OutgoingToDo(a, batch.Counts{Audit: &a, Left: 60}); c.want == "" && got != "" || !strings.Contains(got, c.want) {
			t.Errorf("%s with %d of %d: %q, want %q", c.state, c.nonconforming, c.found, got, c.want)
		}
	}
}

// What a rejected lot asks for before it ships, and how far it is.
func TestRejectedLot(t *testing.T) {
	release := &batch.LotRelease{By: "Mara Quill", Done: "sorted by hand; two nuts cut deeper."}
	for _, c := range []struct {
		left, again int
		release     *batch.LotRelease
		stands, do  string
	}{
		{60, 0, nil, "none of 60 inspected again since", "inspect every neck of it again"},
		{59, 12, nil, "12 of 59 inspected again since", "inspect every neck of it again"},
		{59, 59, nil, "all 59 inspected again since, ready for another draw", "Draw another sample"},
		{0, 0, nil, "all of it is scrap", "Draw another sample"},
		{59, 12, release, "released for another draw by Mara Quill: sorted by hand; two nuts cut deeper", "Draw another sample"},
	} {
		a := batch.OutgoingAudit{ID: "a", LotSize: 60, Found: 13, Nonconforming: 2, Plan: sampling.Plan{N: 13, Accept: 1, Reject: 2}, State: batch.OutgoingRejected, Release: c.release}
		counts := batch.Counts{Registered: 60, Inspected: 60, Passed: 60, Audit: &a, Left: c.left, LeftAgain: c.again}
		lot, sentence := Lot(counts), Batch(counts)
		if !strings.Contains(lot, Upper(c.stands)+". ") || !strings.Contains(lot, c.do) || !strings.Contains(sentence, "; "+c.stands+"; ") || !strings.Contains(sentence, "None of 60 may ship") {
			t.Errorf("%d of %d: %q, %q; want %q, %q", c.again, c.left, lot, sentence, c.stands, c.do)
		}
		if got := OutgoingToDo(a, counts); !strings.Contains(got, c.do) {
			t.Errorf("%d of %d: to do %q, want %q", c.again, c.left, got, c.do)
		}
		if c.release != nil && !strings.Contains(Outgoing(a), "Released for another draw by Mara Quill: ") {
			t.Errorf("the audit: %q", Outgoing(a))
		}
		newer := batch.OutgoingAudit{ID: "b", State: batch.OutgoingOpen}
		counts.Audit = &newer
		if got := OutgoingToDo(a, counts); got != "" {
			t.Errorf("drawn again, the audit before asks: %q", got)
		}
	}
}
