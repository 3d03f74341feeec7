package record

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/sampling"
	"sagitta/inspect"
)

// ready inspects necks so that the first n of the shop's pass and may ship.
func (s *shop) ready(n int) {
	s.Helper()
	for _, serial := range serials(n) {
		s.verdict(s.start(serial), inspect.Pass, 0.3, 0.3)
	}
}

func (s *shop) draw(severity sampling.Severity) batch.OutgoingAudit {
	s.Helper()
	return must(s.DrawOutgoing(s.ctx, batch.OutgoingAudit{By: "Mara Quill", BatchID: s.batch.ID, AQL: 10, Level: "II", Severity: severity}))(s)
}

// settle finds the first bad necks of a sample nonconforming and the others conforming, and signs.
func (s *shop) settle(a batch.OutgoingAudit, bad int, mayReduce bool) batch.OutgoingAudit {
	s.Helper()
	var findings []batch.OutgoingFinding
	for i, n := range a.Necks {
		findings = append(findings, batch.OutgoingFinding{By: "Mara Quill", AuditID: a.ID, NeckID: n.NeckID, Conforms: i >= bad, Note: "buzz at fret 3"})
	}
	must(s.AppendOutgoingFindings(s.ctx, findings...))(s)
	return must(s.SignOutgoing(s.ctx, "Mara Quill", a.ID, mayReduce, false, ""))(s)
}

// An audit's life: a plan of Table II-A (lot of 20, level II, AQL 10: letter C, n 5, Ac 1, Re 2; MIL-STD-105E), the draw that
// its seed gives, findings, the result; every step refused at the wrong time.
func TestOutgoingAudit(t *testing.T) {
	s := newShop(t, serials(24)...)
	ask := batch.OutgoingAudit{By: "Mara Quill", BatchID: s.batch.ID, AQL: 10, Level: "II", Severity: sampling.Normal}
	_, err := s.DrawOutgoing(s.ctx, ask)
	wantErr(t, err, ErrInput, "lot: found 0; allowed: 2 or more")
	s.ready(20)
	s.verdict(s.start("QM-2611-0021"), inspect.Rework, 0.5, 0.5)
	if all := must(readyNecks(s.ctx, s.reader, s.batch.ID))(t); !slices.Equal(all, serials(20)) {
		t.Fatalf("may ship: %v", all)
	}
	for _, c := range []struct {
		change func(a *batch.OutgoingAudit)
		kind   error
		words  string
	}{
		{func(a *batch.OutgoingAudit) { a.By = " " }, ErrInput, "nobody is named"},
		{func(a *batch.OutgoingAudit) { a.AQL = 3 }, ErrInput, "aql: found 3"},
		{func(a *batch.OutgoingAudit) { a.Level = "IV" }, ErrInput, "level"},
		{func(a *batch.OutgoingAudit) { a.Severity = sampling.Reduced }, ErrInput, `severity: found "reduced"; allowed: normal, or a stricter one`},
		{func(a *batch.OutgoingAudit) { a.BatchID = "nothing" }, ErrUnknown, "nothing"},
	} {
		wrong := ask
		c.change(&wrong)
		_, err := s.DrawOutgoing(s.ctx, wrong)
		wantErr(t, err, c.kind, c.words)
	}
	a := must(s.DrawOutgoing(s.ctx, ask))(t)
	if a.Plan.Code != "C" || a.Plan.N != 5 || a.Plan.Accept != 1 || a.Plan.Reject != 2 || a.State != batch.OutgoingOpen || a.Proposed != sampling.Normal || a.LotSize != 20 {
		t.Errorf("%+v", a)
	}
	var drawn []string
	for _, n := range a.Necks {
		drawn = append(drawn, n.Serial)
	}
	if want := sampling.Draw(serials(20), 5, a.Seed); !slices.Equal(drawn, want) || !slices.Equal(a.Lot, serials(20)) {
		t.Errorf("drawn %v, the seed gives %v", drawn, want)
	}
	_, err = s.DrawOutgoing(s.ctx, ask)
	wantErr(t, err, ErrState, "the audit of QM-2611, of the same model, is open")

	find := batch.OutgoingFinding{By: "Mara Quill", AuditID: a.ID, NeckID: a.Necks[0].NeckID}
	_, err = s.AppendOutgoingFindings(s.ctx, find)
	wantErr(t, err, ErrInput, "say what does not conform")
	find.NeckID = s.neck("QM-2611-0024").ID
	find.Conforms = true
	_, err = s.AppendOutgoingFindings(s.ctx, find)
	wantErr(t, err, ErrUnknown, "drawn neck")
	find.NeckID, find.InspectionID = a.Necks[0].NeckID, must(s.Inspections(s.ctx, a.Necks[1].NeckID))(t)[0].ID
	_, err = s.AppendOutgoingFindings(s.ctx, find)
	wantErr(t, err, ErrUnknown, "inspection of "+a.Necks[0].Serial)
	good := batch.OutgoingFinding{By: "Mara Quill", AuditID: a.ID, NeckID: a.Necks[1].NeckID, Conforms: true}
	_, err = s.AppendOutgoingFindings(s.ctx, good, find) // the second is refused: nothing is kept
	wantErr(t, err, ErrUnknown, "inspection of "+a.Necks[0].Serial)
	_, err = s.SignOutgoing(s.ctx, "Mara Quill", a.ID, false, false, "")
	wantErr(t, err, ErrState, "5 of 5 drawn necks have not been looked at")

	find.InspectionID = must(s.Inspections(s.ctx, find.NeckID))(t)[0].ID
	must(s.AppendOutgoingFindings(s.ctx, find))(t)
	ended := s.settle(a, 2, false) // the first neck's finding is replaced
	if ended.State != batch.OutgoingRejected || ended.Nonconforming != 2 || ended.Found != 5 || ended.EndedBy != "Mara Quill" {
		t.Errorf("%+v", ended)
	}
	_, err = s.AppendOutgoingFindings(s.ctx, find)
	wantErr(t, err, ErrState, "rejected since")
	_, err = s.GiveUpOutgoing(s.ctx, "Mara Quill", a.ID, "late")
	wantErr(t, err, ErrState, "rejected since")
	got := must(s.DrawnIn(s.ctx, a.Necks[0].NeckID))(t)
	if len(got) != 1 || got[0].ID != a.ID || got[0].Finding == nil || got[0].Finding.Conforms || got[0].Finding.Note != "buzz at fret 3" {
		t.Errorf("%+v", got)
	}
	for _, aql := range []float64{15, 1000} {
		_, err := s.DrawOutgoing(s.ctx, batch.OutgoingAudit{By: "Mara Quill", BatchID: s.batch.ID, AQL: aql, Level: "II", Severity: sampling.Normal})
		wantErr(t, err, ErrInput, "AQL", "10 at most")
	}
	s.ok(s.VerifyAudit(s.ctx))
	trail := must(s.Audit(s.ctx, 50))(t)
	for _, what := range []string{"outgoing audit drawn", "outgoing audit: nonconforming", "outgoing audit rejected"} {
		if !slices.ContainsFunc(trail, func(e batch.Event) bool { return e.What == what }) {
			t.Errorf("the chain has no %q", what)
		}
	}
	if !strings.Contains(fmt.Sprint(trail), "seed "+a.Seed) {
		t.Error("the chain does not hold the seed")
	}
}

// The severity follows from a model's audits in the order of their draws (MIL-STD-105E 4.7 and 4.8): a lot shown again after
// its rejection and an audit given up do not count; two rejected of five make it tightened, five more end it, a correction
// resumes it; ten accepted make it reduced where the other conditions hold, and a lot between the two numbers ends that.
func TestOutgoingSeverity(t *testing.T) {
	s := newShop(t, serials(20)...)
	s.ready(20)
	first := s.batch
	other := func(n int) { // the next batch of the same model
		s.Helper()
		all := make([]string, 20)
		for i := range all {
			all[i] = fmt.Sprintf("QM-%d-%04d", n, i+1)
		}
		s.batch = must(s.OpenBatch(s.ctx, "Mara Quill", batch.Batch{Number: fmt.Sprintf("QM-%d", n), Spec: s.spec}, all))(t)
		for _, serial := range all {
			s.verdict(s.start(serial), inspect.Pass, 0.3, 0.3)
		}
	}
	proposed := func(want sampling.Severity) {
		t.Helper()
		st, err := batch.Switching(must(s.ModelAudits(s.ctx, "QM Bolt 648"))(t), 10)
		if err != nil || st.Next != want {
			t.Fatalf("proposed %s, %v, want %s", st.Next, err, want)
		}
	}
	must(s.AddPerson(s.ctx, "Mara Quill", "Mara Quill", batch.QualityManager))(t)
	rejected := s.settle(s.draw(sampling.Normal), 5, false)
	must(s.ReleaseLot(s.ctx, "Mara Quill", rejected.ID, "sorted by hand"))(t)
	again := s.settle(s.draw(sampling.Tightened), 5, false)
	if !again.Again {
		t.Error("a lot shown again is not marked")
	}
	must(s.ReleaseLot(s.ctx, "Mara Quill", again.ID, "sorted by hand once more"))(t)
	proposed(sampling.Normal)
	must(s.GiveUpOutgoing(s.ctx, "Mara Quill", s.draw(sampling.Normal).ID, "the wrong level"))(t)
	other(2612)
	s.settle(s.draw(sampling.Normal), 5, false)
	proposed(sampling.Tightened)
	if _, err := s.DrawOutgoing(s.ctx, batch.OutgoingAudit{By: "x", BatchID: first.ID, AQL: 10, Level: "II", Severity: sampling.Normal}); err == nil || !strings.Contains(err.Error(), "allowed: tightened") {
		t.Errorf("a milder severity: %v", err)
	}
	for n := range 5 {
		other(2613 + n)
		s.settle(s.draw(sampling.Tightened), 5, false)
	}
	proposed(sampling.Discontinued)
	other(2620)
	_, err := s.DrawOutgoing(s.ctx, batch.OutgoingAudit{By: "x", BatchID: s.batch.ID, AQL: 10, Level: "II", Severity: sampling.Tightened})
	wantErr(t, err, ErrState, "discontinued")
	a := must(s.DrawOutgoing(s.ctx, batch.OutgoingAudit{By: "x", BatchID: s.batch.ID, AQL: 10, Level: "II", Severity: sampling.Tightened, Corrected: true}))(t)
	s.settle(a, 0, false)
	for range 4 { // a further audit of an accepted lot counts as another lot
		s.settle(s.draw(sampling.Tightened), 0, false)
	}
	proposed(sampling.Normal)
	for range 10 {
		s.settle(s.draw(sampling.Normal), 0, true)
	}
	proposed(sampling.Reduced)
	// Table II-C, letter C, AQL 10: n 2, Ac 0, Re 2.
	if a = s.draw(sampling.Reduced); a.Plan.N != 2 || a.Plan.Accept != 0 || a.Plan.Reject != 2 {
		t.Fatalf("%+v", a.Plan)
	}
	if a = s.settle(a, 1, false); a.State != batch.OutgoingBetween {
		t.Errorf("%+v", a)
	}
	proposed(sampling.Normal)
	s.ok(s.VerifyAudit(s.ctx))
}
