package necks

import (
	"context"
	"net/http"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/inspect"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

// TestStory tells a neck's past in order: who, with what, on which check and certificate, every verdict, rework, the doubt
// that a failed check brought and how it ended.
func TestStory(t *testing.T) {
	s := shop(t).Fill()
	ctx := context.Background()
	webtest.Must[batch.Certificate](s)(s.Rec.AddCertificate(ctx, "Tove Aske", batch.Certificate{GaugeID: s.Gauge.ID, Number: "QC-204", Laboratory: "Harrow Metrology", Issued: time.Now().AddDate(0, -2, 0), Due: time.Now().AddDate(0, 10, 0), U: 0.002}, nil))
	check := webtest.Must[*batch.GaugeCheck](s)(s.Rec.LatestCheck(ctx, s.Gauge.ID))
	neck := webtest.Must[batch.Neck](s)(s.Rec.Neck(ctx, "QM-2611-0004"))
	in := webtest.Must[batch.Inspection](s)(s.Rec.StartInspection(ctx, batch.Inspection{NeckID: neck.ID, Inspector: "Mara Quill", Station: "bench 1", Climate: inspect.Climate{TemperatureC: new(21.5)}, Posture: "playing"}))
	crown := webtest.Must[batch.Reading](s)(s.Rec.AppendReading(ctx, batch.Reading{InspectionID: in.ID, Point: batch.Point{Kind: batch.Crown, Track: "bass", Fret: 7}, Round: 1, By: "Mara Quill", GaugeID: s.Gauge.ID, CheckID: check.ID, Value: -0.3}))
	webtest.Must[batch.Reading](s)(s.Rec.AppendReading(ctx, batch.Reading{InspectionID: in.ID, Point: crown.Point, Round: 1, By: "Mara Quill", GaugeID: s.Gauge.ID, CheckID: check.ID, Value: -0.31, Supersedes: crown.ID, Reason: "slipped"}))
	res := webtest.PastNeck("QM-2611-0004", time.Now(), 0.5, 1.7, "Mara Quill").Attempts[0].Verdicts[0].Result
	verdict := webtest.Must[batch.Verdict](s)(s.Rec.AppendVerdict(ctx, batch.Verdict{InspectionID: in.ID, Result: res, Disposition: inspect.Rework}))
	before, u := inspect.MeanRelief(res)
	webtest.Must[batch.ReworkAction](s)(s.Rec.AppendRework(ctx, batch.ReworkAction{NeckID: neck.ID, InspectionID: in.ID, By: "Mara Quill", What: "truss rod", Turns: 0.25, Direction: "tighten", PredictedMM: new(0.335), ReliefBefore: before, ReliefBeforeU: u}))
	webtest.Must[batch.Verdict](s)(s.Rec.AppendVerdict(ctx, batch.Verdict{InspectionID: in.ID, Result: verdict.Result, Disposition: inspect.Concession, DecidedBy: "Tove Aske", Reason: "the customer agreed"}))
	webtest.Must[batch.GaugeCheck](s)(s.Rec.AppendGaugeCheck(ctx, batch.GaugeCheck{GaugeID: s.Gauge.ID, By: "Mara Quill", ZeroMM: 0.2, ShiftMM: 0.1, Why: "zero moved by +0.100 mm, more than the 0.010 mm allowed", After: batch.CheckDue}))
	if err := recordtest.Clear(s.Rec, "Tove Aske", neck.ID, "measured on the granite"); err != nil {
		t.Fatal(err)
	}

	page := s.Get("/necks/QM-2611-0004/story", http.StatusOK)
	rows := webtest.RowsOf(t, strings.Replace(page, "<h1>", "<h2>x</h2><h1>", 1), "x")[1:]
	told := make([]string, len(rows))
	for i, r := range rows {
		told[i] = r[1]
	}
	last := -1
	for _, want := range []string{
		"Registered in batch QM-2611, to be judged by QM Bolt 648, revision B.",
		"Attempt 1 began: inspected by Mara Quill at station bench 1, 21.5 °C, neck in playing position.",
		"Measured with the carriage indicator (crown heights: 2).",
		"Verdict of attempt 1: rework.",
		"Mara Quill did rework: truss rod, tighten 1/4 turn, predicted relief 0.335 mm.",
		"Tove Aske decided: concession. Reason: the customer agreed.",
		"In doubt: attempt 1 rests on what may be wrong (crown heights: 1).  The carriage indicator failed its check of ",
		"Tove Aske cleared it of doubt: measured on the granite.",
	} {
		at := -1
		for i, text := range told {
			if strings.Contains(text, want) {
				at = i
			}
		}
		if at <= last {
			t.Errorf("%q stands at %d, after %d\n%s", want, at, last, strings.Join(told, "\n"))
		}
		last = at
	}
	webtest.Wants(t, page, "Check in force: "+check.At.Local().Format("2006-01-02 15:04")+" by Mara Quill, passed: The zero shifted", "QC-204 of Harrow Metrology", "1 reading was in this attempt replaced",
		"it was in doubt and has been cleared")

	file := s.Do(webtest.Request(http.MethodGet, "/necks/QM-2611-0004/story.txt", nil))
	if got := file.Header().Get("Content-Type"); got != "text/plain; charset=utf-8" || file.Code != http.StatusOK {
		t.Errorf("the text file: status %d, type %q", file.Code, got)
	}
	for _, text := range told {
		if first, _, _ := strings.Cut(text, "  "); !strings.Contains(file.Body.String(), first) {
			t.Errorf("the text file lacks %q", first)
		}
	}
	webtest.Wants(t, s.Get("/necks/QM-2611-0004", http.StatusOK), `href="/necks/QM-2611-0004/story"`)
	webtest.Wants(t, s.Get("/necks/QM-2611-0O04/story", http.StatusNotFound), "QM-2611-0004")
}

// TestStoryOfAHostileSerial escapes it, and finds it by its address.
func TestStoryOfAHostileSerial(t *testing.T) {
	s := shop(t).Fill()
	hostile := `"><script>alert(1)</script>`
	webtest.Must[[]batch.Neck](s)(s.Rec.AddNecks(context.Background(), "Tove Aske", s.Batch.ID, []string{hostile}))
	page := s.Get(site.NeckPath(hostile)+"/story", http.StatusOK)
	webtest.Wants(t, page, "&lt;script&gt;alert(1)&lt;/script&gt; has not been inspected yet")
	if strings.Contains(page, "<script>alert") {
		t.Error("the serial number is not escaped")
	}
}

// TestStoryOfAnImportedNeck says that there are no readings and where it came from.
func TestStoryOfAnImportedNeck(t *testing.T) {
	s := shop(t).Fill().Past()
	page := s.Get("/necks/QM-2509-0001/story", http.StatusOK)
	webtest.Wants(t, page, "Taken in from elsewhere by Tove Aske with 200 necks (QM-2509.csv)", "has no readings")
	if strings.Contains(page, "Nothing was measured") {
		t.Error("it says that nothing was measured at an inspection elsewhere")
	}
}

// What was signed about a neck, and about an audit that it was drawn in, is told with who, why and the digest; another audit's is not.
func TestStoryTellsSignatures(t *testing.T) {
	s := shop(t).Fill()
	seal := batch.WithSeals(t.Context(), batch.Seal{By: "Tove Aske", Reason: "as agreed"})
	recordtest.SignsOn(t, s.Rec, "Tove Aske")
	in := webtest.Must[batch.Neck](s)(s.Rec.Neck(t.Context(), "QM-2611-0003"))
	last := webtest.Must[[]batch.Inspection](s)(s.Rec.Inspections(t.Context(), in.ID))
	webtest.Must[batch.Verdict](s)(s.Rec.AppendVerdict(seal, batch.Verdict{InspectionID: last[0].ID, Result: webtest.PastNeck(in.Serial, time.Now(), 0.5, 1.7, "Mara Quill").Attempts[0].Verdicts[0].Result,
		Disposition: inspect.Concession, DecidedBy: "Tove Aske", Reason: "the customer agreed"}))
	a := webtest.Must[batch.OutgoingAudit](s)(s.Rec.DrawOutgoing(t.Context(), batch.OutgoingAudit{By: "Tove Aske", BatchID: s.Batch.ID, AQL: 1, Level: "II", Severity: "normal"}))
	for _, n := range a.Necks {
		webtest.Must[[]batch.OutgoingFinding](s)(s.Rec.AppendOutgoingFindings(t.Context(), batch.OutgoingFinding{By: "Mara Quill", AuditID: a.ID, NeckID: n.NeckID, Conforms: true}))
	}
	webtest.Must[batch.OutgoingAudit](s)(s.Rec.SignOutgoing(seal, "Tove Aske", a.ID, false, false, ""))
	drawn := a.Necks[0].Serial
	concession := webtest.Must[[]batch.Signature](s)(s.Rec.Signatures(t.Context(), "QM-2611-0003, attempt 1"))
	page := s.Get("/necks/QM-2611-0003/story", http.StatusOK)
	webtest.Wants(t, page, ", to grant a concession: as agreed. SHA-256 "+concession[0].Digest)
	webtest.Wants(t, s.Get("/necks/"+drawn+"/story", http.StatusOK), ", to sign an outgoing audit: as agreed. SHA-256 ")
	if page := s.Get("/necks/QM-2611-0009/story", http.StatusOK); strings.Contains(page, "Signed by") {
		t.Error("the story of a neck that nothing was signed about tells of a signature")
	}
}
