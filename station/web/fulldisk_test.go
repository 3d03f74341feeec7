package web

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/station/web/webtest"
)

// fullDisk is a record that can be read and not written, as on a disk that is full.
type fullDisk struct{ *record.DB }

// full is what the record says then.
func full(what string) error { return fmt.Errorf("%s: %w", what, record.ErrDiskFull) }

func (fullDisk) AddPerson(context.Context, string, string, batch.Role) (batch.Person, error) {
	return batch.Person{}, full("person")
}
func (fullDisk) SetBadge(context.Context, string, string, string) error         { return full("badge") }
func (fullDisk) AcknowledgeAlarm(context.Context, string, string, string) error { return full("alarm") }
func (fullDisk) OpenBatch(context.Context, string, batch.Batch, []string) (batch.Batch, error) {
	return batch.Batch{}, full("batch")
}
func (fullDisk) FreezeBase(context.Context, string, string, int, int, string) error {
	return full("base")
}
func (fullDisk) AddNecks(context.Context, string, string, []string) ([]batch.Neck, error) {
	return nil, full("necks")
}
func (fullDisk) CloseBatch(context.Context, string, string) error { return full("batch") }
func (fullDisk) DrawOutgoing(context.Context, batch.OutgoingAudit) (batch.OutgoingAudit, error) {
	return batch.OutgoingAudit{}, full("audit")
}
func (fullDisk) AppendOutgoingFindings(context.Context, ...batch.OutgoingFinding) ([]batch.OutgoingFinding, error) {
	return nil, full("findings")
}
func (fullDisk) SignOutgoing(context.Context, string, string, bool, bool, string) (batch.OutgoingAudit, error) {
	return batch.OutgoingAudit{}, full("audit")
}
func (fullDisk) GiveUpOutgoing(context.Context, string, string, string) (batch.OutgoingAudit, error) {
	return batch.OutgoingAudit{}, full("audit")
}
func (fullDisk) ReleaseLot(context.Context, string, string, string) (batch.OutgoingAudit, error) {
	return batch.OutgoingAudit{}, full("audit")
}
func (fullDisk) ClearDoubts(context.Context, string, string, []batch.NeckDoubts) error {
	return full("doubt")
}
func (fullDisk) AddSpec(context.Context, string, string, string, []byte) (batch.SpecRevision, error) {
	return batch.SpecRevision{}, full("specification")
}
func (fullDisk) SaveGauge(context.Context, string, batch.Gauge) (batch.Gauge, error) {
	return batch.Gauge{}, full("gauge")
}
func (fullDisk) AddNote(context.Context, string, string) (batch.ShiftNote, error) {
	return batch.ShiftNote{}, full("note")
}
func (fullDisk) RetireGauge(context.Context, string, string) error { return full("gauge") }
func (fullDisk) AddCertificate(context.Context, string, batch.Certificate, []byte) (batch.Certificate, error) {
	return batch.Certificate{}, full("certificate")
}
func (fullDisk) StartStudy(context.Context, string, string, batch.StudyPlan) (batch.GaugeStudy, error) {
	return batch.GaugeStudy{}, full("study")
}
func (fullDisk) EndStudy(context.Context, string, string, batch.StudyState, string) error {
	return full("study")
}
func (fullDisk) UseStudy(context.Context, string, string, float64) error { return full("study") }
func (fullDisk) AddInstrumentNote(context.Context, string, batch.InstrumentNote) error {
	return full("note")
}
func (fullDisk) Promise(context.Context, string, batch.Promise) error        { return full("promise") }
func (fullDisk) EndPromise(context.Context, string, string, string) error    { return full("promise") }
func (fullDisk) FitStrings(context.Context, string, batch.StringSet) error   { return full("strings") }
func (fullDisk) SetOwner(context.Context, string, string, batch.Owner) error { return full("owner") }
func (fullDisk) EnterInstrument(context.Context, string, batch.Instrument) error {
	return full("instrument")
}
func (fullDisk) HidePhotograph(context.Context, string, string, string) error {
	return full("photograph")
}

// TestFullDiskLosesNothingTyped sends every form while the disk is full: what was typed is not called wrong, comes back to be
// sent again under a sentence that says that nothing was recorded, and the log tells it.
func TestFullDiskLosesNothingTyped(t *testing.T) {
	s := openShop(t).fill()
	ctx := t.Context()
	webtest.Must[bool](s)(s.Rec.RaiseAlarm(ctx, batch.Alarm{Kind: batch.DriftAlarm, Subject: "drift/x", GaugeID: s.Gauge.ID, Words: "The gauge drifts."}))
	alarm := webtest.Must[[]batch.Alarm](s)(s.Rec.OpenAlarms(ctx))[0]
	s.Passed("QM-2611-0004", "QM-2611-0005")
	plan := batch.StudyPlan{Kind: batch.TypeOneStudy, About: "steel block", Appraisers: []string{"Mara Quill"}, Trials: 25, References: []float64{1}, ToleranceMM: 0.1}
	study := webtest.Must[batch.GaugeStudy](s)(s.Rec.StartStudy(ctx, "Tove Aske", s.Gauge.ID, plan))
	done := webtest.Must[batch.GaugeStudy](s)(s.Rec.StartStudy(ctx, "Tove Aske", s.Gauge.ID, plan))
	for i, step := range webtest.Must[[]batch.StudyStep](s)(plan.Steps()) {
		webtest.Must[batch.StudyReading](s)(s.Rec.AppendStudyReading(ctx, batch.StudyReading{StudyID: done.ID, By: step.Appraiser, Part: step.Part, Appraiser: step.Appraiser, Trial: step.Trial, ReferenceMM: 1, ValueMM: 1 + 0.001*float64(i%3)}))
	}
	if err := s.Rec.EndStudy(ctx, "Tove Aske", done.ID, batch.StudyFinished, ""); err != nil {
		t.Fatal(err)
	}
	h, err := New(Options{Bench: shopBench{shop: s}, Record: fullDisk{s.Rec}, Lines: noLines{}})
	if err != nil {
		t.Fatal(err)
	}
	s.Handler = h
	var log bytes.Buffer
	was := slog.Default()
	slog.SetDefault(slog.New(slog.NewTextHandler(&log, nil)))
	defer slog.SetDefault(was)

	by := func(pairs ...string) url.Values {
		v := url.Values{"by": {"Tove Aske"}}
		for i := 0; i < len(pairs); i += 2 {
			v.Set(pairs[i], pairs[i+1])
		}
		return v
	}
	gauge := "/gauges/" + s.Gauge.ID
	entry := by("name", "height gauge", "measures", "action", "decoder", s.Gauge.Decoder, "capture", "key", "sense", "1", "resolution", "0.01", "zero_limit", "0.02", "path", "/dev/ttyS0", "u_repeatability", "0.004", "u_reason", "a data sheet")
	text := strings.Replace(webtest.SpecText, `revision = "B"`, `revision = "C"`, 1)
	try := func(path string, typed url.Values, kept string) {
		t.Helper()
		log.Reset()
		page := s.Post(path, typed, http.StatusInsufficientStorage)
		webtest.Wants(t, page, "Nothing was recorded.", "isk is full", kept)
		if strings.Contains(page, "<h1>Not done</h1>") {
			t.Errorf("%s: the error page loses what was typed", path)
		}
		if !strings.Contains(log.String(), "level=ERROR") || !strings.Contains(log.String(), path) {
			t.Errorf("%s is not logged: %q", path, log.String())
		}
		if t.Failed() {
			t.Fatalf("%s %v", path, typed)
		}
	}
	for _, c := range []struct {
		path  string
		typed url.Values
		kept  string
	}{
		{"/people", by("name", "Ines Vael", "role", "inspector"), `value="Ines Vael"`},
		{"/handover", by("text", "the flat is dusty"), `value="the flat is dusty"`},
		{"/people/badge", by("person", "Tove Aske", "badge", "TA-1"), `value="TA-1"`},
		{"/alarms/" + alarm.ID + "/acknowledge", by("note", "a worn tip"), `value="a worn tip"`},
		{"/batches", by("number", "QM-2614", "spec", s.Spec.ID, "planned", "2", "serials", "QM-2614-0001..QM-2614-0002", "note", "for the fair"), `value="for the fair"`},
		{"/batches/QM-2611/base", by("first", "2", "last", "4", "reason", "after the saw was set"), `value="after the saw was set"`},
		{"/batches/QM-2611/necks", by("serials", "QM-2611-0031"), "QM-2611-0031</textarea>"},
		{"/batches/QM-2611/close", by(), `value="Tove Aske" selected`},
		{"/specs", by("text", text, "reason", "the customer wants it so"), `revision = &#34;C&#34;`},
		{"/specs", by("text", text, "reason", "the customer wants it so"), `value="the customer wants it so"`},
		{"/gauges", entry, `value="a data sheet"`},
		{gauge, entry, `value="a data sheet"`},
		{gauge + "/retire", by("name", "half a new name"), `value="half a new name"`},
		{gauge + "/certificates", url.Values{"cert_number": {"QL-9"}, "cert_laboratory": {"Quillmere gauge room"}, "cert_issued": {"2026-01-10"}, "cert_due": {"2027-01-09"}, "cert_by": {"Tove Aske"}, "by": {"Tove Aske"}}, `value="QL-9"`},
		{gauge + "/studies", by("kind", "crossed", "about", "steel block 7", "appraisers", "Mara Quill", "trials", "2", "tolerance", "0.16", "parts", "P1..P5"), `value="steel block 7"`},
		{"/studies/" + study.ID + "/give-up", by("reason", "the block was lost"), `value="the block was lost"`},
		{"/studies/" + done.ID + "/use", by(), `value="Tove Aske" selected`},
	} {
		try(c.path, c.typed, c.kept)
	}

	// An audit from its draw to what was done with the lot that it rejected.
	try("/batches/QM-2611/audit", by("aql", "1", "level", "II", "severity", "normal"), `value="Tove Aske" selected`)
	audit := webtest.Must[batch.OutgoingAudit](s)(s.Rec.DrawOutgoing(ctx, batch.OutgoingAudit{By: "Tove Aske", BatchID: s.Batch.ID, AQL: 1, Level: "II", Severity: "normal"}))
	at, neck := "/audits/"+audit.ID, audit.Necks[0].NeckID
	try(at+"/findings", by("found-"+neck, "nonconforming", "note-"+neck, "buzz at fret 3"), `value="buzz at fret 3"`)
	try(at+"/give-up", by("reason", "the wrong lot"), `value="the wrong lot"`)
	for _, n := range audit.Necks {
		webtest.Must[[]batch.OutgoingFinding](s)(s.Rec.AppendOutgoingFindings(ctx, batch.OutgoingFinding{AuditID: audit.ID, NeckID: n.NeckID, By: "Mara Quill", Note: "buzz at fret 3"}))
	}
	try(at+"/sign", by("note", "second shift"), `value="second shift"`)
	webtest.Must[batch.OutgoingAudit](s)(s.Rec.SignOutgoing(ctx, "Tove Aske", audit.ID, false, false, ""))
	try(at+"/release", by("done", "two sorted out"), `value="two sorted out"`)

	// An instrument's photograph.
	webtest.Must[batch.Visit](s)(s.Rec.OpenVisit(ctx, "Tove Aske", record.NewVisit{Serial: "2026-007", Spec: s.Spec.Spec}))
	if err := s.Rec.AddPhotographs(ctx, "Tove Aske", "2026-007", []batch.Photograph{{Pin: "fret 7", Digest: strings.Repeat("0", 64)}}); err != nil {
		t.Fatal(err)
	}
	photo := webtest.Must[[]batch.Photograph](s)(s.Rec.Photographs(ctx, "2026-007"))[0]
	try("/instruments/2026-007/photographs/hide", by("photograph", photo.ID, "reason", "blurred"), `value="blurred"`)

	// What is written of an instrument, and a neck that becomes one.
	today := batch.DayOf(time.Now())
	if err := s.Rec.Promise(ctx, "Tove Aske", batch.Promise{Serial: "2026-007", Due: today, What: "glue the seam"}); err != nil {
		t.Fatal(err)
	}
	promise := webtest.Must[[]batch.Promise](s)(s.Rec.Promises(ctx, "2026-007"))[0]
	try("/instruments/2026-007/notes", by("text", "the seam opens"), "the seam opens</textarea>")
	try("/instruments/2026-007/promises", by("what", "order a nut", "due", string(today)), "order a nut</textarea>")
	try("/instruments/2026-007/promises/"+promise.ID, by("how", "kept", "words", "with hide glue"), "with hide glue</textarea>")
	try("/instruments/2026-007/owner", by("owner", "Ida Marsh"), `value="Ida Marsh"`)
	try("/instruments/2026-007/strings", by("set", "", "name", "our own", "diameters", "0.25 0.33 0.43 0.66w 0.91w 1.17w", "fitted", string(today)), `value="our own"`)
	try("/necks/QM-2611-0003/instrument", by("kind", "electric-bolt-on", "maker", "17"), `value="17"`)

	// A neck that a failed check put in doubt.
	webtest.Must[batch.GaugeCheck](s)(s.Rec.AppendGaugeCheck(ctx, batch.GaugeCheck{GaugeID: s.Gauge.ID, By: "Mara Quill", Why: "+0.030 mm on the 1 mm master", After: batch.CheckDue}))
	try("/necks/QM-2611-0003/clear-doubt", by("reason", "measured with the beam", "seal", webtest.Hidden(s.Get("/necks/QM-2611-0003", 200), "seal")), `value="measured with the beam"`)
}
