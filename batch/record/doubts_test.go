package record

import (
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// carriage enters a gauge with two masters and a good first check.
func (s *shop) carriage() batch.Gauge {
	s.Helper()
	g := must(s.SaveGauge(s.ctx, "Mara Quill", batch.Gauge{ID: "carriage", Name: "carriage indicator", Measures: []batch.Kind{batch.Crown}, Sense: 1,
		Masters: []batch.Master{{NominalMM: 0.25, LimitMM: 0.01}, {NominalMM: 1, LimitMM: 0.01}}}))(s)
	s.check(g.ID, true)
	return g
}

func (s *shop) check(gauge string, good bool) batch.GaugeCheck {
	s.Helper()
	return must(s.AppendGaugeCheck(s.ctx, batch.GaugeCheck{GaugeID: gauge, By: "Ossian Reed", Good: good, Why: "0.030 mm on the 1 mm master", After: batch.CheckShift}))(s)
}

// by is a crown read with a gauge.
func (s *shop) by(gauge string, in batch.Inspection, fret int, value float64) batch.Reading {
	s.Helper()
	r := crown(in, fret, value)
	r.GaugeID = gauge
	return must(s.AppendReading(s.ctx, r))(s)
}

// pass inspects a neck with a gauge at frets 1, 7 and 17.
func (s *shop) pass(gauge, serial string) batch.Inspection {
	s.Helper()
	in := s.start(serial)
	for _, fret := range []int{1, 7, 17} {
		s.by(gauge, in, fret, 0.1)
	}
	s.verdict(in, inspect.Pass, 0.3, 0.3)
	return in
}

func serialsOf(doubts []batch.Doubt) string {
	var all []string
	for _, d := range doubts {
		all = append(all, d.Neck.Serial[len(d.Neck.Serial)-1:])
	}
	return strings.Join(all, "")
}

// A failed check puts in doubt what the gauge measured since its last good one, and nothing else: not what was measured
// before that, with another gauge, or by hand. (Definition; compare ISO 10012:2003, 8.3.3, on what a gauge found faulty
// has measured.)
func TestFailedCheckPutsInspectionsInDoubt(t *testing.T) {
	s := newShop(t, serials(6)...)
	g := s.carriage()
	other := must(s.SaveGauge(s.ctx, "Mara Quill", batch.Gauge{ID: "other", Name: "other", Sense: 1}))(t)
	s.check(other.ID, true)
	s.pass(g.ID, "QM-2611-0001")
	good := s.check(g.ID, true) // clears the first neck for good
	s.pass(g.ID, "QM-2611-0002")
	s.pass(other.ID, "QM-2611-0003")
	s.pass("", "QM-2611-0004")
	parked := s.start("QM-2611-0005")
	s.by(g.ID, parked, 1, 0)
	failed := s.check(g.ID, false)
	if failed.Doubted != 2 {
		t.Errorf("the check put %d inspections in doubt, want 2", failed.Doubted)
	}
	all := must(s.Doubts(s.ctx, batch.DoubtFilter{GaugeID: g.ID}))(t)
	if got := serialsOf(all); got != "25" {
		t.Fatalf("in doubt: necks %s, want 25", got)
	}
	d := all[0]
	if d.Cause.Kind != batch.FailedCheck || d.Cause.ID != failed.ID || !d.Cause.From.Equal(good.At) || !d.Cause.To.Equal(failed.At) || d.Disposition != inspect.Pass || d.GaugeName != "carriage indicator" || d.Cause.Why == "" {
		t.Errorf("the doubt: %+v", d)
	}
	if len(d.Points) != 3 || len(d.RestOn) != 1 || d.RestOn[0].Name != "relief" || d.RestOn[0].Track != "bass" {
		t.Errorf("points %v, resting on them %v; want 3 points and the relief on the bass side alone", d.Points, d.RestOn)
	}
	c := must(s.Counts(s.ctx, s.batch.ID))(t)
	if c.InDoubt != 2 || c.Withheld != 1 || c.Passed != 4 || c.MayShip() != 3 {
		t.Errorf("counts %+v, want 2 in doubt and 3 of 4 passed that may ship", c)
	}
	var doubted []string
	for _, n := range must(s.Necks(s.ctx, s.batch.ID))(t) {
		if n.InDoubt {
			doubted = append(doubted, n.Serial[len(n.Serial)-1:])
		}
	}
	if !slices.Equal(doubted, []string{"2", "5"}) {
		t.Errorf("necks in doubt: %v", doubted)
	}
	if again := s.check(g.ID, false); again.Doubted != 0 {
		t.Errorf("a second failed check doubts %d inspections: nothing was measured since the first", again.Doubted)
	}
	if ids := must(s.DoubtedReadings(s.ctx, parked.ID))(t); len(ids) != 1 {
		t.Errorf("readings in doubt of the parked inspection: %v", ids)
	}
}

// A doubt ends when the reading is replaced in the same inspection, when a later attempt is judged, or by a named person
// with a reason. Its row stays.
func TestDoubtIsCleared(t *testing.T) {
	s := newShop(t, serials(4)...)
	g := s.carriage()
	s.pass(g.ID, "QM-2611-0001")
	s.pass(g.ID, "QM-2611-0002")
	in := s.start("QM-2611-0003")
	r := s.by(g.ID, in, 1, 0)
	s.ok(s.SetInspectionState(s.ctx, "Ossian Reed", in.ID, batch.Parked, "settles"))
	s.pass(g.ID, "QM-2611-0004")
	s.check(g.ID, false)
	s.check(g.ID, true)

	wantErr(t, s.clear("Mara Quill", s.neck("QM-2611-0001").ID, " "), ErrInput, "a reason")
	wantErr(t, s.clear("", s.neck("QM-2611-0001").ID, "x"), ErrInput, "a person's name")
	s.ok(s.clear("Mara Quill", s.neck("QM-2611-0001").ID, "measured with the beam, 0.29 mm"))
	wantErr(t, s.clear("Mara Quill", s.neck("QM-2611-0001").ID, "again"), ErrState, "in no doubt")
	wantErr(t, s.clear("Mara Quill", "nobody", "x"), ErrUnknown)
	s.pass(g.ID, "QM-2611-0002") // its second attempt, after a good check
	r.Supersedes, r.ID = r.ID, ""
	must(s.AppendReading(s.ctx, r))(t)

	all := must(s.Doubts(s.ctx, batch.DoubtFilter{BatchID: s.batch.ID}))(t)
	if got := serialsOf(all); got != "1234" {
		t.Fatalf("the rows of cleared doubts are gone: %s", got)
	}
	for i, want := range []batch.Clearing{batch.ClearedPerson, batch.ClearedAttempt, batch.ClearedMeasured, ""} {
		if all[i].Cleared != want {
			t.Errorf("%s: cleared %q, want %q", all[i].Neck.Serial, all[i].Cleared, want)
		}
	}
	if all[0].ClearedBy != "Mara Quill" || all[0].Reason != "measured with the beam, 0.29 mm" || all[0].ClearedAt.IsZero() {
		t.Errorf("cleared by a person: %+v", all[0])
	}
	if got := serialsOf(must(s.Doubts(s.ctx, batch.DoubtFilter{Standing: true}))(t)); got != "4" {
		t.Errorf("standing: %s, want 4", got)
	}
	if c := must(s.Counts(s.ctx, s.batch.ID))(t); c.InDoubt != 1 || c.MayShip() != 2 {
		t.Errorf("counts %+v", c)
	}

	// A neck that was cleared comes into doubt again by another failed check.
	s.check(g.ID, false)
	if got := serialsOf(must(s.Doubts(s.ctx, batch.DoubtFilter{Standing: true}))(t)); got != "432" {
		t.Errorf("standing after another failed check: %s, want 432", got)
	}
	s.ok(s.VerifyAudit(s.ctx))
}

// What happened to a gauge is answered by its next check, whatever the clock did meanwhile.
func TestEventsUntilTheNextCheck(t *testing.T) {
	s := newShop(t)
	g := s.carriage()
	since := func() string {
		var all []string
		for _, e := range must(s.EventsSinceCheck(s.ctx, g.ID))(t) {
			all = append(all, e.What)
		}
		return strings.Join(all, ", ")
	}
	if since() != "" {
		t.Errorf("after a check: %q", since())
	}
	must(s.AppendGaugeEvent(s.ctx, batch.GaugeEvent{GaugeID: g.ID, What: batch.CheckNotWatched, Detail: "was not watched", At: time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC)}))(t)
	if since() != batch.CheckNotWatched {
		t.Errorf("an event with an early clock: %q", since())
	}
	must(s.AppendGaugeEvent(s.ctx, batch.GaugeEvent{GaugeID: g.ID, What: batch.CheckReconnect, Detail: "was unplugged"}))(t)
	if since() != batch.CheckNotWatched+", "+batch.CheckReconnect {
		t.Errorf("after an unplugging: %q", since())
	}
	s.check(g.ID, true)
	if since() != "" || len(must(s.GaugeEvents(s.ctx, g.ID))(t)) != 2 {
		t.Errorf("after the next check: %q", since())
	}
	_, err := s.AppendGaugeEvent(s.ctx, batch.GaugeEvent{GaugeID: g.ID, What: "mood"})
	wantErr(t, err, ErrInput, "mood")
	_, err = s.AppendGaugeEvent(s.ctx, batch.GaugeEvent{GaugeID: "nobody", What: batch.CheckDrop})
	wantErr(t, err, ErrUnknown)
}

func TestLastSeen(t *testing.T) {
	s := newShop(t, serials(1)...)
	before := must(s.LastSeen(s.ctx))(t)
	s.ok(s.Stopped(s.ctx))
	stopped := must(s.LastSeen(s.ctx))(t)
	in := s.start("QM-2611-0001")
	begun := must(s.LastSeen(s.ctx))(t)
	read := s.read(in, 1, 0)
	if last := must(s.LastSeen(s.ctx))(t); before.IsZero() || !stopped.After(before) || !begun.After(stopped) || !last.Equal(read.At) {
		t.Errorf("last seen: %v, %v, %v, %v; want each write to count", before, stopped, begun, last)
	}
}

func TestCertificates(t *testing.T) {
	s := newShop(t)
	g := s.carriage()
	day := func(y int) time.Time { return time.Date(y, 3, 1, 0, 0, 0, 0, time.UTC) }
	c := batch.Certificate{GaugeID: g.ID, Number: "QC-118", Laboratory: "Quillmere gauge room", Issued: day(2026), Due: day(2027), U: 0.0012,
		Correction: []batch.CalibrationPoint{{IndicatedMM: 0, ErrorMM: 0}, {IndicatedMM: 1, ErrorMM: 0.002}}, FileName: "qc-118.pdf"}
	file := []byte("%PDF-1.7 a certificate")
	kept := must(s.AddCertificate(s.ctx, "Mara Quill", c, file))(t)
	// SHA-256 of the bytes above, by sha256sum of GNU coreutils.
	if want := "2e3ea837344a4bd8d2b9a452a59e7dc71cef315e207597b5b0c3eeb1af323366"; kept.SHA256 != want || kept.Size != len(file) || kept.By != "Mara Quill" {
		t.Errorf("kept %+v, want SHA-256 %s", kept, want)
	}
	now := must(s.Gauges(s.ctx))(t)[0]
	if now.Certificate != "QC-118" || !now.CertificateDue.Equal(day(2027)) || now.CalibrationU != 0.0012 || len(now.Calibration) != 2 || len(now.Masters) != 2 {
		t.Errorf("the gauge: %+v", now)
	}
	if overdue := now.CertificateOverdue(day(2027).Add(23 * time.Hour)); overdue {
		t.Error("overdue on the day it is due")
	}
	if !now.CertificateOverdue(day(2027).Add(24 * time.Hour)) {
		t.Error("not overdue on the day after")
	}
	c.Number, c.Due, c.FileName = "QC-131", day(2028), ""
	must(s.AddCertificate(s.ctx, "Mara Quill", c, nil))(t)
	must(s.AddCertificate(s.ctx, "Mara Quill", c, nil))(t) // the gauge's entry is as it was: the certificate is told of all the same
	var told []string
	for _, e := range must(s.Audit(s.ctx, 100))(t) {
		if e.What == "certificate kept" {
			told = append(told, e.About+": "+e.Detail)
		}
	}
	if want := "carriage indicator: 0 inspections in doubt; certificate QC-131 of 2026-03-01"; len(told) != 3 || told[0] != want {
		t.Errorf("the trail tells of certificates: %q, want three, %q", told, want)
	}
	all := must(s.Certificates(s.ctx, g.ID))(t)
	if len(all) != 3 || all[0].Number != "QC-118" || all[1].Number != "QC-131" || all[1].Size != 0 {
		t.Errorf("history: %+v", all)
	}
	got, text, err := s.CertificateFile(s.ctx, kept.ID)
	if err != nil || string(text) != string(file) || got.FileName != "qc-118.pdf" {
		t.Errorf("the file: %q, %+v, %v", text, got, err)
	}
	_, err = s.AddCertificate(s.ctx, "x", c, make([]byte, batch.LargestCertificate+1))
	wantErr(t, err, ErrInput, "20971521 bytes")
	c.Due = c.Issued
	_, err = s.AddCertificate(s.ctx, "x", c, nil)
	wantErr(t, err, ErrInput, "due: found 2026-03-01")
	c.Due, c.GaugeID = day(2028), "nobody"
	_, err = s.AddCertificate(s.ctx, "x", c, nil)
	wantErr(t, err, ErrUnknown)
	_, _, err = s.CertificateFile(s.ctx, "nobody")
	wantErr(t, err, ErrUnknown)
}

// A pass of a carriage is kept beside its crowns: once each crown is replaced nothing is in doubt any more, though the pass
// itself stays.
func TestDoubtIsAboutCrownsNotThePass(t *testing.T) {
	s := newShop(t, serials(2)...)
	g := s.carriage()
	in := s.start("QM-2611-0001")
	pass := crown(in, 0, 1)
	pass.Point.Kind, pass.GaugeID = batch.Sweep, g.ID
	must(s.AppendReading(s.ctx, pass))(t)
	r := s.by(g.ID, in, 1, 0.1)
	if c := s.check(g.ID, false); c.Doubted != 1 {
		t.Fatalf("%d in doubt, want 1", c.Doubted)
	}
	if ids := must(s.DoubtedReadings(s.ctx, in.ID))(t); !slices.Equal(ids, []string{r.ID}) {
		t.Errorf("readings in doubt: %v", ids)
	}
	s.check(g.ID, true)
	r.Supersedes, r.ID, r.At = r.ID, "", time.Time{}
	again := must(s.AppendReading(s.ctx, r))(t)
	all := must(s.Doubts(s.ctx, batch.DoubtFilter{BatchID: s.batch.ID}))(t)
	if len(all) != 1 || all[0].Cleared != batch.ClearedMeasured || len(all[0].Points) != 0 || !all[0].ClearedAt.Equal(again.At) || !again.At.After(all[0].Cause.At) {
		t.Errorf("%+v; want it ended by the reading of %s", all, again.At)
	}
	if c := must(s.Counts(s.ctx, s.batch.ID))(t); c.InDoubt != 0 {
		t.Errorf("%d necks in doubt", c.InDoubt)
	}
}

// The reason of a typed figure stands in the chain where it was typed, and not where a certificate brings others.
func TestReasonStandsWhereItWasTyped(t *testing.T) {
	s := newShop(t)
	g := must(s.SaveGauge(s.ctx, "Mara Quill", batch.Gauge{ID: "g", Name: "g", Sense: 1, ResolutionMM: 0.01, CalibrationU: 0.002, UReason: "data sheet"}))(t)
	must(s.AddCertificate(s.ctx, "Mara Quill", batch.Certificate{GaugeID: g.ID, Number: "1", Issued: clock()(), Due: clock()().AddDate(1, 0, 0), U: 0.001}, nil))(t)
	told := 0
	for _, e := range must(s.Audit(s.ctx, 50))(t) {
		if strings.Contains(e.Detail, "data sheet") {
			told++
			if e.What != "gauge saved" {
				t.Errorf("%q tells the reason: %s", e.What, e.Detail)
			}
		}
	}
	if told != 1 {
		t.Errorf("the reason is told %d times", told)
	}
}
