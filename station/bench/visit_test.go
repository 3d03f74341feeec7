package bench

import (
	"testing"

	"sagitta/batch"
	"sagitta/batch/record"
)

// TestVisitComesToTheBench: whatever lies there, an instrument's serial number takes its visit to the bench with the visit's own limits, and a
// neck of a shop's batch takes that batch back; one whose visit has ended is not measured.
func TestVisitComesToTheBench(t *testing.T) {
	s := open(t)
	const serial = "2026-014"
	spec := s.bench.Snapshot().Batch.Spec.Spec
	opened, err := s.db.OpenVisit(s.ctx, "", record.NewVisit{Serial: serial, Spec: spec})
	s.ok(err)
	s.ok(s.bench.Entry(s.ctx, serial, "mm"))
	shot := s.bench.Snapshot()
	if shot.Inspection == nil || shot.Inspection.Serial != serial || shot.Batch.ID != opened.Batch.ID || shot.Batch.Spec.Name != serial {
		t.Fatalf("on the bench: %+v", shot.Batch)
	}
	s.restart()
	if in := s.bench.Snapshot().Inspection; in == nil || in.Serial != serial {
		t.Fatalf("after a restart: %+v", in)
	}
	if err := s.bench.Entry(s.ctx, "QM-2611-0001", "mm"); batch.KindOf(err) != batch.Conflict {
		t.Errorf("another neck in mid-measurement: %v", err)
	}
	s.ok(s.bench.Park(s.ctx, "waits"))
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	if shot := s.bench.Snapshot(); shot.Batch.Number != "QM-2611" || shot.Inspection == nil || shot.Inspection.Serial != "QM-2611-0001" {
		t.Errorf("on the bench: %s, %+v", shot.Batch.Number, shot.Inspection)
	}
	s.ok(s.bench.Park(s.ctx, "waits"))
	s.ok(s.bench.Entry(s.ctx, serial, "mm"))
	s.ok(s.bench.Abandon(s.ctx, "the owner came"))
	s.ok(s.db.EndVisit(s.ctx, "", serial, ""))
	s.ok(s.bench.OpenBatch(s.ctx, "QM-2611"))
	_ = s.bench.Entry(s.ctx, serial, "mm")
	s.said("visit 1 of 2026-014 ended on ", true)
	s.said("begin a new one on the instrument's page", true)
}
