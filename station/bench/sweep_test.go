package bench

import (
	"bytes"
	"context"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/devices/simulate"
	"sagitta/inspect"
	"sagitta/inspect/sweep"
)

// carriageShop is a bench whose gauges are simulated ones on pseudo-terminals, read like real ones.
type carriageShop struct {
	came atomic.Int64 // frames of both gauges
	keys atomic.Int64 // of them, from the data key
	*shop
	sim *simulate.Bench
}

// openCarriage makes the shop with the demo's batch of swept necks, its gauges' lines open and the indicator checked.
func openCarriage(t *testing.T) *carriageShop {
	t.Helper()
	files := filepath.Join("..", "..", "testdata", "demo")
	text, err := os.ReadFile(filepath.Join(files, "QM-2613.truth.toml"))
	if err != nil {
		t.Fatal(err)
	}
	sc, err := simulate.ParseScenario("QM-2613.truth.toml", text)
	if err != nil {
		t.Fatal(err)
	}
	sim, err := simulate.New(simulate.Options{Dir: t.TempDir(), Seed: 11, Scenarios: []*simulate.Scenario{sc}, Every: 20 * time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = sim.Close() })
	s := &carriageShop{shop: &shop{t: t, ctx: t.Context(), path: filepath.Join(t.TempDir(), "record.db")}, sim: sim}
	s.db, err = record.Open(s.path, record.Options{Station: "test bench"})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.db.Close() })
	must(t)(s.db.AddPerson(s.ctx, "", "Wren Halloway", batch.Inspector))
	spec, err := os.ReadFile(filepath.Join(files, sc.Spec))
	if err != nil {
		t.Fatal(err)
	}
	frozen := must1(t)(s.db.AddSpec(s.ctx, "", sc.Spec, spec))
	must(t)(s.db.OpenBatch(s.ctx, "", batch.Batch{Number: sc.Batch, Spec: frozen, Planned: sc.Necks}, sc.Serials()))
	var lines []devices.Gauge
	for _, g := range sim.Gauges() {
		if g.ID != simulate.CarriageID && g.ID != simulate.PlaceID {
			continue
		}
		capture := "stream"
		d, err := decode.Find(g.Decoder)
		s.ok(err)
		lines = append(lines, devices.Gauge{
			ID: g.ID, Name: g.Name, Path: g.Path, Decoder: d, Channel: g.Channel, KeyChannel: g.KeyChannel, Capture: capture,
		})
		must(t)(s.db.SaveGauge(s.ctx, "", batch.Gauge{
			ID: g.ID, Name: g.Name, Path: g.Path, Decoder: g.Decoder, Channel: g.Channel, KeyChannel: g.KeyChannel, Capture: capture,
			Sense: 1, Measures: []batch.Kind{batch.Kind(g.Measures[0])}, ResolutionMM: g.ResolutionMM, RepeatabilityU: g.RepeatabilityU,
			CalibrationU: 0.002, ReferenceU: 0.002, TravelMM: 12.5,
		}))
	}
	s.bench, err = New(s.ctx, Options{Record: s.db})
	s.ok(err)
	sup, err := devices.New(lines, devices.Options{
		OnReading: func(r devices.Reading) {
			s.bench.Reading(r)
			s.came.Add(1)
			if r.Key {
				s.keys.Add(1)
			}
		}, OnFault: s.bench.Fault, OnHealth: s.bench.Health, BackoffMin: 20 * time.Millisecond,
	})
	s.ok(err)
	running, end := context.WithCancel(context.Background())
	var all sync.WaitGroup
	all.Go(func() { sup.Run(running) })
	t.Cleanup(func() { end(); all.Wait() })
	s.ok(s.bench.SetInspector(s.ctx, "Wren Halloway"))
	s.ok(s.bench.OpenBatch(s.ctx, sc.Batch))
	s.until("both gauges live", func(now *Snapshot) bool {
		live := 0
		for _, g := range now.Gauges {
			if g.State == string(devices.StateLive) || g.State == "locked out" {
				live++
			}
		}
		return live == 2
	})
	s.check()
	return s
}

// check zeroes the indicator on the flat.
func (s *carriageShop) check() {
	s.t.Helper()
	came := s.came.Load()
	s.until("frames from the carriage", func(*Snapshot) bool { return s.came.Load() > came+2 }) // a line's first may lack its beginning
	s.ok(s.bench.CheckGauge(s.ctx, simulate.CarriageID))
	s.ok(s.sim.Place(simulate.CarriageID, simulate.Placement{On: simulate.OnFlat}))
	if _, err := s.sim.Press(simulate.CarriageID); err != nil {
		s.t.Fatal(err)
	}
	s.until("the check done", func(now *Snapshot) bool { return now.Check == nil })
}

// until waits for the bench to come to something.
func (s *carriageShop) until(what string, is func(*Snapshot) bool) {
	s.t.Helper()
	late := time.After(patience)
	for !is(s.bench.Snapshot()) {
		select {
		case <-late:
			s.t.Fatalf("waited in vain for %s: %+v, %+v", what, s.bench.Snapshot().Notice, s.bench.Snapshot().Gauges)
		case <-time.After(5 * time.Millisecond):
		}
	}
}

// along is where the carriage is put for the track asked for.
func (s *carriageShop) along() simulate.Placement {
	snap := s.bench.Snapshot()
	p := simulate.Placement{On: simulate.OnNeck, Serial: snap.Serial, Attempt: snap.Inspection.Attempt, Fret: snap.Points[snap.Next].Point.Fret}
	for _, tr := range snap.Batch.Spec.Spec.TracksOf() {
		if tr.Name == snap.Points[snap.Next].Point.Track {
			p.Track = simulate.Track{YNutMM: tr.YNutMM, YSaddleMM: tr.YSaddleMM}
		}
	}
	return p
}

// begin begins the pass; where a busy machine has let no frame through for a second it is begun again.
func (s *carriageShop) begin() {
	s.t.Helper()
	s.until("a pass runs", func(now *Snapshot) bool {
		if now.Sweep == nil || !now.Sweep.Running {
			_ = s.bench.Take(s.ctx) // the page says what it refuses
			now = s.bench.Snapshot()
		}
		return now.Sweep != nil && now.Sweep.Running
	})
}

// pass makes a pass: the carriage before fret 1, the key, the push; it ends by the indicator's data key, which comes after
// every frame of the pass, or by standing still. One that a busy machine spoiled is refused, and made again.
func (s *carriageShop) pass(byKey bool) *Snapshot {
	s.t.Helper()
	before := s.bench.Snapshot()
	for range 8 {
		arrived, err := s.sim.Sweep(s.along(), 10)
		s.ok(err)
		s.begin()
		<-arrived
		if byKey {
			s.key()
		}
		s.until("the pass's end", func(now *Snapshot) bool { return now.Sweep == nil || !now.Sweep.Running })
		if now := s.bench.Snapshot(); now.Taken != before.Taken {
			return now
		}
	}
	s.t.Fatalf("eight passes gave nothing: %+v", s.bench.Snapshot().Notice)
	return nil
}

// key presses the indicator's data key and waits until the bench has it. Where standing still had ended the pass before,
// the key has begun another, which is thrown away.
func (s *carriageShop) key() {
	s.t.Helper()
	before := s.keys.Load()
	if _, err := s.sim.Press(simulate.CarriageID); err != nil {
		s.t.Fatal(err)
	}
	s.until("the key", func(*Snapshot) bool { return s.keys.Load() > before })
	if now := s.bench.Snapshot(); now.Sweep != nil && now.Sweep.Running {
		s.ok(s.bench.Undo(s.ctx))
	}
}

// rest sweeps until nothing is left open.
func (s *carriageShop) rest(open func(*Snapshot) bool) {
	s.t.Helper()
	for n := 0; open(s.bench.Snapshot()); n++ {
		if n > 12 {
			s.t.Fatalf("so many passes do not do: %+v", s.bench.Snapshot().Swept.Again)
		}
		s.pass(true)
	}
}

// TestSweptNeck sweeps one whole neck, three tracks, through a pseudo-terminal, and holds every crown against the
// simulated neck's geometry. How the neck lies under the carriage is unknown: a plane is taken out.
func TestSweptNeck(t *testing.T) {
	t.Parallel()
	s := openCarriage(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2613-0001", "mm"))
	s.ok(s.bench.Declare(s.ctx))
	first := s.bench.Snapshot()
	if first.Sweep == nil || first.Sweep.Track != "bass" || len(first.Sweep.Open) != 22 {
		t.Fatalf("asks for %+v, want a pass along the bass side", first.Sweep)
	}
	after := s.pass(true)
	s.takesBackAll(first, after)
	again := s.pass(false) // ends because the carriage stands
	if again.Notice == nil || !strings.Contains(again.Notice.Text, "Swept the bass side") {
		t.Errorf("the page says %+v", again.Notice)
	}
	restarted, err := New(s.ctx, Options{Record: s.db}) // what was committed stays
	s.ok(err)
	if now := restarted.Snapshot(); now.Taken != again.Taken || now.Next != again.Next || now.Serial != again.Serial {
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

// takesBackAll undoes a pass whole, as one.
func (s *carriageShop) takesBackAll(before, after *Snapshot) {
	s.t.Helper()
	s.ok(s.bench.Undo(s.ctx))
	now := s.bench.Snapshot()
	if len(now.Sweep.Open) != 22 || now.Next != before.Next {
		s.t.Fatalf("after taking a pass back %d frets are open, want 22", len(now.Sweep.Open))
	}
	readings, err := s.db.Readings(s.ctx, now.Inspection.ID)
	s.ok(err)
	if len(readings) != 2*after.Taken-1 { // each row of the pass once more; the pitch stays
		s.t.Errorf("%d rows in the record after a pass of %d was taken back", len(readings), after.Taken-1)
	}
}

// againstTruth holds the recorded crowns against the neck's geometry.
func (s *carriageShop) againstTruth(readings []batch.Reading) {
	s.t.Helper()
	snap := s.bench.Snapshot()
	spec := snap.Batch.Spec.Spec
	tracks := map[string]inspect.TrackSpec{}
	for _, tr := range spec.TracksOf() {
		tracks[tr.Name] = tr
	}
	var x, y, off, u []float64
	err := s.sim.Rework(snap.Serial, func(n *simulate.Neck) error { // looks only
		for _, r := range readings {
			if r.Point.Kind != batch.Crown {
				continue
			}
			tr := tracks[r.Point.Track]
			at := n.FretX(r.Point.Fret)
			x = append(x, at/300)
			y = append(y, inspect.TrackY(tr.YNutMM, tr.YSaddleMM, spec.Neck.ScaleMM, at)/20)
			off = append(off, r.Value-n.CrownOn(simulate.Track{YNutMM: tr.YNutMM, YSaddleMM: tr.YSaddleMM}, r.Point.Fret))
			u = append(u, r.U)
			if r.U < 0.0028 || r.URepeat >= r.U || r.CheckID == "" || len(r.Raw) == 0 || r.Decoder == "" || r.Unit != "mm" {
				s.t.Errorf("%s lacks something: u %.4f, %+v", r.Point.Words(), r.U, r)
			}
		}
		return nil
	})
	s.ok(err)
	if len(off) != 66 {
		s.t.Fatalf("%d crowns recorded, want 66", len(off))
	}
	left := slices.Clone(off)
	for range 200 { // the plane, by sweeping out mean and slopes in turn
		for _, along := range [][]float64{nil, x, y} {
			var over, under float64
			for i := range left {
				w := 1.0
				if along != nil {
					w = along[i]
				}
				over, under = over+w*left[i], under+w*w
			}
			for i := range left {
				w := 1.0
				if along != nil {
					w = along[i]
				}
				left[i] -= over / under * w
			}
		}
	}
	for i := range left {
		left[i] = math.Abs(left[i])
	}
	slices.Sort(left)
	s.t.Logf("66 crowns through a pseudo-terminal: 95 %% within %.4f mm, all within %.4f", left[62], left[65])
	if left[62] > 0.005 {
		s.t.Errorf("95 %% of crowns lie within %.4f mm of the truth, want 0.005", left[62])
	}
}

// foundAgain takes the kept bytes of each pass and finds the recorded crowns in them once more.
func (s *carriageShop) foundAgain(readings []batch.Reading) {
	s.t.Helper()
	d, err := decode.Find("channel and value")
	s.ok(err)
	passes := 0
	for _, p := range readings {
		if p.Point.Kind != batch.Sweep {
			continue
		}
		passes++
		c, err := decode.ReadCapture("pass", bytes.NewReader(p.Raw))
		s.ok(err)
		var heights, places []sweep.Sample
		frames := c.Decode(d)
		for i, e := range frames[:len(frames)-1] { // a height and the position right after it belong together
			if next := frames[i+1].Value; e.Value.Channel == "L" && next.Channel == "X" {
				heights = append(heights, sweep.Sample{AtS: e.At.Seconds(), MM: e.Value.MM})
				places = append(places, sweep.Sample{AtS: e.At.Seconds(), MM: next.MM})
			}
		}
		found, err := sweep.Find(heights, places, sweep.Options{ScaleMM: 648, Frets: 22, NoiseMM: math.Hypot(0.001/math.Sqrt(12), 0.002), PositionStepMM: 0.01})
		s.ok(err)
		same := 0
		for _, r := range readings {
			if r.Point.Kind == batch.Crown && r.Point.Track == p.Point.Track && r.At.Equal(p.At) {
				if k := found.Crowns[r.Point.Fret-1]; k.ZMM != r.Decoded {
					s.t.Errorf("%s: found again at %.9f mm, recorded %.9f", r.Point.Words(), k.ZMM, r.Decoded)
				}
				same++
			}
		}
		if float64(same) != p.Value || same == 0 {
			s.t.Errorf("a pass of %g crowns has %d rows", p.Value, same)
		}
	}
	if passes < 3 {
		s.t.Errorf("%d passes kept, want 3 or more", passes)
	}
}

// TestUnpluggedInMidSweep pulls the carriage's cable while it is pushed: nothing of the pass is recorded, the page says
// so, and once it is plugged in and checked the pass is made anew.
func TestUnpluggedInMidSweep(t *testing.T) {
	t.Parallel()
	s := openCarriage(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2613-0002", "mm"))
	s.ok(s.bench.Declare(s.ctx))
	before := s.bench.Snapshot()
	arrived, err := s.sim.Sweep(s.along(), 3)
	s.ok(err)
	s.begin()
	s.until("half a pass", func(now *Snapshot) bool { return now.Sweep != nil && now.Sweep.WayMM > 150 })
	s.ok(s.sim.Unplug(simulate.CarriageID))
	s.until("the loss", func(now *Snapshot) bool { return now.Sweep == nil || !now.Sweep.Running })
	<-arrived
	s.until("both gauges lost", func(now *Snapshot) bool {
		lost := 0
		for _, g := range now.Gauges {
			if g.State == string(devices.StateUnplugged) {
				lost++
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

// TestSweptAgainAfterDoubt: crowns that a failed check put in doubt are asked for by another pass, which takes their place
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
