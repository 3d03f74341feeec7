package demo

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"sagitta/batch"
	"sagitta/devices/simulate"
	"sagitta/station/bench"
	"sagitta/station/bench/routine"
)

// answerIn is how long a press of a simulated data key may take to come back from its pseudo-terminal.
const answerIn = 15 * time.Second

// hand is the simulated inspector of the demo: it puts the gauge where the bench asks, presses its key, and does the
// rework that the bench advises. It knows nothing of the necks' truth; all it sees is the bench's page.
type hand struct {
	bench *bench.Bench
	sim   *simulate.Bench
	necks map[string][]string // serial numbers by batch

	mu    sync.Mutex                         // one deed at a time
	hurry float64                            // how many times as fast as a hand the carriage is pushed
	stop  atomic.Pointer[context.CancelFunc] // ends unattended work
}

// Press puts the gauge asked for on the point asked for and presses its data key.
func (h *hand) Press(ctx context.Context) error {
	if !h.mu.TryLock() {
		return batch.Conflict.Errorf("the simulated inspector is at work: stop it first")
	}
	defer h.mu.Unlock()
	h.hurry = watched
	return h.press(ctx)
}

// MeasureNeck measures what is left of the neck on the bench.
func (h *hand) MeasureNeck(ctx context.Context) error {
	if !h.mu.TryLock() {
		return batch.Conflict.Errorf("the simulated inspector is at work already")
	}
	defer h.mu.Unlock()
	if s := h.bench.Snapshot(); s.Stage != bench.Measuring && s.Question == nil {
		return batch.Conflict.Errorf("no neck is being measured on the bench: scan or type a serial number first")
	}
	return h.measure(ctx)
}

// Unattended begins to inspect the batch's remaining necks and returns; Stop ends it after the present reading.
func (h *hand) Unattended(ctx context.Context) error {
	s := h.bench.Snapshot()
	if s.Batch == nil {
		return batch.Conflict.Errorf("open a batch on the bench first")
	}
	if !h.mu.TryLock() {
		return batch.Conflict.Errorf("the simulated inspector is at work already")
	}
	work, cancel := context.WithCancel(context.WithoutCancel(ctx))
	h.stop.Store(&cancel)
	go func() {
		defer h.mu.Unlock()
		defer cancel()
		err := h.inspectBatch(work, s.Batch.Number, func(done, total int) {
			h.bench.Working(fmt.Sprintf("Inspecting unattended: %d of %d necks are done.", done, total))
		})
		h.bench.Working("")
		if err != nil && !errors.Is(err, context.Canceled) {
			h.bench.Refuse(err)
		}
	}()
	return nil
}

// Stop ends unattended work.
func (h *hand) Stop(context.Context) error {
	if stop := h.stop.Load(); stop != nil {
		(*stop)()
	}
	return nil
}

// end stops unattended work and waits for the deed in progress.
func (h *hand) end() {
	if stop := h.stop.Load(); stop != nil {
		(*stop)()
	}
	h.mu.Lock()
	defer h.mu.Unlock()
}

// Pull unplugs a simulated gauge.
func (h *hand) Pull(_ context.Context, gaugeID string) error {
	if err := h.simulated(gaugeID); err != nil {
		return err
	}
	return h.sim.Unplug(gaugeID)
}

// Plug plugs it in again.
func (h *hand) Plug(_ context.Context, gaugeID string) error {
	if err := h.simulated(gaugeID); err != nil {
		return err
	}
	return h.sim.Replug(gaugeID)
}

// simulated says which gauges are simulated where one is not.
func (h *hand) simulated(gaugeID string) error {
	var ids []string
	for _, g := range h.sim.Gauges() {
		if g.ID == gaugeID {
			return nil
		}
		ids = append(ids, g.ID)
	}
	return batch.Absent.Errorf("there is no simulated gauge %q; there are %s", gaugeID, strings.Join(ids, ", "))
}

// press does one step of what the bench asks for: a check's step, a declared point, or a reading.
func (h *hand) press(ctx context.Context) error {
	s := h.bench.Snapshot()
	if s.Check != nil {
		return h.pressCheck(ctx, s)
	}
	if s.Study != nil {
		return h.pressStudy(ctx, s)
	}
	if s.Question != nil {
		return batch.Conflict.Errorf("a reading is questioned: answer it first")
	}
	if s.Next < 0 {
		return batch.Conflict.Errorf("the bench asks for nothing now: take a neck to the bench, or begin a check")
	}
	p := s.Points[s.Next]
	if s.Sweep != nil {
		return h.sweep(ctx, s, p)
	}
	if p.Point.Kind == batch.PitchDeclared {
		return h.bench.Declare(ctx)
	}
	if p.GaugeID == "" {
		return batch.Conflict.Errorf("%s is typed in: no simulated gauge serves it", p.Words)
	}
	if err := h.sim.Place(p.GaugeID, h.placement(s, p)); err != nil {
		return err
	}
	return h.pressAndWait(ctx, s, p.GaugeID)
}

// pressCheck puts the gauge of the running check on the flat or the master and presses its key.
func (h *hand) pressCheck(ctx context.Context, s *bench.Snapshot) error {
	on := simulate.Placement{On: simulate.OnFlat}
	if s.Check.Step == "master" {
		on = simulate.Placement{On: simulate.OnMaster, MasterMM: s.Check.MasterMM}
	}
	if err := h.sim.Place(s.Check.GaugeID, on); err != nil {
		return err
	}
	return h.pressAndWait(ctx, s, s.Check.GaugeID)
}

// pressStudy puts the piece that the study asks for under its gauge and presses its key. A part's height follows from its
// label, over half a millimetre; each appraiser presses a little differently.
func (h *hand) pressStudy(ctx context.Context, s *bench.Snapshot) error {
	height := s.Study.ReferenceMM
	if s.Study.HandOver != "" {
		height = 1 + 0.5*share(s.Study.HandOver) + 0.004*(share(s.Study.Appraiser)-0.5)
	}
	if err := h.sim.Place(s.Study.GaugeID, simulate.Placement{On: simulate.OnMaster, MasterMM: height}); err != nil {
		return err
	}
	return h.pressAndWait(ctx, s, s.Study.GaugeID)
}

// share turns a name into a number from 0 to 1, always the same.
func share(name string) float64 {
	f := fnv.New32a()
	_, _ = f.Write([]byte(name))
	return float64(f.Sum32()%1009) / 1008
}

// placement is where the bench's point lies on the simulated instrument.
func (h *hand) placement(s *bench.Snapshot, p routine.Point) simulate.Placement {
	pl := simulate.Placement{
		On: simulate.OnNeck, Serial: s.Serial, Attempt: s.Inspection.Attempt,
		Fret: p.Point.Fret, String: p.Point.String, HeldFret: p.Point.HeldFret,
	}
	for _, t := range s.Batch.Spec.Spec.TracksOf() {
		if t.Name == p.Point.Track {
			pl.Track = simulate.Track{YNutMM: t.YNutMM, YSaddleMM: t.YSaddleMM}
		}
	}
	for _, g := range h.sim.Gauges() {
		if g.ID == p.GaugeID {
			pl.FeetMM, pl.PlungerMM = g.FeetMM, g.PlungerMM
		}
	}
	return pl
}

// pressAndWait presses a data key and waits until the bench has taken, held or refused what came.
func (h *hand) pressAndWait(ctx context.Context, before *bench.Snapshot, gaugeID string) error {
	changed, stop := h.bench.Watch()
	defer stop()
	if _, err := h.sim.Press(gaugeID); err != nil {
		return err
	}
	late := time.NewTimer(answerIn)
	defer late.Stop()
	for {
		if s := h.bench.Snapshot(); settled(before, s) {
			return nil
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return ctx.Err()
		case <-late.C:
			return fmt.Errorf("nothing came from the gauge within %s of pressing its data key", answerIn)
		}
	}
}

// settled says whether the bench has dealt with a press: something else is asked for, or it has something to say.
func settled(before, now *bench.Snapshot) bool {
	noticed := func(s *bench.Snapshot) uint64 {
		if s.Notice == nil {
			return 0
		}
		return s.Notice.ID
	}
	step := func(s *bench.Snapshot) string {
		switch {
		case s.Check != nil:
			return s.Check.GaugeID + s.Check.Words
		case s.Study != nil:
			return fmt.Sprintf("study %d", s.Study.Taken)
		}
		return ""
	}
	return now.Taken != before.Taken || now.Question != nil || noticed(now) > noticed(before) || step(now) != step(before)
}
