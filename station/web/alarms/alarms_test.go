package alarms

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

// shop is a shop with this page alone.
func shop(t testing.TB) *webtest.Shop {
	s := webtest.Open(t).Fill()
	return s.Mount(func(k *site.Site) error { return Mount(k, Options{Record: s.Rec, Bench: deaf{}}) })
}

// deaf is a bench that need not hear.
type deaf struct{}

func (deaf) ReloadAlarms(context.Context) error { return nil }

// An alarm stands on its page and the batch's until somebody acknowledges it by name, with a note.
func TestAlarmsAreAcknowledgedByName(t *testing.T) {
	s := shop(t)
	ctx := context.Background()
	webtest.Must[bool](s)(s.Rec.RaiseAlarm(ctx, batch.Alarm{Kind: batch.SignalAlarm, Subject: "signal/x", BatchID: s.Batch.ID, About: "relief/bass//7", Serial: "QM-2611-0002",
		Words: "Relief gives a signal at neck QM-2611-0002: test 2.", LookAt: "Nine in a row above the centre line."}))
	webtest.Wants(t, s.Get("/alarms", http.StatusOK), "1 alarm waits", "Relief gives a signal", "Nine in a row", `href="`+site.ChartPath("QM-2611", "relief/bass//7")+`"`)
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
}

// However many alarms are open, the page says how many, and what is typed about an old one stands first.
func TestMoreAlarmsThanOnePageLists(t *testing.T) {
	s := shop(t)
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
