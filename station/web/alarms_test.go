package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

// An alarm stands on its page and the batch's until somebody acknowledges it by name, with a note.
func TestAlarmsAreAcknowledgedByName(t *testing.T) {
	s := openShop(t).fill()
	ctx := context.Background()
	webtest.Must[bool](s)(s.Rec.RaiseAlarm(ctx, batch.Alarm{Kind: batch.SignalAlarm, Subject: "signal/x", BatchID: s.Batch.ID, About: "relief/bass//7", Serial: "QM-2611-0002",
		Words: "Relief gives a signal at neck QM-2611-0002: test 2.", LookAt: "Nine in a row above the centre line."}))
	webtest.Wants(t, s.Get("/alarms", http.StatusOK), "1 alarm waits", "Relief gives a signal", "Nine in a row", `href="`+site.ChartPath("QM-2611", "relief/bass//7")+`"`)
	webtest.Wants(t, s.Get("/batches/QM-2611", http.StatusOK), "Relief gives a signal")
	open, err := s.Rec.OpenAlarms(ctx)
	if err != nil {
		t.Fatal(err)
	}
	path := "/alarms/" + open[0].ID + "/acknowledge"
	webtest.Wants(t, s.Post(path, url.Values{"by": {"Tove Aske"}, "note": {" "}}, http.StatusUnprocessableEntity), "say what was looked at", `<option selected>Tove Aske</option>`, `aria-describedby="note-error"`)
	if to := s.Post(path, url.Values{"by": {"Tove Aske"}, "note": {"new press, settled"}, "back": {"/alarms"}}, http.StatusSeeOther); to != "/alarms" {
		t.Errorf("goes to %s", to)
	}
	webtest.Wants(t, s.Get("/alarms", http.StatusOK), "Nothing asks to be looked at")
	webtest.Wants(t, s.Get("/batches/QM-2611", http.StatusOK), "Tove Aske", "new press, settled")
}

// The number of open alarms stands beside its page everywhere, in words; none says nothing.
func TestOpenAlarmsAreCountedOnEveryPage(t *testing.T) {
	s := openShop(t).fill()
	webtest.Wants(t, s.Get("/necks", http.StatusOK), `<a href="/alarms">Alarms <span id="alarm-count"></span></a>`)
	s.Alarms = 3
	webtest.Wants(t, s.Get("/necks", http.StatusOK), `<a href="/alarms">Alarms <span id="alarm-count">3 open</span></a>`)
	if w := s.Do(webtest.Request(http.MethodGet, "/health", nil)); w.Header().Get("X-Alarms") != "3 open" {
		t.Errorf("the pages' module hears %q", w.Header().Get("X-Alarms"))
	}
}

// However many alarms are open, the page says how many, and what is typed about an old one stands first.
func TestMoreAlarmsThanOnePageLists(t *testing.T) {
	s := openShop(t).fill()
	for i := range mostAlarms + 3 {
		webtest.Must[bool](s)(s.Rec.RaiseAlarm(t.Context(), batch.Alarm{Kind: batch.DriftAlarm, Subject: fmt.Sprint("drift/", i), GaugeID: s.Gauge.ID, Words: fmt.Sprintf("Alarm number %d.", i)}))
	}
	page := s.Get("/alarms", http.StatusOK)
	webtest.Wants(t, page, "103 alarms wait", "3 older alarms are not listed here", "Alarm number 102.", "Alarm number 3.")
	if strings.Contains(page, "Alarm number 2.") {
		t.Error("more are listed than the page says")
	}
	open, err := s.Rec.OpenAlarms(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	oldest := open[len(open)-1].ID
	page = s.Post("/alarms/"+oldest+"/acknowledge", url.Values{"by": {"Tove Aske"}, "note": {""}}, http.StatusUnprocessableEntity)
	webtest.Wants(t, page, "Alarm number 0.")
	if strings.Index(page, "Alarm number 0.") > strings.Index(page, "Alarm number 102.") {
		t.Error("the alarm in hand does not stand first")
	}
	s.Post("/alarms/"+oldest+"/acknowledge", url.Values{"by": {"Tove Aske"}, "note": {"new tip"}}, http.StatusSeeOther)
	webtest.Wants(t, s.Post("/alarms/"+oldest+"/acknowledge", url.Values{"by": {"Mara Quill"}, "note": {"a worn stand"}}, http.StatusConflict),
		"Tove Aske acknowledged it", "What was typed: a worn stand")
}

// A specification's page says what is watched, by default too.
func TestSpecificationSaysWhatIsWatched(t *testing.T) {
	s := openShop(t).fill()
	webtest.Wants(t, s.Get("/specs/"+s.Spec.ID, http.StatusOK), "Control charts watched", "relief", "Run tests that raise an alarm", "1, 2, 3", "from 10 inspected necks on")
	text := webtest.SpecText + "\n[alarms]\ncharacteristics = [\"action\"]\ntests = []\nleast_necks = 4\n"
	to := s.Post("/specs", url.Values{"text": {strings.Replace(text, `revision = "B"`, `revision = "C"`, 1)}, "by": {"Tove Aske"}}, http.StatusSeeOther)
	webtest.Wants(t, s.Get(to, http.StatusOK), "from 4 inspected necks on", "none")
	webtest.Wants(t, s.Post("/specs", url.Values{"text": {strings.Replace(text, `["action"]`, `["hump"]`, 1)}, "by": {"Tove Aske"}}, http.StatusUnprocessableEntity),
		"alarms.characteristics[1]: found &#34;hump&#34;; allowed: a characteristic with a limit here")
}
