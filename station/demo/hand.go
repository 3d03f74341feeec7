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
	"sagitta/inspect"
	"sagitta/station/bench"
	"sagitta/station/bench/routine"
)

// mostAttempts is how often the simulated inspector reworks one neck before a person would be asked.
const mostAttempts = 10

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

// measure takes reading after reading until the bench asks for nothing more.
func (h *hand) measure(ctx context.Context) error {
	h.hurry = hurried
	refused := 0
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		s := h.bench.Snapshot()
		switch {
		case s.Question != nil:
			// It came without a press of ours: a bounce is not used, anything else was really there.
			if err := h.bench.Answer(ctx, !s.Question.Bounce); err != nil {
				return err
			}
			continue
		case s.Stage != bench.Measuring:
			return nil
		}
		if err := h.press(ctx); err != nil {
			return err
		}
		now := h.bench.Snapshot()
		if now.Question != nil && now.Taken == s.Taken { // our own press, so it is no bounce
			if err := h.bench.Answer(ctx, true); err != nil {
				return err
			}
			continue
		}
		if now.Notice != nil && now.Notice.Refused && now.Taken == s.Taken {
			if refused++; refused > 3 {
				return errors.New(now.Notice.Text)
			}
			if err := h.checkLocked(ctx); err != nil {
				return err
			}
			continue
		}
		refused = 0
	}
}

// checkLocked checks every gauge that is locked out.
func (h *hand) checkLocked(ctx context.Context) error {
	for _, g := range h.bench.Snapshot().Gauges {
		if !g.Locked {
			continue
		}
		if err := h.check(ctx, g.ID); err != nil {
			return err
		}
	}
	return nil
}

// check runs one gauge's check from zero to the end. A gauge whose zero has moved fails once and is checked again.
func (h *hand) check(ctx context.Context, gaugeID string) error {
	for range 3 {
		if err := h.bench.CheckGauge(ctx, gaugeID); err != nil {
			return err
		}
		for range 8 { // a step is repeated where its frame could not be used
			if h.bench.Snapshot().Check == nil {
				break
			}
			if err := h.press(ctx); err != nil {
				return errors.Join(err, h.bench.CancelCheck(ctx))
			}
		}
		for _, g := range h.bench.Snapshot().Gauges {
			if g.ID == gaugeID && !g.Locked {
				return nil
			}
		}
	}
	return errors.New(h.bench.Snapshot().Notice.Text)
}

// inspectBatch brings every neck of a batch to its end: pass, or a person's word.
func (h *hand) inspectBatch(ctx context.Context, number string, progress func(done, total int)) error {
	serials := h.necks[number]
	for i, serial := range serials {
		progress(i, len(serials))
		if err := h.inspectNeck(ctx, serial); err != nil {
			return fmt.Errorf("%s: %w", serial, err)
		}
	}
	progress(len(serials), len(serials))
	return nil
}

// inspectNeck inspects, reworks as advised and inspects again until the neck is through.
func (h *hand) inspectNeck(ctx context.Context, serial string) error {
	s := h.bench.Snapshot()
	if s.Serial != serial {
		done, err := h.bench.Through(ctx, serial)
		if err != nil || done {
			return err
		}
		if s.Stage == bench.Measuring || s.Stage == bench.PersonDecides { // somebody's neck is on the bench: it waits
			if err := h.bench.Park(ctx, "set aside for unattended inspection"); err != nil {
				return err
			}
		}
		if err := h.bench.Entry(ctx, serial, "mm"); err != nil {
			return err
		}
	}
	for range mostAttempts {
		if err := h.measure(ctx); err != nil {
			return err
		}
		done, err := h.act(ctx, h.bench.Snapshot())
		if err != nil {
			return err
		}
		if done {
			return h.bench.Clear(ctx)
		}
		if err := h.bench.Again(ctx); err != nil {
			return err
		}
	}
	return fmt.Errorf("still not through after %d attempts", mostAttempts)
}

// act follows a verdict: done is true when the neck needs no further attempt.
func (h *hand) act(ctx context.Context, s *bench.Snapshot) (done bool, err error) {
	if s.Verdict == nil {
		return false, fmt.Errorf("no verdict was reached at stage %q", s.Stage)
	}
	switch d := s.Verdict.Disposition; {
	case batch.Through(d):
		return true, nil
	case d == inspect.Remeasure:
		return h.decide(ctx, s)
	}
	if len(s.Result.Advice) == 0 {
		return false, errors.New("the verdict names no rework to do")
	}
	step := s.Result.Advice[0]
	if step.What == inspect.StepMeasure && len(s.Result.Advice) > 1 {
		step = s.Result.Advice[1] // the next attempt measures again anyway
	}
	a := batch.ReworkAction{What: step.What, Direction: step.Direction}
	if step.Turns != nil {
		a.Turns = *step.Turns
	}
	return false, h.bench.RecordRework(ctx, a)
}

// decide stands in for the person who is asked when three readings leave a value undecided: inside the limits it
// passes, outside it goes to rework.
func (h *hand) decide(ctx context.Context, s *bench.Snapshot) (done bool, err error) {
	for _, c := range s.Result.Characteristics {
		if c.Zone != inspect.Undecided && c.Zone != inspect.NotMeasured {
			continue
		}
		if c.Value == nil || (c.Lower != nil && *c.Value < *c.Lower) || (c.Upper != nil && *c.Value > *c.Upper) {
			return true, h.bench.Decide(ctx, inspect.Rework, manager, "undecided after three rounds, on the wrong side of a limit")
		}
	}
	return true, h.bench.Decide(ctx, inspect.Pass, manager, "undecided after three rounds; every averaged value lies inside its limits")
}
