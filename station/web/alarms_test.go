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
)

// An alarm stands on its page and the batch's until somebody acknowledges it by name, with a note.
func TestAlarmsAreAcknowledgedByName(t *testing.T) {
	s := openShop(t).fill()
	ctx := context.Background()
	must[bool](s)(s.rec.RaiseAlarm(ctx, batch.Alarm{Kind: batch.SignalAlarm, Subject: "signal/x", BatchID: s.batch.ID, About: "relief/bass//7", Serial: "QM-2611-0002",
		Words: "Relief gives a signal at neck QM-2611-0002: test 2.", LookAt: "Nine in a row above the centre line."}))
	wants(t, s.get("/alarms", http.StatusOK), "1 alarm waits", "Relief gives a signal", "Nine in a row", `href="`+site.ChartPath("QM-2611", "relief/bass//7")+`"`)
	wants(t, s.get("/batches/QM-2611", http.StatusOK), "Relief gives a signal")
	open, err := s.rec.OpenAlarms(ctx)
	if err != nil {
		t.Fatal(err)
	}
	path := "/alarms/" + open[0].ID + "/acknowledge"
	wants(t, s.post(path, url.Values{"by": {"Tove Aske"}, "note": {" "}}, http.StatusUnprocessableEntity), "say what was looked at", `<option selected>Tove Aske</option>`, `aria-describedby="note-error"`)
	if to := s.post(path, url.Values{"by": {"Tove Aske"}, "note": {"new press, settled"}, "back": {"/alarms"}}, http.StatusSeeOther); to != "/alarms" {
		t.Errorf("goes to %s", to)
	}
	wants(t, s.get("/alarms", http.StatusOK), "Nothing asks to be looked at")
	wants(t, s.get("/batches/QM-2611", http.StatusOK), "Tove Aske", "new press, settled")
}

// The number of open alarms stands beside its page everywhere, in words; none says nothing.
func TestOpenAlarmsAreCountedOnEveryPage(t *testing.T) {
	s := openShop(t).fill()
	wants(t, s.get("/necks", http.StatusOK), `<a href="/alarms">Alarms <span id="alarm-count"></span></a>`)
	s.alarms = 3
	wants(t, s.get("/necks", http.StatusOK), `<a href="/alarms">Alarms <span id="alarm-count">3 open</span></a>`)
	if w := s.do(newRequest(http.MethodGet, "/health", nil)); w.Header().Get("X-Alarms") != "3 open" {
		t.Errorf("the pages' module hears %q", w.Header().Get("X-Alarms"))
	}
}

// However many alarms are open, the page says how many, and what is typed about an old one stands first.
func TestMoreAlarmsThanOnePageLists(t *testing.T) {
	s := openShop(t).fill()
	for i := range mostAlarms + 3 {
		must[bool](s)(s.rec.RaiseAlarm(t.Context(), batch.Alarm{Kind: batch.DriftAlarm, Subject: fmt.Sprint("drift/", i), GaugeID: s.gauge.ID, Words: fmt.Sprintf("Alarm number %d.", i)}))
	}
	page := s.get("/alarms", http.StatusOK)
	wants(t, page, "103 alarms wait", "3 older alarms are not listed here", "Alarm number 102.", "Alarm number 3.")
	if strings.Contains(page, "Alarm number 2.") {
		t.Error("more are listed than the page says")
	}
	open, err := s.rec.OpenAlarms(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	oldest := open[len(open)-1].ID
	page = s.post("/alarms/"+oldest+"/acknowledge", url.Values{"by": {"Tove Aske"}, "note": {""}}, http.StatusUnprocessableEntity)
	wants(t, page, "Alarm number 0.")
	if strings.Index(page, "Alarm number 0.") > strings.Index(page, "Alarm number 102.") {
		t.Error("the alarm in hand does not stand first")
	}
	s.post("/alarms/"+oldest+"/acknowledge", url.Values{"by": {"Tove Aske"}, "note": {"new tip"}}, http.StatusSeeOther)
	wants(t, s.post("/alarms/"+oldest+"/acknowledge", url.Values{"by": {"Mara Quill"}, "note": {"a worn stand"}}, http.StatusConflict),
		"Tove Aske acknowledged it", "What was typed: a worn stand")
}

// A specification's page says what is watched, by default too.
func TestSpecificationSaysWhatIsWatched(t *testing.T) {
	s := openShop(t).fill()
	wants(t, s.get("/specs/"+s.spec.ID, http.StatusOK), "Control charts watched", "relief", "Run tests that raise an alarm", "1, 2, 3", "from 10 inspected necks on")
	text := specText(t) + "\n[alarms]\ncharacteristics = [\"action\"]\ntests = []\nleast_necks = 4\n"
	to := s.post("/specs", url.Values{"text": {strings.Replace(text, `revision = "B"`, `revision = "C"`, 1)}, "by": {"Tove Aske"}}, http.StatusSeeOther)
	wants(t, s.get(to, http.StatusOK), "from 4 inspected necks on", "none")
	wants(t, s.post("/specs", url.Values{"text": {strings.Replace(text, `["action"]`, `["hump"]`, 1)}, "by": {"Tove Aske"}}, http.StatusUnprocessableEntity),
		"alarms.characteristics[1]: found &#34;hump&#34;; allowed: a characteristic with a limit here")
}
