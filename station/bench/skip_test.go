package bench

import (
	"context"
	"testing"

	"sagitta/batch"
	"sagitta/batch/record"
)

// AppendReadings fails as one reading's commit does.
func (f *faultyRecord) AppendReadings(ctx context.Context, readings []batch.Reading) ([]batch.Reading, error) {
	if fail := f.fail.Load(); fail != nil {
		return nil, *fail
	}
	return f.DB.AppendReadings(ctx, readings)
}

// TestSkipIsOneCommit: a point that is marked as not to be measured loses its reading and gets its mark together, or keeps
// its reading.
func TestSkipIsOneCommit(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	s.press(nil) // fret 1, bass
	key := s.bench.Snapshot().Points[1].Key
	s.ok(s.bench.Choose(s.ctx, key))
	inspection := s.bench.Snapshot().Inspection.ID
	before, err := s.db.Readings(s.ctx, inspection)
	s.ok(err)
	full := error(record.ErrDiskFull)
	s.faulty.fail.Store(&full)
	s.refused(s.bench.Skip(s.ctx), "was NOT marked")
	s.faulty.fail.Store(nil)
	if p := s.bench.Snapshot().Points[1]; !p.Taken || p.Skipped || p.Key != key {
		t.Fatalf("after a refused commit the point is %+v", p)
	}
	rows, err := s.db.Readings(s.ctx, inspection)
	s.ok(err)
	if len(rows) != len(before) {
		t.Fatalf("a refused commit left %d rows, there were %d", len(rows), len(before))
	}
	s.ok(s.bench.Skip(s.ctx))
	rows, err = s.db.Readings(s.ctx, inspection)
	s.ok(err)
	if len(rows) != len(before)+2 || !rows[len(rows)-1].Withdrawn || rows[len(rows)-1].Supersedes != "" || rows[len(rows)-2].Supersedes != before[len(before)-1].ID {
		t.Fatalf("rows %+v", rows[len(before):])
	}
	if p := s.bench.Snapshot().Points[1]; p.Taken || !p.Skipped {
		t.Fatalf("the point is %+v", p)
	}
}

// TakeBack fails as one reading's commit does.
func (f *faultyRecord) TakeBack(ctx context.Context, by, inspectionID string, rows []batch.Reading) ([]batch.Reading, error) {
	if fail := f.fail.Load(); fail != nil {
		return nil, *fail
	}
	return f.DB.TakeBack(ctx, by, inspectionID, rows)
}

// TestUndoIsOneCommit: a verdict stays where the reading under it could not be taken back.
func TestUndoIsOneCommit(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	in := s.finish(nil).Inspection
	full := error(record.ErrDiskFull)
	s.faulty.fail.Store(&full)
	s.refused(s.bench.Undo(s.ctx), "the disk is full")
	s.faulty.fail.Store(nil)
	got, err := s.db.Inspection(s.ctx, in.ID)
	s.ok(err)
	if snap := s.bench.Snapshot(); got.State != batch.Finished || snap.Stage != Decided {
		t.Fatalf("the inspection is %s, the bench %s", got.State, snap.Stage)
	}
	s.ok(s.bench.Undo(s.ctx))
	got, err = s.db.Inspection(s.ctx, in.ID)
	s.ok(err)
	if snap := s.bench.Snapshot(); got.State != batch.Open || snap.Stage != Measuring {
		t.Fatalf("the inspection is %s, the bench %s", got.State, snap.Stage)
	}
}
