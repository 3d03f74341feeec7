package alarms

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/station/bench"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

// shop is a shop with this page alone.
func shop(t testing.TB) *webtest.Shop {
	s := webtest.Open(t).Fill()
	return on(s, &deaf{})
}

// on mounts the page with a bench.
func on(s *webtest.Shop, b *deaf) *webtest.Shop {
	b.batch = &s.Batch
	return s.Mount(func(k *site.Site) error { return Mount(k, Options{Record: s.Rec, Bench: b, Now: time.Now}) })
}

// deaf is a bench that need not hear.
type deaf struct {
	batch *batch.Batch
	waits bench.Waiting
}

func (*deaf) ReloadAlarms(context.Context) error { return nil }

func (b *deaf) Snapshot() *bench.Snapshot { return &bench.Snapshot{Batch: b.batch, Waiting: b.waits} }

// What waits stands on the page, of every batch, each where it is dealt with; what is dealt with is gone.
func TestWhatWaits(t *testing.T) {
	s := webtest.Open(t).Fill()
	b := &deaf{}
	on(s, b)
	doubted := func(serial string) {
		t.Helper()
		check := webtest.Must[*batch.GaugeCheck](s)(s.Rec.LatestCheck(t.Context(), s.Gauge.ID))
		neck := webtest.Must[batch.Neck](s)(s.Rec.Neck(t.Context(), serial))
		in := webtest.Must[batch.Inspection](s)(s.Rec.StartInspection(t.Context(), batch.Inspection{NeckID: neck.ID, Inspector: "Mara Quill"}))
		webtest.Must[batch.Reading](s)(s.Rec.AppendReading(t.Context(), batch.Reading{InspectionID: in.ID, Point: batch.Point{Kind: batch.Crown, Track: "bass", Fret: 7},
			Round: 1, By: "Mara Quill", GaugeID: s.Gauge.ID, CheckID: check.ID, Value: -0.3}))
	}
	webtest.Wants(t, s.Get("/alarms", http.StatusOK), "Nothing asks to be looked at.</p>")

	webtest.Must[batch.Batch](s)(s.Rec.OpenBatch(t.Context(), "Tove Aske", batch.Batch{Number: "QM-2612", Spec: s.Spec, Planned: 1}, []string{"QM-2612-0001"}))
	doubted("QM-2611-0004")
	doubted("QM-2612-0001")
	webtest.Must[batch.GaugeCheck](s)(s.Rec.AppendGaugeCheck(t.Context(), batch.GaugeCheck{GaugeID: s.Gauge.ID, By: "Mara Quill", ZeroMM: 0.2, ShiftMM: 0.1,
		Why: "zero moved by +0.100 mm, more than the 0.010 mm allowed", After: batch.CheckDue}))
	b.waits.Locked = []bench.GaugeLine{{ID: s.Gauge.ID, Name: s.Gauge.Name, Locked: true, LockedWhy: "it failed its check of 09:10", ToDo: "Check it: zero on the flat reference."}}
	b.waits.Parked = []bench.ParkedNeck{{Serial: "QM-2612-0001", BatchNumber: "QM-2612", Attempt: 1, Since: time.Now().Add(-20 * time.Minute), Reason: "settling", Taken: 1, Of: 57}}
	page := s.Get("/alarms", http.StatusOK)
	webtest.Wants(t, page, "1 gauge may not judge", `<a href="/gauges/`+s.Gauge.ID+`">carriage indicator</a>: it failed its check of 09:10. Check it: zero on the flat reference.`,
		"Called back: 5 necks are in doubt", `<a href="/necks/QM-2611-0004">QM-2611-0004</a> of batch <a href="/batches/QM-2611">QM-2611</a>`, `(<a href="/">at the bench</a>)`,
		`<a href="/necks/QM-2612-0001">QM-2612-0001</a> of batch <a href="/batches/QM-2612">QM-2612</a>`, "Parked: 1 neck", "attempt 1, 1 of 57 points, settling, 20 min")
	if strings.Contains(page, "All of them") || strings.Count(page, "at the bench</a>)") != 4 {
		t.Error("the page lists what is not, or leads to the bench for a neck whose batch is not on it")
	}
	neck := webtest.Must[batch.Neck](s)(s.Rec.Neck(t.Context(), "QM-2611-0004"))
	if err := recordtest.Clear(s.Rec, "Tove Aske", neck.ID, "measured on the granite"); err != nil {
		t.Fatal(err)
	}
	if page = s.Get("/alarms", http.StatusOK); !strings.Contains(page, "Called back: 4 necks are in doubt") || strings.Contains(page, "QM-2611-0004") {
		t.Error("a neck that was cleared is still called back")
	}
}

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
