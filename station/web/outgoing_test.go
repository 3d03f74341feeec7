package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/sampling"
	"sagitta/station/web/webtest"
)

// An audit from its plan to its result: lot of 8, level II, AQL 6.5: letter A, n 2, Ac 0, Re 1 (MIL-STD-105E, Tables I and
// II-A). What is typed wrongly is kept; the batch's page says that nothing ships while it is open, and what to do once the
// lot is rejected; the neck's story tells it. The neck found nonconforming is held everywhere until it is inspected again.
func TestOutgoingAuditPages(t *testing.T) {
	s := openShop(t).fill()
	path := "/batches/QM-2611/audit"
	s.Passed("QM-2611-0004", "QM-2611-0005", "QM-2611-0006", "QM-2611-0007", "QM-2611-0008", "QM-2611-0009")
	webtest.Wants(t, s.Get(path, http.StatusOK), "8 necks of this batch may ship", "Inspection began normal.", "normal, as the rules ask", ">tightened<", "Draw 8 necks")
	page := s.Get(path+"?aql=6.5&level=II", http.StatusOK)
	webtest.Wants(t, page, "Look at 2 of 8 necks. Accept the lot with no nonconforming neck, reject it from 1 on.", "Code letter A.", "still 10 in 100", "Draw 2 necks")
	if strings.Contains(page, `value="reduced"`) {
		t.Error("reduced inspection is offered before it may be")
	}
	webtest.Wants(t, s.Get(path+"?aql=7", http.StatusOK), "&#34;7&#34; is not offered")
	draw := url.Values{"aql": {"6.5"}, "level": {"II"}, "severity": {"normal"}}
	webtest.Wants(t, s.Post(path, draw, http.StatusUnprocessableEntity), "Nothing is chosen.", "Draw 2 necks")
	draw.Set("by", "Mara Quill") // an inspector
	webtest.Wants(t, s.Post(path, draw, http.StatusUnprocessableEntity), "is not offered; choose one of the list")
	draw.Set("by", "Tove Aske")
	at := s.Post(path, draw, http.StatusSeeOther)
	a, err := s.Rec.OutgoingAudit(t.Context(), strings.TrimPrefix(at, "/audits/"))
	if err != nil {
		t.Fatal(err)
	}
	first, second := a.Necks[0], a.Necks[1]
	page = s.Get(at, http.StatusOK)
	webtest.Wants(t, page, "0 of 2 necks looked at", first.Serial, second.Serial, a.Seed, "Once every neck")
	if strings.Index(page, first.Serial) > strings.Index(page, second.Serial) {
		t.Error("the necks are not in the order of their serial numbers")
	}
	webtest.Wants(t, s.Get("/batches/QM-2611", http.StatusOK), "The outgoing audit is open: 0 of 2 necks looked at, 0 nonconforming so far; ship nothing before it is signed.", `href="`+at+`"`)
	webtest.Wants(t, s.Get("/batches", http.StatusOK), "may ship before the outgoing audit is signed")
	webtest.Wants(t, s.Get(path, http.StatusOK), "An audit of this batch is open")
	s.Post(path, draw, http.StatusConflict)

	find := url.Values{"by": {"Mara Quill"}, "found-" + first.NeckID: {"nonconforming"}, "found-" + second.NeckID: {"conforming"}, "note-" + second.NeckID: {"a scratch, within the shop's rules"}}
	webtest.Wants(t, s.Post(at+"/findings", find, http.StatusUnprocessableEntity), "1 neck needs another look", "say what does not conform", "a scratch, within the shop&#39;s rules", `<option value="Mara Quill" selected>`)
	webtest.Wants(t, s.Post(at+"/findings", url.Values{"by": {"Mara Quill"}}, http.StatusUnprocessableEntity), "Nothing new is ticked")
	find.Set("note-"+first.NeckID, "buzz at fret 3")
	s.Post(at+"/findings", find, http.StatusSeeOther)
	webtest.Wants(t, s.Get(at, http.StatusOK), "2 of 2 necks looked at, 1 nonconforming so far", "It rejects the lot.", "Sign the result", `value="buzz at fret 3"`)
	webtest.Wants(t, s.Post(at+"/findings", find, http.StatusUnprocessableEntity), "Nothing new is ticked")

	sign := url.Values{"by": {"Tove Aske"}, "production": {"unsteady", "may-reduce"}, "note": {"second shift"}}
	webtest.Wants(t, s.Post(at+"/sign", sign, http.StatusUnprocessableEntity), "Both are ticked", `value="second shift"`)
	sign.Set("production", "unsteady")
	s.Post(at+"/sign", sign, http.StatusSeeOther)
	webtest.Wants(t, s.Get(at, http.StatusOK), "The lot of 8 necks is rejected: 1 of 2 necks looked at nonconforming, 1 or more reject it.", "Hold all of it, inspect every neck of it again", "Note: second shift", "Lot QM-2611 was rejected")
	webtest.Wants(t, s.Get("/batches/QM-2611", http.StatusOK), "rejected the lot of 8 necks: nothing of it may ship. None of 8 inspected again since. Hold all of it", "Tove Aske")
	webtest.Wants(t, s.Get("/necks/"+first.Serial+"/story", http.StatusOK), "Drawn for the outgoing audit of batch QM-2611 by Tove Aske: one of 2 of 8 necks.",
		"Outgoing audit: Mara Quill found it nonconforming: buzz at fret 3.", "signed by Tove Aske. The lot of 8 necks is rejected")
	s.Post(at+"/sign", sign, http.StatusConflict)

	why := "found nonconforming in the outgoing audit of " + time.Now().Format("2006-01-02") + ", buzz at fret 3; inspect it again."
	webtest.Wants(t, s.Get("/batches/QM-2611", http.StatusOK), "None of 30 may ship, for the lot was rejected; none of 8 inspected again since; 7 passed; 1 is held after an outgoing audit", "1 of them held</a>: found nonconforming")
	if page = s.Get("/batches/QM-2611/necks?held=1", http.StatusOK); !strings.Contains(page, "Necks 1 to 1 of 1 held after an outgoing audit.") || !strings.Contains(page, "</svg> held</td>") {
		t.Error("the held neck is not picked")
	}
	webtest.Wants(t, s.Get("/batches", http.StatusOK), "None of 30 may ship, for the lot was rejected; none of 8 inspected again since; 7 passed; 1 is held after an outgoing audit", "0 of 30 necks in it may ship")
	webtest.Wants(t, s.Get("/necks/"+first.Serial, http.StatusOK), "<strong>held</strong>", "It may not ship: "+why)
	webtest.Wants(t, s.Get("/necks/"+first.Serial+"/story", http.StatusOK), "; held: "+why)
	webtest.Wants(t, s.Get("/necks?q=QM-2611-000", http.StatusOK), "</svg> held</td>")

	// Not drawn from again at once, nor when one neck was inspected again: the others are listed. A quality manager's statement opens
	// the next draw.
	draw.Set("severity", "normal")
	webtest.Wants(t, s.Post(path, draw, http.StatusConflict), "None of 8 inspected again since", "Which necks are left")
	s.Passed(second.Serial)
	if page = s.Get(path, http.StatusOK); strings.Contains(page, "Drawn by") {
		t.Error("a draw is offered from a rejected lot")
	}
	webtest.Wants(t, page, "rejected the lot of 8 necks: nothing of it may ship. 1 of 8 inspected again since.", `href="`+at+`#lot"`)
	page = s.Get(at, http.StatusOK)
	webtest.Wants(t, page, "1 of 8 inspected again since.", "Not inspected again yet", "Stated by")
	part, _, _ := strings.Cut(page[strings.Index(page, "Not inspected again yet"):], "</p>")
	for _, serial := range a.Lot {
		if listed := strings.Contains(part, `<a href="/necks/`+serial+`">`+serial+`</a>`); listed != (serial != second.Serial) {
			t.Errorf("%s is listed as left: %v, in %s", serial, listed, part)
		}
	}
	release := url.Values{"by": {"Tove Aske"}}
	webtest.Wants(t, s.Post(at+"/release", release, http.StatusUnprocessableEntity), "Give what was done with the lot.")
	release.Set("done", "sorted by hand; nut slots cut deeper")
	release.Set("by", "Mara Quill") // an inspector
	webtest.Wants(t, s.Post(at+"/release", release, http.StatusUnprocessableEntity), "is not offered; choose one of the list", `value="sorted by hand; nut slots cut deeper"`)
	release.Set("by", "Tove Aske")
	s.Post(at+"/release", release, http.StatusSeeOther)
	stated := "eleased for another draw by Tove Aske: sorted by hand; nut slots cut deeper"
	webtest.Wants(t, s.Get(at, http.StatusOK), stated, "Draw another sample")
	webtest.Wants(t, s.Get("/batches/QM-2611", http.StatusOK), "for the lot was rejected; r"+stated+"; 7 passed", "R"+stated+". Draw another sample")
	webtest.Wants(t, s.Get("/necks/"+first.Serial+"/story", http.StatusOK), "R"+stated)
	webtest.Wants(t, s.Post(at+"/release", release, http.StatusConflict), "Tove Aske stated it on")

	// Shown again: the chosen plan is remembered, the inspection after the draw is offered.
	page = s.Get(path, http.StatusOK)
	webtest.Wants(t, page, "7 necks of this batch wait for another audit: they are the lot.", "This lot was rejected before", `<option value="6.5" selected>`)
	at = s.Post(path, draw, http.StatusSeeOther)
	if a, err = s.Rec.OutgoingAudit(t.Context(), strings.TrimPrefix(at, "/audits/")); err != nil || !a.Again {
		t.Fatalf("%+v, %v", a, err)
	}
	s.Passed(first.Serial)
	if page = s.Get("/necks/"+first.Serial, http.StatusOK); strings.Contains(page, "<strong>held</strong>") {
		t.Error("a neck that was inspected again is still held")
	}
	webtest.Wants(t, s.Get("/batches/QM-2611", http.StatusOK), "None of 30 may ship, for the lot was rejected and its new outgoing audit is not signed; 8 passed")
	s.Passed(a.Necks[0].Serial)
	webtest.Wants(t, s.Get(at, http.StatusOK), "as inspected", ": pass</label>")
	find = url.Values{"by": {"Mara Quill"}, "found-" + a.Necks[0].NeckID: {"inspection"}, "found-" + a.Necks[1].NeckID: {"inspection"}}
	webtest.Wants(t, s.Post(at+"/findings", find, http.StatusUnprocessableEntity), "No inspection after the draw")
	find.Set("found-"+a.Necks[1].NeckID, "conforming")
	s.Post(at+"/findings", find, http.StatusSeeOther)
	s.Post(at+"/sign", url.Values{"by": {"Tove Aske"}}, http.StatusSeeOther)
	webtest.Wants(t, s.Get("/batches/QM-2611", http.StatusOK), "accepted the lot of 7 necks.", "1 neck that may ship was judged since and not covered by it.")
	if a, err = s.Rec.OutgoingAudit(t.Context(), a.ID); err != nil || a.State != batch.OutgoingAccepted || a.Necks[0].Finding.InspectionID == "" {
		t.Errorf("%+v, %v", a, err)
	}
	webtest.Wants(t, s.Get("/audits/nothing", http.StatusNotFound), "nothing")
}

// An audit can be given up with a reason, and does not count; one neck is no lot.
func TestOutgoingAuditGivenUp(t *testing.T) {
	s := openShop(t).fill()
	path := "/batches/QM-2611/audit"
	at := s.Post(path, url.Values{"aql": {"1"}, "level": {"II"}, "severity": {"tightened"}, "by": {"Tove Aske"}}, http.StatusSeeOther)
	webtest.Wants(t, s.Get(at, http.StatusOK), "tightened inspection (the rules asked for normal)")
	webtest.Wants(t, s.Post(at+"/give-up", url.Values{"by": {"Tove Aske"}}, http.StatusUnprocessableEntity), "Give reason.")
	s.Post(at+"/give-up", url.Values{"by": {"Tove Aske"}, "reason": {"the wrong level"}}, http.StatusSeeOther)
	webtest.Wants(t, s.Get(at, http.StatusOK), "Given up: the wrong level.")
	webtest.Wants(t, s.Get("/necks/QM-2611-0002/story", http.StatusOK), "was given up by Tove Aske. Given up: the wrong level.")
	page := s.Get("/batches/QM-2611", http.StatusOK)
	webtest.Wants(t, page, "given up")
	if strings.Contains(page, "ship nothing") {
		t.Error("an audit given up still holds the batch")
	}
	if st, err := batch.Switching(webtest.Must[[]batch.OutgoingAudit](s)(s.Rec.ModelAudits(t.Context(), s.Spec.Name)), 1); err != nil || st.Next != sampling.Normal || len(st.Applied) != 0 {
		t.Errorf("%+v, %v", st, err)
	}
	empty := openShop(t).fill()
	webtest.Must[batch.Batch](empty)(empty.Rec.OpenBatch(t.Context(), "Tove Aske", batch.Batch{Number: "QM-2699", Spec: empty.Spec}, []string{"QM-2699-0001"}))
	webtest.Wants(t, empty.Get("/batches/QM-2699/audit", http.StatusOK), "0 necks of this batch may ship; a sample needs a lot of 2 or more.")
}
