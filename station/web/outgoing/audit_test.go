package outgoing

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/record/recordtest"
	"sagitta/inspect"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

// shop is an invented shop behind the pages of outgoing audits.
type shop struct{ *webtest.Shop }

func openShop(t testing.TB) *shop {
	s := &shop{webtest.Open(t).Fill()}
	s.Mount(func(k *site.Site) error { return Mount(k, Options{Record: s.Rec}) })
	return s
}

// drawnBoth draws an audit of the two necks that may ship after fill, and returns it with the path of its page.
func (s *shop) drawnBoth() (batch.OutgoingAudit, string) {
	s.Helper()
	at := s.Post("/batches/QM-2611/audit", url.Values{"aql": {"1"}, "level": {"II"}, "severity": {"normal"}, "by": {"Tove Aske"}}, http.StatusSeeOther)
	a := webtest.Must[batch.OutgoingAudit](s)(s.Rec.OutgoingAudit(s.Context(), strings.TrimPrefix(at, "/audits/")))
	if len(a.Necks) != 2 {
		s.Fatalf("%d necks drawn, want 2", len(a.Necks))
	}
	return a, at
}

// An inspection after the draw is offered while its verdict counts: not once it was opened again, nor while it is in doubt.
// Another verdict of the same inspection replaces the finding.
func TestOutgoingAuditOffersVerdictsThatCount(t *testing.T) {
	s := openShop(t)
	a, at := s.drawnBoth()
	const offered = "as inspected"
	wantsNone := func(why string) {
		t.Helper()
		if page := s.Get(at, http.StatusOK); strings.Contains(page, offered) {
			t.Errorf("an inspection is offered %s", why)
		}
	}
	wantsNone("before one was made")
	v := s.Inspect("QM-2611-0002", 0.28, 0)
	webtest.Wants(t, s.Get(at, http.StatusOK), offered, ": pass</label>")
	neck := a.Necks[1].NeckID
	find := url.Values{"by": {"Mara Quill"}, "found-" + neck: {"inspection"}}
	s.Post(at+"/findings", find, http.StatusSeeOther)
	webtest.Wants(t, s.Post(at+"/findings", find, http.StatusUnprocessableEntity), "Nothing new is ticked")

	if err := s.Rec.SetInspectionState(t.Context(), "Mara Quill", v.InspectionID, batch.Open, "the last reading is taken back"); err != nil {
		t.Fatal(err)
	}
	wantsNone("whose verdict was taken back")
	webtest.Wants(t, s.Post(at+"/findings", find, http.StatusUnprocessableEntity), "No inspection after the draw")
	v.Result.Disposition, v.Result.Conforms = inspect.Rework, false
	webtest.Must[batch.Verdict](s)(s.Rec.AppendVerdict(t.Context(), batch.Verdict{InspectionID: v.InspectionID, Result: v.Result, Disposition: inspect.Rework}))
	webtest.Wants(t, s.Get(at, http.StatusOK), ": rework</label>")
	s.Post(at+"/findings", find, http.StatusSeeOther)
	a = webtest.Must[batch.OutgoingAudit](s)(s.Rec.OutgoingAudit(t.Context(), a.ID))
	if f := a.Necks[1].Finding; f == nil || f.Conforms || f.InspectionID != v.InspectionID {
		t.Errorf("after the second verdict: %+v", f)
	}

	webtest.Must[batch.GaugeCheck](s)(s.Rec.AppendGaugeCheck(t.Context(), batch.GaugeCheck{GaugeID: s.Gauge.ID, By: "Mara Quill", Why: "+0.030 mm on the 1 mm master", After: batch.CheckDue}))
	wantsNone("that is in doubt")
}

// endingRecord is a record in which another gives an audit up before a finding is kept.
type endingRecord struct{ *record.DB }

func (r endingRecord) AppendOutgoingFindings(ctx context.Context, findings ...batch.OutgoingFinding) ([]batch.OutgoingFinding, error) {
	if _, err := r.DB.GiveUpOutgoing(ctx, "Tove Aske", findings[0].AuditID, "the wrong level"); err != nil {
		return nil, err
	}
	return r.DB.AppendOutgoingFindings(ctx, findings...)
}

// An audit that another ends while findings are saved tells on its own page that nothing was kept.
func TestOutgoingAuditEndedMeanwhile(t *testing.T) {
	s := openShop(t)
	a, at := s.drawnBoth()
	s.Mount(func(k *site.Site) error { return Mount(k, Options{Record: endingRecord{s.Rec}}) })
	find := url.Values{"by": {"Mara Quill"}, "found-" + a.Necks[0].NeckID: {"conforming"}, "found-" + a.Necks[1].NeckID: {"conforming"}}
	page := s.Post(at+"/findings", find, http.StatusConflict)
	webtest.Wants(t, page, "Outgoing audit of QM-2611", "he audit is given up since", "Nothing of it was kept;", "not looked at")
	a = webtest.Must[batch.OutgoingAudit](s)(s.Rec.OutgoingAudit(t.Context(), a.ID))
	if a.Found != 0 {
		t.Errorf("%d findings on record, want none", a.Found)
	}
}

// The audit is a layer of its batch: its pages have the ways to the others, and are the one that is marked.
func TestAuditIsALayerOfItsBatch(t *testing.T) {
	s := openShop(t)
	_, at := s.drawnBoth()
	for _, path := range []string{"/batches/QM-2611/audit", at} {
		page := s.Get(path, http.StatusOK)
		_, nav, _ := strings.Cut(page, `<nav class="layers`)
		nav, _, _ = strings.Cut(nav, "</nav>")
		for _, l := range show.BatchLayers(false) {
			want := `<a href="/batches/QM-2611/` + l.Key + `"`
			if l.Key == "" {
				want = `<a href="/batches/QM-2611"`
			}
			if l.Key == "audit" {
				want += ` aria-current="page"`
			}
			webtest.Wants(t, nav, want+">"+l.Title+"</a>")
		}
	}
	s.Rec.AppendGaugeCheck(t.Context(), batch.GaugeCheck{GaugeID: s.Gauge.ID, By: "Mara Quill", Why: "+0.030 mm on the 1 mm master", After: batch.CheckDue})
	webtest.Wants(t, s.Get(at, http.StatusOK), `<a href="/batches/QM-2611/doubt">In doubt</a>`)
}

// The page of an audit shows its own signature, that of the batch's end is the batch's.
func TestAuditShowsItsSignature(t *testing.T) {
	s := openShop(t)
	a, at := s.drawnBoth()
	recordtest.SignsOn(t, s.Rec, "Tove Aske")
	for _, n := range a.Necks {
		webtest.Must[[]batch.OutgoingFinding](s)(s.Rec.AppendOutgoingFindings(t.Context(), batch.OutgoingFinding{By: "Mara Quill", AuditID: a.ID, NeckID: n.NeckID, Conforms: true}))
	}
	if page := s.Get(at, http.StatusOK); strings.Contains(page, "Signed by Tove Aske") {
		t.Error("an open audit is signed")
	}
	seal := batch.WithSeals(t.Context(), batch.Seal{By: "Tove Aske", Reason: "as agreed"})
	webtest.Must[batch.OutgoingAudit](s)(s.Rec.SignOutgoing(seal, "Tove Aske", a.ID, false, false, ""))
	if err := s.Rec.CloseBatch(seal, "Tove Aske", a.BatchNumber); err != nil {
		t.Fatal(err)
	}
	page := s.Get(at, http.StatusOK)
	webtest.Wants(t, page, ", to sign an outgoing audit: as agreed. SHA-256 ")
	if strings.Contains(page, "to close a batch") {
		t.Error("the batch's end is shown as the audit's")
	}
}
