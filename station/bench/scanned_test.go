package bench

import (
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/inspect"
)

// badged gives two people badges and is a shop where the first works.
func badged(t *testing.T) *shop {
	t.Helper()
	s := open(t)
	must(t)(s.db.AddPerson(s.ctx, "", "Ossian Reed", batch.Inspector))
	s.ok(s.db.SetBadge(s.ctx, "", "Wren Halloway", "WH-01"))
	s.ok(s.db.SetBadge(s.ctx, "", "Ossian Reed", "00417"))
	return s
}

// bring scans a neck and, where it passed before, has it inspected again.
func (s *shop) bring(serial string) {
	s.t.Helper()
	s.ok(s.bench.Entry(s.ctx, serial, "mm"))
	if q := s.bench.Snapshot().Question; q != nil && q.Again {
		s.ok(s.bench.Answer(s.ctx, true))
	}
}

// said is what the bench says, and whether it refuses.
func (s *shop) said(words string, refused bool) {
	s.t.Helper()
	n := s.bench.Snapshot().Notice
	if n == nil || n.Refused != refused || !strings.Contains(n.Text, words) {
		s.t.Errorf("the bench says %+v, want %q, refused: %t", n, words, refused)
	}
}

// TestBadgeInMidNeck: whose badge is scanned takes the readings that follow, and what was taken before stays whose it was; so it is
// after the station was started again.
func TestBadgeInMidNeck(t *testing.T) {
	s := badged(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	s.press(nil)
	s.ok(s.bench.Entry(s.ctx, "]C000417\r", "mm"))
	s.said("Ossian Reed measures from now on. What was taken of QM-2611-0001 before stays under the name that it has.", false)
	s.press(nil)
	s.restart()
	if who := s.bench.Snapshot().Inspector; who != "Ossian Reed" {
		t.Fatalf("after a restart %s measures", who)
	}
	s.press(nil)
	s.ok(s.bench.Entry(s.ctx, "*wh-01*", "mm"))
	s.press(nil)
	s.ok(s.bench.Undo(s.ctx))
	s.ok(s.bench.Entry(s.ctx, "WH-01", "mm"))
	s.said("Wren Halloway is signed on already.", false)
	rows, err := s.db.Readings(s.ctx, s.bench.Snapshot().Inspection.ID)
	s.ok(err)
	var by []string
	for _, r := range rows {
		by = append(by, strings.Fields(r.By)[0])
	}
	last := by[len(by)-2:] // the reading after the second badge, and its being taken back
	if runs := slices.Compact(slices.Clone(by)); !slices.Equal(by[:3], []string{"Wren", "Wren", "Ossian"}) || !slices.Equal(last, []string{"Wren", "Wren"}) || len(runs) != 3 {
		t.Errorf("the readings are %q's", by)
	}
}

// TestBadgeEverywhere signs somebody on in every state of the bench, and leaves what is on it.
func TestBadgeEverywhere(t *testing.T) {
	for _, k := range kinds {
		t.Run(string(k), func(t *testing.T) {
			s := in(t, k)
			must(t)(s.db.AddPerson(s.ctx, "", "Ossian Reed", batch.Inspector))
			s.ok(s.db.SetBadge(s.ctx, "", "Ossian Reed", "OR-02"))
			s.ok(s.bench.Entry(s.ctx, "or-02\t", "mm"))
			if got := s.bench.state.kind(); got != k || s.bench.Snapshot().Inspector != "Ossian Reed" {
				t.Errorf("the bench is %s and %q measures", got, s.bench.Snapshot().Inspector)
			}
		})
	}
}

// TestSheetOpensItsBatch: a batch's number, as its sheet carries it, takes the batch to the bench, but not from under a neck.
func TestSheetOpensItsBatch(t *testing.T) {
	s := open(t)
	s.restart() // two batches are open, none is on the bench
	s.ok(s.bench.Entry(s.ctx, "]C0qm-2612\r\n", "mm"))
	if b := s.bench.Snapshot().Batch; b == nil || b.Number != "QM-2612" {
		t.Fatalf("on the bench is %+v", b)
	}
	s.said("Batch QM-2612 is on the bench", false)
	s.ok(s.bench.Entry(s.ctx, "QM-2612", "mm"))
	s.said("Batch QM-2612 is on the bench already.", false)
	s.ok(s.bench.SetInspector(s.ctx, "Wren Halloway"))
	s.ok(s.bench.Entry(s.ctx, "QM-2612-0001", "mm"))
	s.refused(s.bench.Entry(s.ctx, "QM-2611", "mm"), "the sheet of batch QM-2611 was scanned, but QM-2612-0001 is being measured")
	s.refused(s.bench.Entry(s.ctx, "]C0QM-9", "mm"), "is no serial number, batch or badge that is on file")
	s.ok(s.bench.Park(s.ctx, ""))
	s.ok(s.db.CloseBatch(s.ctx, "Ilse Marchetti-Roe", "QM-2611"))
	s.refused(s.bench.Entry(s.ctx, "QM-2611", "mm"), "was closed on")
}

// TestScannedFormsOfOneNeck: however a scanner wraps or turns a serial number, it is the same neck; one that is not on file registers
// itself in the form that its batch's pattern has.
func TestScannedFormsOfOneNeck(t *testing.T) {
	for _, sent := range []string{"QM-2611-0002", "]C0QM-2611-0002\r", "*QM-2611-0002*\n", "qm-2611-0002\t", " QM-2611 -0002 ", "]Q3qm-2611-0002"} {
		s := open(t)
		s.ok(s.bench.Entry(s.ctx, sent, "mm"))
		if got := s.bench.Snapshot().Serial; got != "QM-2611-0002" {
			t.Errorf("%q brings %q", sent, got)
		}
		s.ok(s.bench.Entry(s.ctx, sent, "mm"))
		s.said("QM-2611-0002 is already on the bench.", false)
	}
	s := open(t)
	must(t)(s.db.OpenBatch(s.ctx, "", batch.Batch{Number: "RB-9", Spec: recordtest.Must(s.db.Batch(s.ctx, "QM-2611"))(t).Spec, Pattern: `RB-\d+`}, nil))
	s.ok(s.bench.OpenBatch(s.ctx, "RB-9"))
	s.ok(s.bench.Entry(s.ctx, "]A0rb-17", "mm"))
	if got := s.bench.Snapshot().Serial; got != "RB-17" {
		t.Errorf("it registered as %q", got)
	}
}

// TestScannedNumberIsNoReading: what a scanner marks as scanned is never taken for a value.
func TestScannedNumberIsNoReading(t *testing.T) {
	s := in(t, isMeasuring)
	taken := s.bench.Snapshot().Taken
	s.refused(s.bench.Entry(s.ctx, "]E00.31", "mm"), "is no serial number")
	if got := s.bench.Snapshot().Taken; got != taken {
		t.Errorf("%d readings were taken", got-taken)
	}
}

// TestPassedNeckIsAskedAbout: a neck that passed starts no other attempt by being scanned; one that was called back does.
func TestPassedNeckIsAskedAbout(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.finish(nil)
	attempts := func() int {
		return len(recordtest.Must(s.db.Inspections(s.ctx, recordtest.Must(s.db.Neck(s.ctx, "QM-2611-0001"))(t).ID))(t))
	}
	ask := func() {
		t.Helper()
		s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
		snap := s.bench.Snapshot()
		if q := snap.Question; q == nil || !q.Again || attempts() != 1 || !strings.Contains(q.Asks, "QM-2611-0001 passed at ") ||
			!strings.Contains(q.Asks, ", attempt 1 by Wren Halloway, and needs no further inspection. Begin attempt 2?") {
			t.Fatalf("asked %+v, %d attempts", q, attempts())
		}
	}
	ask()
	s.ok(s.bench.Answer(s.ctx, false))
	if snap := s.bench.Snapshot(); snap.Stage != Idle || snap.Question != nil || attempts() != 1 {
		t.Fatalf("stage %s", snap.Stage)
	}
	ask()
	s.refused(s.bench.Take(s.ctx), "answer it first: F3 inspects it again")
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0002", "mm")) // another neck is an answer too
	if snap := s.bench.Snapshot(); snap.Serial != "QM-2611-0002" || attempts() != 1 {
		t.Fatalf("%s is on the bench", snap.Serial)
	}
	s.ok(s.bench.Park(s.ctx, ""))
	ask()
	s.ok(s.bench.Answer(s.ctx, true))
	if in := s.bench.Snapshot().Inspection; in == nil || in.Serial != "QM-2611-0001" || in.Attempt != 2 {
		t.Fatalf("on the bench is %+v", in)
	}
}

// TestCalledBackNeckIsNotAskedAbout: a neck that passed by a gauge that failed its next check is measured again without a question.
func TestCalledBackNeckIsNotAskedAbout(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.finish(nil)
	s.ok(s.bench.Clear(s.ctx))
	s.ok(s.bench.CheckGauge(s.ctx, carriage))
	s.frame(carriage, 0, true)
	s.frame(carriage, 1.03, true)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	if snap := s.bench.Snapshot(); snap.Question != nil || snap.Stage != Measuring || snap.Serial != "QM-2611-0001" {
		t.Fatalf("asked %+v, on the bench %+v", snap.Question, snap.Inspection)
	}
}

// TestNeckInDoubtWithoutReadingsIsNotAskedAbout: a neck that was taken in without readings and is called back does need an inspection, and
// the whole of it: its next attempt begins.
func TestNeckInDoubtWithoutReadingsIsNotAskedAbout(t *testing.T) {
	s := open(t)
	b := s.bench.Snapshot().Batch
	v := batch.Verdict{Result: &inspect.Result{Disposition: inspect.Pass}, Disposition: inspect.Pass}
	must(t)(s.db.AppendStories(s.ctx, "Ilse Marchetti-Roe", batch.Import{BatchID: b.ID, Origin: batch.Imported, Source: "old.csv"}, func(yield func(batch.Story, error) bool) {
		yield(batch.Story{Serial: "QM-2611-0900", Attempts: []batch.StoryAttempt{{Inspector: "Elsewhere", StartedAt: s.at().Add(-time.Hour), Verdicts: []batch.Verdict{v}}}}, nil)
	}))
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0900", "mm"))
	if q := s.bench.Snapshot().Question; q == nil {
		t.Fatal("a neck that passed elsewhere is not asked about")
	}
	s.ok(s.bench.Answer(s.ctx, false))
	over := batch.DoubtRange{Inspector: "Elsewhere"}
	must(t)(s.db.CastDoubt(s.ctx, "Ilse Marchetti-Roe", "the flat was scratched", over, batch.Marked{Necks: 1, Inspections: 1}))
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0900", "mm"))
	if snap := s.bench.Snapshot(); snap.Question != nil || snap.Stage != Measuring || snap.Inspection.Attempt != 2 {
		t.Fatalf("asked %+v, on the bench %+v", snap.Question, snap.Inspection)
	}
}

// TestScrapIsAskedAbout says what a person judged, and who.
func TestScrapIsAskedAbout(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.finish(nil)
	s.ok(s.bench.Decide(s.ctx, inspect.Scrap, "Ilse Marchetti-Roe", "cracked at the heel"))
	s.set(s.at().Add(25 * time.Hour))
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	if q := s.bench.Snapshot().Question; q == nil || !strings.Contains(q.Asks, "was judged scrap at 2026-11-02 ") || !strings.Contains(q.Asks, "attempt 1 by Ilse Marchetti-Roe") {
		t.Fatalf("asked %+v", q)
	}
}
