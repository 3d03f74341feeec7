package web

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/sampling"
	"sagitta/station/web/webtest"
)

// The switches of a refused form's page lead to a page that can be got, also where the form was refused before and so sent
// from an address that only takes forms.
func TestSwitchesOfRefusedFormsLeadToPages(t *testing.T) {
	s := openShop(t).fill()
	drawn := webtest.Must[batch.OutgoingAudit](s)(s.Rec.DrawOutgoing(t.Context(), batch.OutgoingAudit{By: "Tove Aske", BatchID: s.Batch.ID, AQL: 1, Level: "II", Severity: sampling.Normal}))
	audit := "/audits/" + drawn.ID
	for _, c := range []struct{ to, from, back string }{
		{audit + "/sign", audit, audit},
		{audit + "/give-up", audit + "/give-up", audit},
		{audit + "/findings", audit + "/findings", audit},
		{"/necks/QM-2611-0002/clear-doubt", "/necks/QM-2611-0002/clear-doubt", "/necks/QM-2611-0002"},
		{"/alarms/none/acknowledge", "/alarms/none/acknowledge", "/alarms"},
		{"/people", "/people?was=here", "/people?was=here"},
		{"/people", "/nothing/of/ours", "/"},
	} {
		r := webtest.Request(http.MethodPost, c.to, strings.NewReader(url.Values{"by": {"nobody"}}.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Referer", "http://"+r.Host+c.from)
		w := s.Do(r)
		if w.Code < 400 {
			t.Errorf("POST %s: status %d, want a refusal", c.to, w.Code)
		}
		webtest.Wants(t, w.Body.String(), `action="/unit"><input type="hidden" name="back" value="`+c.back+`"`)
		s.Get(c.back, http.StatusOK)
	}
}

// TestForeignHostName refuses a name that is not this machine's.
func TestForeignHostName(t *testing.T) {
	s := openShop(t)
	r := httptest.NewRequest(http.MethodGet, "/people", nil)
	r.Host = "rebound.example:8470"
	w := httptest.NewRecorder()
	s.Handler.ServeHTTP(w, r)
	if w.Code != http.StatusForbidden || !strings.Contains(w.Body.String(), "rebound.example") {
		t.Errorf("status %d\n%s", w.Code, w.Body)
	}
}
