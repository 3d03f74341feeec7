package bench

import (
	"context"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/devices/simulate"
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
	sim, err := simulate.New(simulate.Options{Dir: t.TempDir(), Seed: 11, Scenarios: []*simulate.Scenario{sc}, Every: 20 * time.Millisecond, Layings: true})
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
	frozen := must1(t)(s.db.AddSpec(s.ctx, "", "", sc.Spec, spec))
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
	p := simulate.Placement{On: simulate.OnNeck, Serial: snap.Serial, Attempt: snap.Inspection.Attempt, Laying: snap.Laying, Fret: snap.Points[snap.Next].Point.Fret}
	for _, tr := range snap.Batch.Spec.Spec.TracksOf() {
		if tr.Name == snap.Points[snap.Next].Point.Track {
			p.Track = simulate.Track{YNutMM: tr.YNutMM, YSaddleMM: tr.YSaddleMM}
		}
	}
	return p
}

// begin begins the sweep; where a busy machine has let no frame through for a second it is begun again.
func (s *carriageShop) begin() {
	s.t.Helper()
	s.until("a sweep runs", func(now *Snapshot) bool {
		if now.Sweep == nil || !now.Sweep.Running {
			_ = s.bench.Take(s.ctx) // the page says what it refuses
			now = s.bench.Snapshot()
		}
		return now.Sweep != nil && now.Sweep.Running
	})
}

// sweepOnce makes a sweep: the carriage before fret 1, the key, the push; it ends by the indicator's data key, which comes after
// every frame of the sweep, or by standing still. One that a busy machine spoiled is refused, and made again.
func (s *carriageShop) sweepOnce(byKey bool) *Snapshot {
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
		s.until("the sweep's end", func(now *Snapshot) bool { return now.Sweep == nil || !now.Sweep.Running })
		if now := s.bench.Snapshot(); now.Taken != before.Taken {
			return now
		}
	}
	s.t.Fatalf("eight passes gave nothing: %+v", s.bench.Snapshot().Notice)
	return nil
}

// key presses the indicator's data key and waits until the bench has it. Where standing still had ended the sweep before,
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
		s.sweepOnce(true)
	}
}
