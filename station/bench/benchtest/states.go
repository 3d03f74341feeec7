package benchtest

import (
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/devices"
	"sagitta/inspect"
	"sagitta/station/bench"
	"sagitta/station/bench/routine"
)

// State is one that the bench's page shows.
type State struct {
	Name  string
	Reach func(*Bench) // from a bench that has just been opened
}

// Snapshot is what a bench publishes that has been taken into the state.
func (s State) Snapshot(t testing.TB) *bench.Snapshot {
	t.Helper()
	b := Open(t)
	s.Reach(b)
	return b.Snapshot()
}

// States are all of them.
var States = []State{
	{"no batch", func(b *Bench) { // several are open, and the station was started again
		b.Bench = recordtest.Must(bench.New(b.t.Context(), bench.Options{Record: b.Record, Now: func() time.Time { return *b.now.Load() }}))(b.t)
	}},
	{"idle", func(*Bench) {}},
	{"pitch", func(b *Bench) { b.Measure("QM-2611-0001", Sound, 0) }},
	{"mid-neck", midNeck},
	{"questioned", func(b *Bench) {
		midNeck(b)
		b.Frame(recordtest.Carriage, 9, true)
	}},
	{"refused", func(b *Bench) {
		midNeck(b)
		b.Frame(recordtest.Height, 1, true)
	}},
	{"gauge pulled", func(b *Bench) {
		midNeck(b)
		b.Health(devices.Health{Gauge: recordtest.Carriage, State: devices.StateUnplugged, Since: *b.now.Load(), ToDo: "Plug the gauge in again; it is found by itself."})
	}},
	{"checking", func(b *Bench) {
		midNeck(b)
		b.Do(b.CheckGauge(b.t.Context(), recordtest.Height))
		b.Frame(recordtest.Height, 0, true)
	}},
	{"taken up again", func(b *Bench) {
		midNeck(b)
		b.Do(b.Park(b.t.Context(), "settling"))
		b.Do(b.Entry(b.t.Context(), "QM-2611-0001", "mm"))
	}},
	{"moved", func(b *Bench) {
		midNeck(b)
		b.Do(b.Moved(b.t.Context()))
	}},
	{"closing", func(b *Bench) { b.measureUntil(Sound, routine.ToClose) }},
	{"asked about", func(b *Bench) { b.measureUntil(Neck{Relief: 0.28, High: 0.4}, routine.ToAsk) }},
	{"is it so", func(b *Bench) { b.measureUntil(Neck{Relief: 0.28, High: 0.4}, routine.ToBeSure) }},
	{"check failed", func(b *Bench) {
		midNeck(b)
		b.Check(recordtest.Carriage, 1.03)
	}},
	{"called back", func(b *Bench) {
		b.Measure("QM-2611-0001", Sound, -1)
		b.Check(recordtest.Carriage, 1.03)
		b.Do(b.Clear(b.t.Context()))
	}},
	{"taken up called back", func(b *Bench) {
		b.Measure("QM-2611-0001", Sound, -1)
		b.Check(recordtest.Carriage, 1.03)
		b.Check(recordtest.Carriage, 1)
		b.Do(b.Again(b.t.Context()))
	}},
	{"alarm", func(b *Bench) {
		recordtest.Must(b.Record.RaiseAlarm(b.t.Context(), batch.Alarm{Kind: batch.DriftAlarm, Subject: "drift/" + recordtest.Height, GaugeID: recordtest.Height, Seen: 6,
			Words: "The height gauge moves: its last 6 checks on the 1 mm master went up each time.", LookAt: "The drift chart on the gauge's page."}))(b.t)
		b.Do(b.ReloadAlarms(b.t.Context()))
	}},
	{"study", func(b *Bench) {
		st := recordtest.Must(b.Record.StartStudy(b.t.Context(), Inspector, recordtest.Height, batch.StudyPlan{Kind: batch.CrossedStudy, About: "height of five blocks",
			Parts: []string{"1", "2", "3", "4", "5"}, Appraisers: []string{Inspector, "Ossian Reed"}, Trials: 2, Seed: 3, ToleranceMM: 0.5}))(b.t)
		b.Do(b.BeginStudy(b.t.Context(), st.ID))
		b.Frame(recordtest.Height, 0.2, true)
	}},
	{"sweep asked for", sweepAskedFor},
	{"sweeping", func(b *Bench) {
		sweepAskedFor(b)
		b.Frame(Place, 0, false)
		b.Frame(recordtest.Carriage, 0.1, false)
		b.Do(b.Take(b.t.Context()))
	}},
	{"leaves", func(b *Bench) { b.leaves() }},
	{"leaves between", func(b *Bench) { // what is across the upper limit of 0.30 mm
		b.leaves()
		b.Do(b.Entry(b.t.Context(), "0.25", "mm"))
		b.Do(b.Entry(b.t.Context(), "0.35", "mm"))
		for snap := b.Snapshot(); snap.Round == 1; snap = b.Snapshot() {
			if snap.Leaves == nil {
				b.Press(Sound)
				continue
			}
			b.Do(b.Leaf(b.t.Context(), 9))
		}
	}},
	{"passed", func(b *Bench) { b.Measure("QM-2611-0001", Sound, -1) }},
	{"scanned again", func(b *Bench) {
		b.Measure("QM-2611-0001", Sound, -1)
		b.Do(b.Entry(b.t.Context(), "QM-2611-0001", "mm"))
	}},
	{"rework", func(b *Bench) { b.Measure("QM-2611-0001", tooMuchRelief, -1) }},
	{"high fret", func(b *Bench) { b.Measure("QM-2611-0001", Neck{Relief: 0.28, High: 0.15}, -1) }},
	{"reworked", func(b *Bench) {
		b.Measure("QM-2611-0001", tooMuchRelief, -1)
		b.Do(b.RecordRework(b.t.Context(), batch.ReworkAction{What: inspect.StepRod, Turns: 0.125, Direction: "tighten"}))
	}},
	{"reworked twice", func(b *Bench) {
		b.Measure("QM-2611-0001", tooMuchRelief, -1)
		for range 2 {
			b.Do(b.RecordRework(b.t.Context(), batch.ReworkAction{What: inspect.StepRod, Turns: 0.125, Direction: "tighten"}))
		}
	}},
	{"begins, carried over", (*Bench).slotted},
	{"carried over", func(b *Bench) {
		b.slotted()
		b.Press(Sound)
	}},
	{"passed, carried over", func(b *Bench) {
		b.slotted()
		for b.Snapshot().Next >= 0 {
			b.Press(Sound)
		}
	}},
	{"repair", decided(inspect.Repair)},
	{"scrapped", decided(inspect.Scrap)},
	{"concession", decided(inspect.Concession)},
	{"round 2", func(b *Bench) {
		b.Do(b.OpenBatch(b.t.Context(), "QM-2612"))
		b.Do(b.Entry(b.t.Context(), "QM-2612-0001", "mm"))
		for n := nearLimit(b); b.Snapshot().Round == 1; {
			b.Press(n)
		}
	}},
	{"undecided", func(b *Bench) {
		b.Do(b.OpenBatch(b.t.Context(), "QM-2612"))
		b.Measure("QM-2612-0001", nearLimit(b), -1)
	}},
	{"not measured", func(b *Bench) {
		b.Measure("QM-2611-0001", Sound, 1)
		b.Do(b.Skip(b.t.Context()))
		for b.Snapshot().Next >= 0 {
			b.Press(Sound)
		}
	}},
	{"parked", func(b *Bench) {
		midNeck(b)
		b.Do(b.Park(b.t.Context(), "settling after the rod"))
	}},
	{"given up", func(b *Bench) {
		midNeck(b)
		b.Do(b.Abandon(b.t.Context(), "scanned by mistake"))
	}},
	{"nobody at the bench", func(b *Bench) { b.SignsOn() }},
	{"signed off in mid-neck", func(b *Bench) {
		b.SignsOn()
		b.Do(b.SetInspector(b.t.Context(), Inspector))
		midNeck(b)
		b.Do(b.SignOff(b.t.Context(), Inspector))
	}},
	{"unattended", func(b *Bench) {
		midNeck(b)
		b.Working("Inspecting QM-2611-0001 unattended.")
	}},
}

var tooMuchRelief = Neck{Relief: 0.46}

// slotted measures a neck with a nut slot too high, has it filed, and begins the next attempt.
func (b *Bench) slotted() {
	b.t.Helper()
	b.Measure("QM-2611-0001", Neck{Relief: 0.28, Slot: 0.3}, -1)
	b.Do(b.RecordRework(b.t.Context(), batch.ReworkAction{What: inspect.StepNut, String: 3}))
	b.Do(b.Again(b.t.Context()))
}

// SignsOn has people sign on from now on.
func (b *Bench) SignsOn() {
	b.t.Helper()
	recordtest.SignsOn(b.t, b.Record, Manager)
	b.Do(b.ReloadShop(b.t.Context()))
}

func midNeck(b *Bench) { b.Measure("QM-2611-0001", Sound, 12) }

// leaves brings a neck whose relief is found with a set of feeler leaves, its pitch confirmed.
func (b *Bench) leaves() {
	b.t.Helper()
	ctx := b.t.Context()
	recordtest.ByEye(b.t, b.Record, "QM-2614", "leaves", batch.LeavesGauge)
	b.Do(b.ReloadGauges(ctx))
	b.Do(b.OpenBatch(ctx, "QM-2614"))
	b.Measure("QM-2614-0001", Sound, 1)
}

// measureUntil measures the first neck until a point is asked for a purpose.
func (b *Bench) measureUntil(n Neck, purpose routine.Purpose) {
	b.t.Helper()
	b.Do(b.Entry(b.t.Context(), "QM-2611-0001", "mm"))
	for b.Snapshot().Next >= 0 && b.Snapshot().Purpose != purpose {
		b.Press(n)
	}
}

func sweepAskedFor(b *Bench) {
	b.Do(b.OpenBatch(b.t.Context(), "QM-2613"))
	b.Measure("QM-2613-0001", Sound, 1)
}

// decided is a neck with too much relief on which a person has decided.
func decided(d inspect.Disposition) func(*Bench) {
	return func(b *Bench) {
		b.Measure("QM-2611-0001", tooMuchRelief, -1)
		b.Do(b.Decide(b.t.Context(), d, Manager, "looked at together"))
	}
}

// nearLimit is a neck whose third string lies half a micrometre above its lower limit, by the specification on the bench.
func nearLimit(b *Bench) Neck {
	b.t.Helper()
	for _, l := range b.Snapshot().Batch.Spec.Spec.Limits {
		if l.Characteristic == inspect.Action && l.String.Number == 3 {
			return Neck{Relief: Sound.Relief, Third: (*l.LowerMM-*l.UpperMM)/2 + 0.0005}
		}
	}
	b.t.Fatal("no limit for the action of string 3")
	return Neck{}
}
