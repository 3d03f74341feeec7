package bench

import (
	"context"
	"time"

	"sagitta/batch"
	"sagitta/inspect/unit"
	"sagitta/station/bench"
)

// drawnFor is how long the drawn parts of one snapshot are shown for: what others write, and how long what waits has waited, is no part of it.
const drawnFor = beatEvery / 2

// drawnAs is what windows that show the same have in common.
type drawnAs struct {
	lengths unit.Unit
	me      string // who is signed on in them, "" for nobody
	house   batch.House
}

// drawn are the parts of the bench page as windows that show the same show them: they are drawn once, however many are open.
type drawn struct {
	snap  *bench.Snapshot
	at    time.Time
	parts map[string]string // read only
}

// drawnNow returns the newest snapshot and its parts but for that which says something else in each window. It is called in turn.
func (s *server) drawnNow(ctx context.Context, lengths unit.Unit, me string, house batch.House) (*bench.Snapshot, map[string]string, error) {
	as := drawnAs{lengths, me, house}
	d := s.drawn[as]
	if d == nil {
		d = &drawn{}
		s.drawn[as] = d
	}
	snap := s.opt.Bench.Snapshot()
	if d.snap == snap && time.Since(d.at) < drawnFor {
		return snap, d.parts, nil
	}
	v, err := s.benchView(ctx, snap, lengths, me)
	if err != nil {
		return nil, nil, err
	}
	parts, err := s.renderRegions(v, house)
	if err != nil {
		return nil, nil, err
	}
	d.snap, d.at, d.parts = snap, time.Now(), parts
	return snap, parts, nil
}
