package record_test

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/anchor"
	"sagitta/batch/record"
	"sagitta/batch/record/recordtest"
	"sagitta/batch/sampling"
	"sagitta/batch/tell"
	"sagitta/inspect"
)

// told is a shop in which things are done and then read in the trail.
type told struct {
	*recordtest.Shop
	seen map[string]bool // kinds of entries of which the sentence was held against what was done
}

// says holds the newest entry of a kind against what was done.
func (s *told) says(what, want string) {
	s.Helper()
	s.seen[what] = true
	for e, err := range s.EachEntry(s.Context(), batch.TrailFilter{}) {
		if err != nil {
			s.Fatal(err)
		}
		if e.What == what {
			if got := (tell.Words{}).Entry(e); got != want {
				s.Errorf("%s:\n\t%s\nwant\n\t%s", what, got, want)
			}
			return
		}
	}
	s.Errorf("the trail has no entry %q", what)
}

func (s *told) ok(err error) {
	s.Helper()
	if err != nil {
		s.Fatal(err)
	}
}

// TestTrailTellsWhatWasDone does everything that leaves an entry in the trail, and reads it there.
func TestTrailTellsWhatWasDone(t *testing.T) {
	serials := recordtest.Serials(30)
	s := &told{recordtest.New(t, serials...), map[string]bool{}}
	s.inspecting(serials)
	s.gauges(serials)
	s.batches()
	s.audits()
	s.lives()
	s.people()
	s.signed()
	s.records()
	for _, h := range batch.Happenings {
		if !s.seen[h.What] {
			t.Errorf("nothing in this test writes an entry %q and reads its sentence", h.What)
		}
	}
}

func (s *told) inspecting(serials []string) {
	ctx := s.Context()
	in := s.Start(serials[0])
	s.Verdict(in, inspect.Rework, 0.5)
	s.says("verdict", "The verdict on QM-2611-0001, attempt 1, by Ossian Reed: rework.")
	neck := recordtest.Must(s.Neck(ctx, serials[0]))(s)
	done := recordtest.Must(s.AppendRework(ctx, batch.ReworkAction{NeckID: neck.ID, InspectionID: in.ID, By: recordtest.Repairer, What: "truss rod", Turns: 0.25, Direction: "tighten", Note: "stiff nut"}))(s)
	s.says("rework", "Tove Aske did rework on QM-2611-0001: truss rod; stiff nut.")
	recordtest.Must(s.AppendRework(ctx, batch.ReworkAction{NeckID: neck.ID, By: recordtest.Repairer, What: "truss rod", Turns: 0.25, Direction: "tighten", Withdrawn: true, Supersedes: done.ID}))(s)
	s.says("rework taken back", "Tove Aske took back a rework step on QM-2611-0001: truss rod.")
	in = s.Start(serials[0])
	s.ok(s.MeasureWhole(ctx, recordtest.Inspector, in.ID))
	s.says("inspection measured whole", "Ossian Reed had everything measured in attempt 2 at QM-2611-0001: nothing is carried over from an attempt before.")
	s.ok(s.SetInspectionState(ctx, recordtest.Inspector, in.ID, batch.Parked, "it settles"))
	s.says("inspection parked", "Ossian Reed parked attempt 2 at QM-2611-0001: it settles.")
	s.ok(s.SetInspectionState(ctx, recordtest.Repairer, in.ID, batch.Open, ""))
	s.says("inspection open", "Tove Aske took up attempt 2 at QM-2611-0001 again.")
	s.ok(s.SetInspectionState(ctx, recordtest.Inspector, in.ID, batch.Abandoned, "the nut came off"))
	s.says("inspection "+string(batch.Abandoned), "Ossian Reed gave up attempt 2 at QM-2611-0001: the nut came off.")
	in = s.Start(serials[0])
	recordtest.Must(s.AppendVerdict(ctx, batch.Verdict{InspectionID: in.ID, Result: recordtest.Result(serials[0], inspect.Rework, 0.5), Disposition: inspect.Scrap, DecidedBy: recordtest.Manager, Reason: "cracked heel"}))(s)
	s.says("verdict", "The verdict on QM-2611-0001, attempt 3, by Mara Quill: scrap, cracked heel.")
}

func (s *told) gauges(serials []string) {
	ctx := s.Context()
	g := s.Gauge
	g.ZeroLimitMM = 0.02
	g = recordtest.Must(s.SaveGauge(ctx, recordtest.Manager, g))(s)
	s.says("gauge saved", "Mara Quill saved the page of the gauge carriage indicator.")
	s.Check(true)
	s.says("gauge check", "Mara Quill checked the gauge carriage indicator: passed: zero 0 mm, shift 0 mm; zero moved by +0.030 mm.")
	for _, serial := range serials[1:3] {
		in := s.Start(serial)
		s.Read(in, 1, 0.02)
		s.Verdict(in, inspect.Pass, 0.3)
	}
	happened := func(what, by, detail, want string) {
		s.Helper()
		recordtest.Must(s.AppendGaugeEvent(ctx, batch.GaugeEvent{GaugeID: g.ID, By: by, What: what, Detail: detail}))(s)
		s.says("gauge "+what, want)
	}
	happened(batch.CheckReconnect, "", "was unplugged", "The gauge carriage indicator was unplugged.")
	happened(batch.CheckPowerUp, recordtest.Inspector, "was found without power at 09:12", "Ossian Reed reported: the gauge carriage indicator was found without power at 09:12.")
	happened(batch.CheckBattery, "", "reported a low battery before 09:12", "The gauge carriage indicator reported a low battery before 09:12.")
	happened(batch.CheckSilence, "", "was silent from 09:10 to 09:12, so that it may have been switched off,", "The gauge carriage indicator was silent from 09:10 to 09:12, so that it may have been switched off.")
	happened(batch.CheckEntry, "", "has another sense", "The gauge carriage indicator has another sense.")
	happened(batch.CheckNotWatched, "", "could not be watched", "The gauge carriage indicator could not be watched.")
	happened(batch.CheckDrop, recordtest.Inspector, "fell or was knocked at 09:12", "Ossian Reed reported: the gauge carriage indicator fell or was knocked at 09:12; 2 inspections in doubt until its next check.")
	s.Check(false)
	s.says("gauge check", "Mara Quill checked the gauge carriage indicator: failed, inspections in doubt: 2: zero 0 mm, shift 0 mm; zero moved by +0.030 mm.")
	s.cleared(ctx, serials[1])
	s.says("doubt cleared", "Mara Quill cleared QM-2611-0002 of doubt: measured by hand.")
	over := batch.DoubtRange{GaugeID: g.ID, GaugeName: g.Name, BatchID: s.Batch.ID, Batch: recordtest.Number}
	recordtest.Must(s.CastDoubt(ctx, recordtest.Manager, "the flat was scratched", over, recordtest.Must(s.DoubtReach(ctx, over))(s)))(s)
	s.says("doubt cast", "Mara Quill cast doubt on what was measured: gauge carriage indicator, batch QM-2611: 2 inspections in doubt; the flat was scratched.")
	issued := time.Date(2026, 11, 2, 0, 0, 0, 0, time.UTC)
	recordtest.Must(s.AddCertificate(ctx, recordtest.Manager, batch.Certificate{GaugeID: g.ID, Number: "QC-118", Laboratory: "Quillmere gauge room", Issued: issued, Due: issued.AddDate(1, 0, 0), U: 0.0012}, nil))(s)
	s.says("certificate kept", "Mara Quill entered a certificate of the gauge carriage indicator: 0 inspections in doubt; certificate QC-118 of 2026-11-02.")
	s.says("gauge calibrated", "Mara Quill gave the gauge carriage indicator the figures of its certificate.")
	study := func() batch.GaugeStudy {
		return recordtest.Must(s.StartStudy(ctx, recordtest.Manager, g.ID, batch.StudyPlan{Kind: batch.CrossedStudy, About: "crown of fret 7", Parts: []string{"1", "2"}, Appraisers: []string{"A", "B"}, Trials: 2, Seed: 7, ToleranceMM: 0.16}))(s)
	}
	st := study()
	s.says("gauge study begun", "Mara Quill planned a study of the gauge carriage indicator.")
	s.ok(s.EndStudy(ctx, recordtest.Manager, st.ID, batch.StudyGivenUp, "the part was lost"))
	s.says("gauge study given up", "Mara Quill gave up a study of the gauge carriage indicator: the part was lost.")
	st = study()
	s.ok(s.EndStudy(ctx, recordtest.Inspector, st.ID, batch.StudyFinished, ""))
	s.says("gauge study finished", "Ossian Reed finished a study of the gauge carriage indicator.")
	s.ok(s.UseStudy(ctx, recordtest.Manager, st.ID, 0.004))
	s.says("gauge study used", "Mara Quill had the result of a study of the gauge carriage indicator used: repeatability 0.004 mm.")
	s.says("gauge's repeatability from its study", "Mara Quill gave the gauge carriage indicator the repeatability of its study.")
	old := recordtest.Must(s.SaveGauge(ctx, recordtest.Manager, batch.Gauge{Name: "old beam", Sense: 1, Measures: []batch.Kind{batch.BeamReading}, FeetMM: [2]float64{36.2, 403}, PlungerMM: 214}))(s)
	s.ok(s.RetireGauge(ctx, recordtest.Manager, old.ID))
	s.says("gauge retired", "Mara Quill retired the gauge old beam.")
	for _, a := range []struct {
		alarm       batch.Alarm
		raised, ack string
	}{
		{batch.Alarm{Kind: batch.DriftAlarm, Subject: "drift/" + g.ID, GaugeID: g.ID, Words: "its zero drifts"}, "The station raised an alarm about the gauge carriage indicator: its zero drifts.", "Mara Quill acknowledged an alarm about the gauge carriage indicator: cleaned."},
		{batch.Alarm{Kind: batch.YieldAlarm, Subject: "yield/" + s.Batch.ID, BatchID: s.Batch.ID, Words: "first-pass yield is below its plan"}, "The station raised an alarm about batch QM-2611: first-pass yield is below its plan.", "Mara Quill acknowledged an alarm about batch QM-2611: cleaned."},
	} {
		recordtest.Must(s.RaiseAlarm(ctx, a.alarm))(s)
		s.says("alarm", a.raised)
		s.ok(s.AcknowledgeAlarm(ctx, recordtest.Manager, recordtest.Must(s.OpenAlarms(ctx))(s)[0].ID, "cleaned"))
		s.says("alarm acknowledged", a.ack)
	}
}

func (s *told) batches() {
	ctx := s.Context()
	s.says("batch opened", "Mara Quill opened batch QM-2611: QM Bolt 648, revision B; 30 necks planned.")
	s.says("necks registered", "Mara Quill registered necks of batch QM-2611: 30, QM-2611-0001 to QM-2611-0030.")
	s.ok(s.FreezeBase(ctx, recordtest.Manager, s.Batch.ID, 1, 25, "the process was steady"))
	s.says("control limits frozen", "Mara Quill froze the control limits of batch QM-2611: from points 1 to 25; the process was steady.")
	recordtest.Must(s.AddNote(ctx, recordtest.Inspector, "the beam's foot is worn"))(s)
	s.says("note for the next shift", "Ossian Reed left a note for the next shift: the beam's foot is worn.")
	revision := func(text, reason string) batch.SpecRevision {
		return recordtest.Must(s.AddSpec(ctx, recordtest.Manager, reason, "bolt.toml", []byte(strings.Replace(recordtest.Spec, `"B"`, `"C"`, 1)+text)))(s)
	}
	revision("", "thicker strings")
	s.says("specification added", "Mara Quill released the specification QM Bolt 648, revision C: thicker strings.")
	spec := revision("# as drawn\n", "a remark")
	s.says("specification replaced", "Mara Quill replaced the specification QM Bolt 648, revision C, which no batch used yet: a remark.")
	take := func(number string, origin batch.Origin) {
		s.Helper()
		b := recordtest.Must(s.OpenBatch(ctx, recordtest.Manager, batch.Batch{Number: number, Spec: spec}, nil))(s)
		at := time.Date(2025, 3, 4, 9, 0, 0, 0, time.UTC)
		stories := func(yield func(batch.Story, error) bool) {
			v := batch.Verdict{At: at, Result: recordtest.Result(number+"-0001", inspect.Pass, 0.3), Disposition: inspect.Pass}
			yield(batch.Story{Serial: number + "-0001", Attempts: []batch.StoryAttempt{{Inspector: "Wren Halloway", StartedAt: at, Posture: "playing", Verdicts: []batch.Verdict{v}}}}, nil)
		}
		recordtest.Must(s.AppendStories(ctx, recordtest.Manager, batch.Import{BatchID: b.ID, Origin: origin, Source: number + ".csv", SHA256: strings.Repeat("0", 63) + number[6:]}, stories))(s)
	}
	take("QM-2001", batch.Imported)
	s.says("verdict", "The verdict on QM-2001-0001, attempt 1, by Wren Halloway: pass.")
	s.says("necks imported", "Mara Quill took old inspections into batch QM-2001: from QM-2001.csv, without readings, necks: 1.")
	take("QM-2002", batch.Invented)
	s.says("necks invented", "Mara Quill put invented necks into batch QM-2002: from QM-2002.csv, without readings, necks: 1.")
	s.ok(s.CloseBatch(ctx, recordtest.Manager, recordtest.Number))
	s.says("batch closed", "Mara Quill closed batch QM-2611.")
}

// in is another shop, whose batch is in a state.
func (s *told) in(state recordtest.State) *told { return &told{recordtest.In(s.TB, state), s.seen} }

func (s *told) audits() {
	ctx := s.Context()
	a := s.in(recordtest.Audited)
	a.says("outgoing audit drawn", drawnWords(a))
	open := recordtest.Must(a.OutgoingAudits(ctx, a.Batch.ID))(s)[0]
	recordtest.Must(a.GiveUpOutgoing(ctx, recordtest.Manager, open.ID, "the wrong level"))(s)
	a.says("outgoing audit given up", "Mara Quill gave up the outgoing audit of batch QM-2611: 0 of 0 nonconforming; the wrong level.")
	a = s.in(recordtest.Stated)
	drawn := recordtest.Must(a.OutgoingAudit(ctx, recordtest.Must(a.OutgoingAudits(ctx, a.Batch.ID))(s)[0].ID))(s).Necks
	a.says("outgoing audit: conforming", "Mara Quill found "+drawn[4].Serial+" conforming in an outgoing audit.")
	a.says("outgoing audit: nonconforming", "Mara Quill found "+drawn[1].Serial+" nonconforming in an outgoing audit: buzz at fret 3.")
	a.says("outgoing audit rejected", "Mara Quill signed the outgoing audit of batch QM-2611, which rejects the lot: 2 of 5 nonconforming.")
	a.says("rejected lot released for another draw", "Mara Quill released the rejected lot of batch QM-2611 for another draw: sorted by hand; two nuts cut deeper.")
	a = s.in(recordtest.AllPassed)
	sign := func(severity sampling.Severity, bad int, mayReduce bool) {
		o := recordtest.Must(a.DrawOutgoing(ctx, batch.OutgoingAudit{By: recordtest.Manager, BatchID: a.Batch.ID, AQL: 10, Level: "II", Severity: severity}))(s)
		for i, n := range o.Necks {
			recordtest.Must(a.AppendOutgoingFindings(ctx, batch.OutgoingFinding{By: recordtest.Manager, AuditID: o.ID, NeckID: n.NeckID, Conforms: i >= bad, Note: "buzz at fret 3"}))(s)
		}
		recordtest.Must(a.SignOutgoing(ctx, recordtest.Manager, o.ID, mayReduce, false, "as agreed"))(s)
	}
	for range 10 {
		sign(sampling.Normal, 0, true)
	}
	a.says("outgoing audit accepted", "Mara Quill signed the outgoing audit of batch QM-2611, which accepts the lot: 0 of 5 nonconforming; as agreed.")
	sign(sampling.Reduced, 1, false)
	a.says("outgoing audit between", "Mara Quill signed the outgoing audit of batch QM-2611, which accepts the lot, between its two numbers: 1 of 2 nonconforming; as agreed.")
}

// drawnWords is what the trail says of a shop's open draw.
func drawnWords(s *told) string {
	a := recordtest.Must(s.OutgoingAudits(s.Context(), s.Batch.ID))(s)[0]
	return fmt.Sprintf("Mara Quill drew a sample of batch QM-2611 for its outgoing audit: 5 of 10 necks, AQL 10, level II, normal, accept 1, reject 2, seed %s.", a.Seed)
}

func (s *told) people() {
	ctx := s.Context()
	s.says("person entered", s.newestEntered())
	s.ok(s.SetRole(ctx, recordtest.Manager, recordtest.Repairer, batch.QualityManager, false))
	s.says("role changed", "Mara Quill changed the role of Tove Aske to quality manager.")
	s.ok(s.SetBadge(ctx, recordtest.Manager, recordtest.Repairer, "TA-07"))
	s.says("badge given", "Mara Quill gave Tove Aske the badge TA-07.")
	s.ok(s.SetBadge(ctx, recordtest.Manager, recordtest.Repairer, ""))
	s.says("badge taken away", "Mara Quill took the badge TA-07 away from Tove Aske.")
	s.ok(s.Retire(ctx, recordtest.Manager, recordtest.Repairer))
	s.says("person retired", "Mara Quill retired Tove Aske, who was quality manager.")
	until := time.Date(2026, 11, 3, 7, 0, 0, 0, time.UTC)
	s.ok(s.IssueCode(ctx, batch.AtTheMachine, "", "first", until))
	s.says("one-time code issued", "Somebody at the machine issued a one-time code to the first administrator, good until 2026-11-03T07:00:00Z.")
	recordtest.Must(s.UseCode(ctx, "first", "Ines Vael", map[batch.SecretKind]string{batch.Password: "hash", batch.PIN: "hash"}))(s)
	s.says("person entered", "Ines Vael entered Ines Vael as quality manager, administers people.")
	s.says("password chosen", "Ines Vael chose a new password.")
	s.says("pin chosen", "Ines Vael chose a new PIN.")
	s.says("people sign on from now", "Ines Vael had people sign on from then on.")
	s.ok(s.SetPeopleSignOn(ctx, batch.AtTheMachine, false))
	s.says("nobody signs on from now, this machine only", "Somebody at the machine had nobody sign on from then on, and the station worked on its own machine only.")
	all := recordtest.Must(s.People(ctx))(s)
	ossian := all[slices.IndexFunc(all, func(p batch.Person) bool { return p.Name == recordtest.Inspector })]
	s.ok(s.KeepSignOn(ctx, ossian, batch.AtBench, true))
	s.says("proved who they are", "Ossian Reed proved who they are, for the bench.")
	s.ok(s.KeepSignOn(ctx, ossian, batch.ByPassword, false))
	s.says("failed to prove who they are", "Somebody failed to prove that they are Ossian Reed, by password.")
	s.ok(s.KeepUnknown(ctx, batch.UnknownName, 1, until))
	s.says("unknown name tried", "Somebody tried to sign on under a name that is not entered.")
	s.ok(s.KeepUnknown(ctx, batch.UnknownBadge, 3, until))
	s.says("unknown badge tried", "Somebody tried to sign on with a badge that is nobody's: 3 times since 2026-11-03T07:00:00Z.")
	s.ok(s.KeepUnknown(ctx, batch.UnknownCode, 1, until))
	s.says("unknown one-time code tried", "Somebody tried a one-time code that is not good.")
	s.ok(s.KeepShared(ctx, "Ines Vael", ossian, false))
	s.says("made a way in for one device", "Ines Vael made a way in for one device of Ossian Reed, for the bench.")
	s.ok(s.KeepShared(ctx, recordtest.Inspector, ossian, true))
	s.says("signed one device on by the way in that was made for it", "A device of Ossian Reed was signed on by the way in made for it, for the bench.")
}

func (s *told) lives() {
	ctx, serial := s.Context(), "K-17"
	s.ok(s.EnterInstrument(ctx, recordtest.Manager, batch.Instrument{Serial: serial, Kind: "classical guitar", MakerNumber: "17"}))
	s.says("instrument entered", "Mara Quill entered the instrument K-17: classical guitar; 17.")
	s.ok(s.SetOwner(ctx, recordtest.Manager, serial, batch.Owner{Name: "Orla Finch", Contact: "at the mill"}))
	s.says("owner entered", "Mara Quill entered whose the instrument K-17 is.")
	s.ok(s.SetOwner(ctx, recordtest.Manager, serial, batch.Owner{}))
	s.says("owner entered", "Mara Quill entered whose the instrument K-17 is: nobody's who is known.")
	recordtest.Must(s.OpenVisit(ctx, recordtest.Manager, record.NewVisit{Serial: serial, Kind: "classical guitar", MakerNumber: "17", Wishes: "lower at fret 12", Spec: s.Batch.Spec.Spec}))(s)
	s.says("visit begun", "Mara Quill began a visit of K-17: visit 1; lower at fret 12.")
	s.ok(s.FitStrings(ctx, recordtest.Repairer, batch.StringSet{Serial: serial, Fitted: "2026-11-02", Name: "light", Strings: s.Batch.Spec.Spec.Strings}))
	s.says("strings fitted", "Tove Aske entered which strings K-17 was given: light.")
	s.ok(s.AddInstrumentNote(ctx, recordtest.Repairer, batch.InstrumentNote{Serial: serial, Text: "the seam opens"}))
	s.says("note kept", "Tove Aske kept a note on K-17: the seam opens.")
	s.ok(s.Promise(ctx, recordtest.Manager, batch.Promise{Serial: serial, Due: "2026-12-01", What: "glue the seam"}))
	s.says("promised", "Mara Quill entered a promise for K-17: by 2026-12-01: glue the seam.")
	s.ok(s.EndPromise(ctx, recordtest.Repairer, recordtest.Must(s.Promises(ctx, serial))(s)[0].ID, "glued"))
	s.says("promise ended", "Tove Aske ended a promise for K-17: glue the seam: glued.")
	s.ok(s.AddPhotographs(ctx, recordtest.Repairer, serial, []batch.Photograph{{Pin: "fret 7", Digest: strings.Repeat("ab", 32), Width: 4, Height: 3, Bytes: 99, Caption: "the seam"}}))
	s.says("photograph kept", "Tove Aske kept a photograph of K-17: fret 7; the seam.")
	s.ok(s.HidePhotograph(ctx, recordtest.Repairer, recordtest.Must(s.Photographs(ctx, serial))(s)[0].ID, "blurred"))
	s.says("photograph taken out of sight", "Tove Aske took a photograph of K-17 out of sight: fret 7: blurred.")
	s.ok(s.EndVisit(ctx, recordtest.Manager, serial, "plays as wished"))
	s.says("visit ended", "Mara Quill ended a visit of K-17: visit 1; plays as wished.")
	other, _ := recordtest.Record(s.TB, nil)
	s.ok(other.EnterInstrument(ctx, recordtest.Manager, batch.Instrument{Serial: "L-3"}))
	life := recordtest.Must(other.Life(ctx, "L-3"))(s)
	text := recordtest.Must(life.Text())(s)
	recordtest.Must(s.TakeInLife(ctx, recordtest.Manager, recordtest.Must(record.ReadLife(text))(s)))(s)
	s.says("instrument taken in", "Mara Quill took in the life of L-3 from a file: rows: 1.")
	s.ok(s.SetHouse(ctx, recordtest.Manager, batch.Builder))
	s.says("house chosen", "Mara Quill chose whom the record is kept for: a builder.")
}

// newestEntered is what the trail says of who was entered last: the shop enters its people in any order.
func (s *told) newestEntered() string {
	var newest batch.Person
	for _, p := range recordtest.Must(s.People(s.Context()))(s) {
		if p.Since.After(newest.Since) {
			newest = p
		}
	}
	return "Mara Quill entered " + newest.Name + " as " + string(newest.Role) + "."
}

// signed does each signed act where people sign on.
func (s *told) signed() {
	serials := recordtest.Serials(30)
	a := &told{recordtest.NewBy(s.TB, strings.Replace(recordtest.Spec, "[neck]", "[routine]\ntwo_sign = true\n[neck]", 1), serials...), s.seen}
	in := a.Start(serials[0])
	a.Check(true)
	a.Verdict(in, inspect.Rework, 0.4)
	in2 := a.Start(serials[1])
	a.Read(in2, 1, 0.1)
	a.Verdict(in2, inspect.Pass, 0.3)
	a.Check(false)
	a.Pass(serials[2:]...)
	signing(s.TB.(*testing.T), a.Shop)
	ctx := func(reason string, by ...string) context.Context {
		var seals []batch.Seal
		for _, name := range append([]string{recordtest.Manager}, by...) {
			seals = append(seals, batch.Seal{By: name, Reason: reason})
		}
		return batch.WithSeals(s.Context(), seals...)
	}
	recordtest.Must(a.AppendVerdict(ctx("it plays well", "Edda Lind"), batch.Verdict{InspectionID: in.ID, Result: recordtest.Result(serials[0], inspect.Rework, 0.4), Disposition: inspect.Concession, DecidedBy: recordtest.Manager, Reason: "it plays well"}))(s)
	a.says("signed: grant a concession", "Edda Lind signed as the second person, to grant a concession: QM-2611-0001, attempt 1; it plays well.")
	a.cleared(ctx("measured by hand"), serials[1])
	a.says("signed: clear necks of doubt", "Mara Quill signed, to clear necks of doubt: QM-2611-0002; measured by hand.")
	o := recordtest.Must(a.DrawOutgoing(s.Context(), batch.OutgoingAudit{By: recordtest.Manager, BatchID: a.Batch.ID, AQL: 10, Level: "II", Severity: sampling.Normal}))(s)
	for _, n := range o.Necks {
		recordtest.Must(a.AppendOutgoingFindings(s.Context(), batch.OutgoingFinding{By: recordtest.Manager, AuditID: o.ID, NeckID: n.NeckID, Conforms: true}))(s)
	}
	recordtest.Must(a.SignOutgoing(ctx("all looked at"), recordtest.Manager, o.ID, false, false, "all looked at"))(s)
	a.says("signed: sign an outgoing audit", "Mara Quill signed, to sign an outgoing audit: QM-2611; all looked at.")
	a.ok(a.FreezeBase(ctx("steady"), recordtest.Manager, a.Batch.ID, 1, 25, "steady"))
	a.says("signed: freeze control limits", "Mara Quill signed, to freeze control limits: QM-2611; steady.")
	g := a.Gauge
	g.CalibrationU, g.UReason = 0.002, "the maker's figures"
	recordtest.Must(a.SaveGauge(ctx("the maker's figures"), recordtest.Manager, g))(s)
	a.says("signed: enter an uncertainty by hand", "Mara Quill signed, to enter an uncertainty by hand: carriage indicator; the maker's figures.")
	a.says("gauge saved", "Mara Quill saved the page of the gauge carriage indicator: its figures are from: the maker's figures.")
	recordtest.Must(a.AddSpec(ctx("thicker strings"), recordtest.Manager, "thicker strings", "bolt.toml", []byte(strings.Replace(recordtest.Spec, `"B"`, `"C"`, 1))))(s)
	a.says("signed: release a specification", "Mara Quill signed, to release a specification: QM Bolt 648, revision C; thicker strings.")
	st := recordtest.Must(a.StartStudy(s.Context(), recordtest.Manager, g.ID, batch.StudyPlan{Kind: batch.CrossedStudy, About: "crown of fret 7", Parts: []string{"1", "2"}, Appraisers: []string{"A", "B"}, Trials: 2, Seed: 7, ToleranceMM: 0.16}))(s)
	a.ok(a.EndStudy(s.Context(), recordtest.Manager, st.ID, batch.StudyFinished, ""))
	a.ok(a.UseStudy(ctx(""), recordtest.Manager, st.ID, 0.004))
	a.says("signed: have a study's result used", "Mara Quill signed, to have a study's result used: carriage indicator.")
	issued := time.Date(2026, 11, 2, 0, 0, 0, 0, time.UTC)
	recordtest.Must(a.AddCertificate(ctx(""), recordtest.Manager, batch.Certificate{GaugeID: g.ID, Number: "QC-118", Issued: issued, Due: issued.AddDate(1, 0, 0), U: 0.0012}, nil))(s)
	a.says("signed: enter a certificate", "Mara Quill signed, to enter a certificate: carriage indicator.")
	a.ok(a.RetireGauge(ctx("worn"), recordtest.Manager, g.ID))
	a.says("signed: retire a gauge", "Mara Quill signed, to retire a gauge: carriage indicator; worn.")
	a.ok(a.CloseBatch(ctx("all are out"), recordtest.Manager, recordtest.Number))
	a.says("signed: close a batch", "Mara Quill signed, to close a batch: QM-2611; all are out.")
	a.ok(a.Retire(ctx("left the shop"), recordtest.Manager, recordtest.Repairer))
	a.says("signed: enter people, change their roles and retire them", "Mara Quill signed, to enter people, change their roles and retire them: Tove Aske; left the shop.")
}

// cleared has a quality manager clear a neck of its doubts.
func (s *told) cleared(ctx context.Context, serial string) {
	s.Helper()
	g := batch.NeckDoubts{NeckID: recordtest.Must(s.Neck(ctx, serial))(s).ID}
	for _, d := range recordtest.Must(s.Doubts(ctx, batch.DoubtFilter{NeckID: g.NeckID, Standing: true}))(s) {
		g.Doubts = append(g.Doubts, d.ID)
	}
	s.ok(s.ClearDoubts(ctx, recordtest.Manager, "measured by hand", []batch.NeckDoubts{g}))
}

func (s *told) records() {
	s.ok(s.UseKey(s.Context(), "quillmere+0123abcd+key"))
	s.says("key of checkpoints", "The station signs the record's checkpoints from here on, with the key quillmere+0123abcd+key.")
	s.ok(s.NoteNotSigned(s.Context(), anchor.Beside{Checkpoint: anchor.Checkpoint{Size: 12, Note: "quillmere\n12\n\n— signed\n"}, Entries: 9, Short: true}))
	s.says("record is not what was signed", "The station found that the record is not what was signed: 12 entries were signed, their root "+strings.Repeat("A", 43)+"=; here there are 9.")
	s.ok(s.NoteRestored(s.Context(), "shop.zip", time.Date(2026, 11, 1, 2, 0, 0, 0, time.UTC), 120))
	s.says("record restored", "Somebody at the machine brought this record back from the copy shop.zip: made at 2026-11-01T02:00:00Z, with 120 entries; what was recorded after that is missing here.")
	s.ok(s.NoteFound(s.Context(), "entry 7 is missing"))
	s.says("record found not whole", "The station verified the record and found it not whole: entry 7 is missing.")
	s.ok(s.NoteLooked(s.Context(), recordtest.Manager, "entry 7 is missing", "the copy of yesterday is brought back"))
	s.says("finding looked at", "Mara Quill looked at what was found, entry 7 is missing: the copy of yesterday is brought back.")
	s.ok(s.Stopped(s.Context()))
	s.says("station stopped", "The station bench 1 was ended.")
	made := filepath.Join(s.TempDir(), "record.db")
	found := recordtest.Must(record.Salvage(s.Context(), s.Path, made, "bench 1", recordtest.Clock()))(s)
	db := recordtest.Must(record.Open(made, record.Options{Station: "bench 1"}))(s)
	defer func() { s.ok(db.Close()) }()
	salvaged := &told{&recordtest.Shop{TB: s.TB, DB: db}, s.seen}
	salvaged.says("record salvaged", fmt.Sprintf("The station made this record of what could be read of record.db: %d rows read; 0 necks and 0 entries of the trail are hurt.", found.Rows))
	salvaged.says("record sealed", fmt.Sprintf("The station took into the evidence what was written before there was any: %d rows.", found.Rows))
}

// TestTrailIsPickedOut reads the trail by person, neck, batch, gauge, matter and time, alone and together, and in pages.
func TestTrailIsPickedOut(t *testing.T) {
	serials := recordtest.Serials(12)
	s := &told{recordtest.New(t, serials...), map[string]bool{}}
	ctx := t.Context()
	s.Check(true)
	for _, serial := range serials[:2] {
		in := s.Start(serial)
		s.Read(in, 1, 0.02)
		s.Verdict(in, inspect.Pass, 0.3)
	}
	s.Pass(serials[2:]...)
	between := recordtest.Must(s.Trail(ctx, batch.TrailFilter{Limit: 1}))(t)[0].At
	s.Check(false)
	audit := s.Draw()
	recordtest.Must(s.RaiseAlarm(ctx, batch.Alarm{Kind: batch.YieldAlarm, Subject: "yield/" + s.Batch.ID, BatchID: s.Batch.ID, Words: "the yield fell"}))(t)
	other := recordtest.Must(s.OpenBatch(ctx, recordtest.Manager, batch.Batch{Number: "QM-2612", Spec: s.Spec}, []string{"QM-2611-00011"}))(t)
	s.Pass("QM-2611-00011") // begins like a serial number of the first batch

	whats := func(f batch.TrailFilter) string {
		t.Helper()
		var all []string
		for _, e := range recordtest.Must(s.Trail(ctx, f))(t) {
			what := e.What
			if e.PutDoubt != "" {
				what += " (doubt on " + e.PutDoubt + ")"
			}
			all = append(all, what)
		}
		return strings.Join(all, ", ")
	}
	drawn := slices.ContainsFunc(audit.Necks, func(n batch.OutgoingNeck) bool { return n.Serial == serials[4] })
	fifth := "verdict, necks registered"
	if drawn {
		fifth = "outgoing audit drawn, " + fifth
	}
	for _, c := range []struct {
		name string
		f    batch.TrailFilter
		want string
	}{
		{"a neck put in doubt", batch.TrailFilter{Serial: serials[0]}, "gauge check (doubt on QM-2611-0001), verdict, necks registered"},
		{"a neck in no doubt", batch.TrailFilter{Serial: serials[4]}, fifth},
		{"a gauge", batch.TrailFilter{Gauge: "carriage indicator"}, "gauge check, gauge check, gauge saved"},
		{"the other batch", batch.TrailFilter{Batch: "QM-2612"}, "verdict, necks registered, batch opened"},
		{"the batch's alarms", batch.TrailFilter{Batch: "QM-2611", Matter: batch.OfAlarms}, "alarm"},
		{"what was done to the gauge by nobody of the name", batch.TrailFilter{Gauge: "carriage indicator", Person: recordtest.Inspector}, ""},
		{"the gauge's checks by a person", batch.TrailFilter{Gauge: "carriage indicator", Person: recordtest.Manager, Matter: batch.OfGauges, From: between}, "gauge check"},
		{"whom it is about", batch.TrailFilter{Person: recordtest.Inspector, Matter: batch.OfPeople}, "person entered"},
		{"before anything", batch.TrailFilter{To: time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC)}, ""},
		{"a neck's verdicts since", batch.TrailFilter{Serial: serials[0], Matter: batch.OfVerdicts, From: between.Add(1)}, ""},
		{"a neck and its gauge", batch.TrailFilter{Serial: serials[1], Gauge: "carriage indicator"}, "gauge check (doubt on QM-2611-0002)"},
	} {
		if got := whats(c.f); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
	if got := strings.Count(whats(batch.TrailFilter{Batch: "QM-2611"}), "verdict"); got != 12 {
		t.Errorf("%d verdicts of the batch's 12 necks", got)
	}
	if got := whats(batch.TrailFilter{Batch: "QM-2611"}); !strings.Contains(got, "gauge check (doubt on necks of batch QM-2611)") || strings.Contains(got, "person entered") {
		t.Errorf("of the batch: %s", got)
	}
	for _, e := range recordtest.Must(s.Trail(ctx, batch.TrailFilter{Serial: "QM-2611-00011"}))(t) {
		if e.Batch != other.Number {
			t.Errorf("%s is of batch %s", e.What, e.Batch)
		}
	}
	for _, f := range []batch.TrailFilter{{}, {Batch: "QM-2611"}, {Person: recordtest.Manager}, {Matter: batch.OfVerdicts}} {
		inPages(t, s, f)
	}
	for name, f := range map[string]batch.TrailFilter{"neck": {Serial: "QM-1"}, "batch": {Batch: "QM-1"}, "gauge": {Gauge: "yardstick"}} {
		if _, err := s.Trail(ctx, f); batch.KindOf(err) != batch.Absent || !strings.Contains(err.Error(), name) {
			t.Errorf("no such %s: %v", name, err)
		}
	}
	if _, err := s.Trail(ctx, batch.TrailFilter{Matter: "weather"}); batch.KindOf(err) != batch.Mendable || !strings.Contains(err.Error(), `"signing on"`) {
		t.Errorf("no such matter: %v", err)
	}
}

// inPages holds pages of three against everything at once.
func inPages(t *testing.T, s *told, f batch.TrailFilter) {
	t.Helper()
	var each, paged []int64
	for e, err := range s.EachEntry(t.Context(), f) {
		if err != nil {
			t.Fatal(err)
		}
		each = append(each, e.Seq)
	}
	for f.Limit = 3; ; f.Before = paged[len(paged)-1] {
		page := recordtest.Must(s.Trail(t.Context(), f))(t)
		for _, e := range page {
			paged = append(paged, e.Seq)
		}
		if len(page) < 3 {
			break
		}
	}
	if !slices.Equal(each, paged) || !slices.IsSortedFunc(each, func(a, b int64) int { return int(b - a) }) || len(each) == 0 {
		t.Errorf("%+v: %v at once, %v in pages", f, each, paged)
	}
}
