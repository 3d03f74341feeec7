package bench

import (
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/sampling"
	"sagitta/inspect"
	"sagitta/station/bench/routine"
)

// TestHeldNeckOnTheBench: a neck that an outgoing audit finds nonconforming may not ship; the bench says so, on its verdict
// and when it is scanned, until the verdict of its next attempt.
func TestHeldNeckOnTheBench(t *testing.T) {
	s := open(t)
	for i, serial := range []string{"QM-2611-0001", "QM-2611-0002"} {
		s.ok(s.bench.Entry(s.ctx, serial, "mm"))
		snap := s.finish(func(p routine.Point, mm float64) float64 { // no two necks are alike
			if p.Point.Kind == batch.Crown && p.Point.Fret%2 == 1 {
				mm += 0.001 * float64(i)
			}
			return mm
		})
		if snap.Verdict == nil || snap.Verdict.Disposition != inspect.Pass || snap.Hold != "" || snap.Counts.MayShip() != i+1 {
			t.Fatalf("%s: %+v, held %q, %+v", serial, snap.Verdict, snap.Hold, snap.Counts)
		}
	}
	a, err := s.db.DrawOutgoing(s.ctx, batch.OutgoingAudit{By: "Ilse Marchetti-Roe", BatchID: s.bench.Snapshot().Batch.ID, AQL: 10, Level: "II", Severity: sampling.Normal})
	s.ok(err)
	if len(a.Necks) != 2 {
		t.Fatalf("%d drawn, want both", len(a.Necks))
	}
	for _, n := range a.Necks {
		_, err := s.db.AppendOutgoingFindings(s.ctx, batch.OutgoingFinding{By: "Ilse Marchetti-Roe", AuditID: a.ID, NeckID: n.NeckID, Note: "buzz at fret 3"})
		s.ok(err)
	}
	s.ok(s.bench.ReloadDoubt(s.ctx))
	words := "Held: found nonconforming in the outgoing audit of " + s.at().Local().Format("2006-01-02") + ", buzz at fret 3; inspect it again"
	if snap := s.bench.Snapshot(); snap.Stage != Decided || snap.Hold != words+" (F6)." || snap.Counts.MayShip() != 0 || snap.Counts.Held != 2 {
		t.Fatalf("stage %s, held %q, %+v", snap.Stage, snap.Hold, snap.Counts)
	}
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	if snap := s.bench.Snapshot(); snap.Stage != Measuring || snap.Inspection.Attempt != 2 || !strings.HasPrefix(snap.Hold, words+". The verdict of this attempt") || snap.Counts.Held != 2 {
		t.Fatalf("scanned: stage %s, attempt %d, held %q", snap.Stage, snap.Inspection.Attempt, snap.Hold)
	}
	if snap := s.finish(nil); snap.Hold != "" || snap.Verdict == nil || snap.Counts.Held != 1 || snap.Counts.Ready() != 1 || snap.Counts.MayShip() != 0 {
		t.Fatalf("after another attempt: %+v, held %q, %+v", snap.Verdict, snap.Hold, snap.Counts)
	}
}
