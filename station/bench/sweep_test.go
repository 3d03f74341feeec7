package bench

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/devices/simulate"
	"sagitta/inspect"
	"sagitta/inspect/sweep"
	"sagitta/station/bench/routine"
)

// TestSweptNeck sweeps one whole neck, three tracks, through a pseudo-terminal, and holds every crown against the
// simulated neck's geometry. How the neck lies under the carriage is unknown: a plane is taken out.
func TestSweptNeck(t *testing.T) {
	t.Parallel()
	s := openCarriage(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2613-0001", "mm"))
	s.ok(s.bench.Declare(s.ctx))
	first := s.bench.Snapshot()
	if first.Sweep == nil || first.Sweep.Track != "bass" || len(first.Sweep.Open) != 22 {
		t.Fatalf("asks for %+v, want a sweep along the bass side", first.Sweep)
	}
	after := s.sweepOnce(true)
	s.takesBackAll(first, after)
	again := s.sweepOnce(false) // ends because the carriage stands
	if again.Notice == nil || !strings.Contains(again.Notice.Text, "Swept the bass side") {
		t.Errorf("the page says %+v", again.Notice)
	}
	restarted, err := New(s.ctx, Options{Record: s.db}) // what was committed stays
	s.ok(err)
	if now := restarted.Snapshot(); now.Taken != again.Taken || now.Purpose != routine.ToLink || now.Serial != again.Serial {
		t.Errorf("after a restart %d rows and point %d of %s, before %d and %d", now.Taken, now.Next, now.Serial, again.Taken, again.Next)
	}
	s.rest(func(now *Snapshot) bool { return now.Sweep != nil })
	snap := s.bench.Snapshot()
	if snap.Verdict == nil || snap.Verdict.Disposition != inspect.Pass {
		t.Fatalf("stage %s, verdict %+v: neck 1 is sound", snap.Stage, snap.Verdict)
	}
	readings, err := s.db.Readings(s.ctx, snap.Inspection.ID)
	s.ok(err)
	standing := batch.Standing(readings)
	s.againstTruth(standing)
	s.foundAgain(standing)
}

// takesBackAll undoes a sweep whole, as one.
func (s *carriageShop) takesBackAll(before, after *Snapshot) {
	s.t.Helper()
	s.ok(s.bench.Undo(s.ctx))
	now := s.bench.Snapshot()
	if len(now.Sweep.Open) != 22 || now.Next != before.Next {
		s.t.Fatalf("after taking a sweep back %d frets are open, want 22", len(now.Sweep.Open))
	}
	readings, err := s.db.Readings(s.ctx, now.Inspection.ID)
	s.ok(err)
	if len(readings) != 2*after.Taken-1 { // each row of the sweep once more; the pitch stays
		s.t.Errorf("%d rows in the record after a sweep of %d was taken back", len(readings), after.Taken-1)
	}
}

// againstTruth holds the recorded crowns against the neck's geometry, a plane apart: the carriage's reference lies as it lies.
func (s *carriageShop) againstTruth(readings []batch.Reading) {
	s.t.Helper()
	x, y, off := s.offTruth(readings)
	if len(off) != 66 {
		s.t.Fatalf("%d crowns recorded, want 66", len(off))
	}
	left := lessPlane(off, x, y)
	for i := range left {
		left[i] = math.Abs(left[i])
	}
	slices.Sort(left)
	s.t.Logf("66 crowns through a pseudo-terminal: 95 %% within %.4f mm, all within %.4f", left[62], left[65])
	if left[62] > 0.005 {
		s.t.Errorf("95 %% of crowns lie within %.4f mm of the truth, want 0.005", left[62])
	}
}

// offTruth is how far each recorded crown lies off the simulated neck's, mm, and where it is, in shares of the board.
func (s *carriageShop) offTruth(readings []batch.Reading) (x, y, off []float64) {
	s.t.Helper()
	snap := s.bench.Snapshot()
	spec := snap.Batch.Spec.Spec
	tracks := map[string]inspect.TrackSpec{}
	for _, tr := range spec.TracksOf() {
		tracks[tr.Name] = tr
	}
	s.ok(s.sim.Rework(snap.Serial, func(n *simulate.Neck) error { // looks only
		for _, r := range readings {
			if r.Point.Kind != batch.Crown {
				continue
			}
			tr := tracks[r.Point.Track]
			line := spec.Fan().Line(tr.YNutMM, tr.YSaddleMM)
			x, y = append(x, line.At(r.Point.Fret)/300), append(y, line.Y[r.Point.Fret-1]/20)
			off = append(off, r.Value-n.CrownOn(simulate.Track{YNutMM: tr.YNutMM, YSaddleMM: tr.YSaddleMM}, r.Point.Fret))
			if r.U < 0.0028 || r.URepeat >= r.U || r.CheckID == "" || len(r.Raw) == 0 || r.Decoder == "" || r.Unit != "mm" {
				s.t.Errorf("%s lacks something: u %.4f, %+v", tell.Point(r.Point), r.U, r)
			}
		}
		return nil
	}))
	return x, y, off
}

// lessPlane takes mean and slopes out of values, in turn until nothing of them is left.
func lessPlane(values, x, y []float64) []float64 {
	left := slices.Clone(values)
	for range 200 {
		lessAlong(left, func(int) float64 { return 1 })
		lessAlong(left, func(i int) float64 { return x[i] })
		lessAlong(left, func(i int) float64 { return y[i] })
	}
	return left
}

// lessAlong takes the best multiple of a function out of values.
func lessAlong(left []float64, along func(i int) float64) {
	var over, under float64
	for i := range left {
		w := along(i)
		over, under = over+w*left[i], under+w*w
	}
	for i := range left {
		left[i] -= over / under * along(i)
	}
}

// foundAgain takes the kept bytes of each sweep and finds the recorded crowns in them once more.
func (s *carriageShop) foundAgain(readings []batch.Reading) {
	s.t.Helper()
	d, err := decode.Find("channel and value")
	s.ok(err)
	spec := s.bench.Snapshot().Batch.Spec.Spec
	sweeps := 0
	for _, p := range readings {
		if p.Point.Kind != batch.Sweep {
			continue
		}
		sweeps++
		c, err := decode.ReadCapture("sweep", bytes.NewReader(p.Raw))
		s.ok(err)
		var heights, places []sweep.Sample
		frames := c.Decode(d)
		for i, e := range frames[:len(frames)-1] { // a height and the position right after it belong together
			if next := frames[i+1].Value; e.Value.Channel == "L" && next.Channel == "X" {
				heights = append(heights, sweep.Sample{AtS: e.At.Seconds(), MM: e.Value.MM})
				places = append(places, sweep.Sample{AtS: e.At.Seconds(), MM: next.MM})
			}
		}
		line := spec.Fan().Track(spec, p.Point.Track)
		found, err := sweep.Find(heights, places, sweep.Options{FretsMM: line.FromNut(), NoiseMM: math.Hypot(0.001/math.Sqrt(12), 0.002), PositionStepMM: 0.01})
		s.ok(err)
		same := 0
		for _, r := range readings {
			if ofLaying(r.Point.Kind) && r.Point.Track == p.Point.Track && r.At.Equal(p.At) {
				if k := found.Crowns[r.Point.Fret-1]; k.ZMM != r.Decoded {
					s.t.Errorf("%s: found again at %.9f mm, recorded %.9f", tell.Point(r.Point), k.ZMM, r.Decoded)
				}
				same++
			}
		}
		if float64(same) != p.Value || same == 0 {
			s.t.Errorf("a sweep of %g crowns has %d rows", p.Value, same)
		}
	}
	if sweeps < 3 {
		s.t.Errorf("%d sweeps kept, want 3 or more", sweeps)
	}
}

// TestSweptAgainGivesLinks: a neck that was laid down again after a sweep is swept again along that track, which gives the links; what
// was swept before is carried over.
func TestSweptAgainGivesLinks(t *testing.T) {
	t.Parallel()
	s := openCarriage(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2613-0001", "mm"))
	s.ok(s.bench.Declare(s.ctx))
	for now := s.sweepOnce(true); now.Sweep.Track == "bass"; {
		now = s.sweepOnce(true)
	}
	s.ok(s.bench.Moved(s.ctx))
	now := s.bench.Snapshot()
	if now.Purpose != routine.ToLink || now.Sweep == nil || now.Sweep.Track != "bass" || len(now.Sweep.Open) != 3 {
		t.Fatalf("purpose %d, %+v", now.Purpose, now.Sweep)
	}
	for now.Purpose == routine.ToLink {
		now = s.sweepOnce(true)
	}
	if now.Notice == nil || !strings.Contains(now.Notice.Text, "agree: 19 crowns read before are carried over.") || now.Sweep.Track == "bass" {
		t.Fatalf("%+v, %+v", now.Notice, now.Sweep)
	}
	s.rest(func(now *Snapshot) bool { return now.Sweep != nil })
	if snap := s.bench.Snapshot(); snap.Verdict == nil || snap.Verdict.Disposition != inspect.Pass {
		t.Fatalf("stage %s, verdict %+v: neck 1 is sound", snap.Stage, snap.Verdict)
	}
}

// TestUnpluggedInMidSweep pulls the carriage's cable while it is pushed: nothing of the sweep is recorded, the page says
// so, and once it is plugged in and checked the sweep is made anew.
func TestUnpluggedInMidSweep(t *testing.T) {
	t.Parallel()
	s := openCarriage(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2613-0002", "mm"))
	s.ok(s.bench.Declare(s.ctx))
	before := s.bench.Snapshot()
	arrived, err := s.sim.Sweep(s.along(), 3)
	s.ok(err)
	s.begin()
	s.until("half a sweep", func(now *Snapshot) bool { return now.Sweep != nil && now.Sweep.WayMM > 150 })
	s.ok(s.sim.Unplug(simulate.CarriageID))
	s.until("the loss", func(now *Snapshot) bool { return now.Sweep == nil || !now.Sweep.Running })
	<-arrived
	s.until("both gauges lost", func(now *Snapshot) bool {
		lost := 0
		for _, g := range now.Gauges {
			if g.State == string(devices.StateUnplugged) {
				lost++
				if check := strings.Contains(g.ToDo, "needs a check"); check != (g.ID == simulate.CarriageID) {
					t.Errorf("the %s is to be dealt with by %q; the position alone needs no check", g.Name, g.ToDo)
				}
			}
		}
		return lost == 2
	})
	now := s.bench.Snapshot()
	if now.Taken != before.Taken || now.Notice == nil || !now.Notice.Refused || !strings.Contains(now.Notice.Text, "The sweep was thrown away and nothing of it was recorded") {
		t.Fatalf("%d rows, %d before; the page says %+v", now.Taken, before.Taken, now.Notice)
	}
	readings, err := s.db.Readings(s.ctx, now.Inspection.ID)
	s.ok(err)
	if len(readings) != before.Taken {
		t.Fatalf("%d rows in the record, want %d", len(readings), before.Taken)
	}
	s.refused(s.bench.Take(s.ctx), "locked out")
	s.ok(s.sim.Replug(simulate.CarriageID))
	s.until("the gauges back", func(now *Snapshot) bool {
		for _, g := range now.Gauges {
			if g.State != string(devices.StateLive) && g.State != "locked out" {
				return false
			}
		}
		return true
	})
	s.check()
	s.rest(func(now *Snapshot) bool { return now.Sweep != nil && now.Sweep.Track == "bass" })
}

// TestSweptAgainAfterDoubt: crowns that a failed check put in doubt are asked for by another sweep, which takes their place
// and ends the doubt.
func TestSweptAgainAfterDoubt(t *testing.T) {
	t.Parallel()
	s := openCarriage(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2613-0001", "mm"))
	s.ok(s.bench.Declare(s.ctx))
	s.rest(func(now *Snapshot) bool { return now.Sweep.Track == "bass" })
	must(t)(s.db.AppendGaugeCheck(s.ctx, batch.GaugeCheck{GaugeID: simulate.CarriageID, By: "Wren Halloway", Why: "made to fail", After: batch.CheckAskedFor}))
	s.ok(s.bench.ReloadGauges(s.ctx))
	s.ok(s.bench.ReloadDoubt(s.ctx))
	if now := s.bench.Snapshot(); now.Doubt == "" || now.Sweep == nil || now.Sweep.Track != "bass" || len(now.Sweep.Open) != 22 {
		t.Fatalf("after the failed check %+v is asked for; %q", now.Sweep, now.Doubt)
	}
	s.check()
	s.rest(func(now *Snapshot) bool { return now.Doubt != "" })
	standing, err := s.db.Doubts(s.ctx, batch.DoubtFilter{Standing: true})
	s.ok(err)
	if len(standing) != 0 {
		t.Errorf("in doubt still: %+v", standing[0].Points)
	}
	if n := s.bench.Snapshot().Counts.InDoubt; n != 0 {
		t.Errorf("%d necks counted in doubt", n)
	}
}
