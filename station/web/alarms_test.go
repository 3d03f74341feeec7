package web

import (
	"context"
	"net/http"
	"net/url"
	"testing"

	"sagitta/batch"
)

// An alarm stands on its page and the batch's until somebody acknowledges it by name, with a note.
func TestAlarmsAreAcknowledgedByName(t *testing.T) {
	s := openShop(t).fill()
	ctx := context.Background()
	must[bool](s)(s.rec.RaiseAlarm(ctx, batch.Alarm{Kind: batch.SignalAlarm, Subject: "signal/x", BatchID: s.batch.ID, About: "relief/bass//7", Serial: "QM-2611-0002",
		Words: "Relief gives a signal at neck QM-2611-0002: test 2.", LookAt: "Nine in a row above the centre line."}))
	wants(t, s.get("/alarms", http.StatusOK), "1 alarm waits", "Relief gives a signal", "Nine in a row", `href="`+chartPath("QM-2611", "relief/bass//7")+`"`)
	wants(t, s.get("/batches/QM-2611", http.StatusOK), "Relief gives a signal")
	open, err := s.rec.OpenAlarms(ctx)
	if err != nil {
		t.Fatal(err)
	}
	path := "/alarms/" + open[0].ID + "/acknowledge"
	wants(t, s.post(path, url.Values{"by": {"Tove Aske"}, "note": {" "}}, http.StatusUnprocessableEntity), "say what was looked at")
	if to := s.post(path, url.Values{"by": {"Tove Aske"}, "note": {"new press, settled"}, "back": {"/alarms"}}, http.StatusSeeOther); to != "/alarms" {
		t.Errorf("goes to %s", to)
	}
	wants(t, s.get("/alarms", http.StatusOK), "Nothing asks to be looked at")
	wants(t, s.get("/batches/QM-2611", http.StatusOK), "Tove Aske", "new press, settled")
}
