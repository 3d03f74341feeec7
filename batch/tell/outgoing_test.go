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
		{13, 2, batch.OutgoingRejected, "the local quality rules decide"},
		{3, 2, batch.OutgoingGivenUp, ""},
	} {
		a.Found, a.Nonconforming, a.State = c.found, c.nonconforming, c.state
		if got := OutgoingToDo(a); c.want == "" && got != "" || !strings.Contains(got, c.want) {
			t.Errorf("%s with %d of %d: %q, want %q", c.state, c.nonconforming, c.found, got, c.want)
		}
	}
}
