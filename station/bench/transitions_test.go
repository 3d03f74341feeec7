package bench

import (
	"context"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/inspect"
)

// reach are the ways to every state from a shop that has just been opened.
var reach = map[kind]func(*shop){
	isNoBatch: func(s *shop) { s.restart() }, // two batches are open
	isIdle:    func(*shop) {},
	isMeasuring: func(s *shop) {
		s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
		s.press(nil)
		s.press(nil)
	},
	isQuestioned: func(s *shop) {
		reachMeasuring(s)
		s.frameAs(carriage, 0.3, "in", true, time.Second)
	},
	isSweeping: func(s *shop) {
		s.sweepable()
		s.ok(s.bench.Entry(s.ctx, "QM-2614-0001", "mm"))
		s.ok(s.bench.Take(s.ctx)) // at pitch
		s.frame("gauge-place", 0, false)
		s.frameAs(carriage, 0.1, "mm", false, time.Millisecond)
		s.ok(s.bench.Take(s.ctx))
	},
	isDeciding: func(s *shop) {
		s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
		s.press(nil)
		s.ok(s.bench.Skip(s.ctx))
		s.finish(nil)
	},
	isDoubled: func(s *shop) {
		s.bowed()
		s.ok(s.bench.RecordRework(s.ctx, eighth))
		s.ok(s.bench.RecordRework(s.ctx, eighth))
	},
	isDecided: func(s *shop) {
		s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
		s.finish(nil)
	},
	isScannedAgain: func(s *shop) {
		s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
		s.finish(nil)
		s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	},
	isStudying: func(s *shop) {
		st := s.plan(batch.StudyPlan{
			Kind: batch.TypeOneStudy, About: "1 mm master", Appraisers: []string{"Wren Halloway"}, Trials: 25, References: []float64{1}, ToleranceMM: 0.1,
		})
		s.ok(s.bench.BeginStudy(s.ctx, st.ID))
	},
	isChecking: func(s *shop) {
		reachMeasuring(s)
		s.ok(s.bench.CheckGauge(s.ctx, height))
	},
}

func reachMeasuring(s *shop) {
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	s.press(nil)
}

// sweepable gives the shop a position encoder and a batch whose necks are swept.
func (s *shop) sweepable() {
	s.t.Helper()
	must(s.t)(s.db.SaveGauge(s.ctx, "", batch.Gauge{
		ID: "gauge-place", Name: "carriage position", Measures: []batch.Kind{batch.Position}, Capture: "stream", Sense: 1, ResolutionMM: 0.01,
		Path: "/dev/none", Decoder: "channel and value",
	}))
	recordtest.ThreeNecks(s.t, s.db, "QM-2614", "qm-bolt-648-fretwork.toml")
	s.ok(s.bench.ReloadGauges(s.ctx))
	s.ok(s.bench.OpenBatch(s.ctx, "QM-2614"))
}

// in is a shop whose bench is in a state.
func in(t *testing.T, k kind) *shop {
	t.Helper()
	s := open(t)
	reach[k](s)
	if got := s.bench.state.kind(); got != k {
		t.Fatalf("the bench is %s, want %s; notice %+v", got, k, s.bench.Snapshot().Notice)
	}
	return s
}

var kinds = []kind{isNoBatch, isIdle, isMeasuring, isQuestioned, isSweeping, isDeciding, isDecided, isDoubled, isScannedAgain, isStudying, isChecking}

// TestPublishingChangesNothing publishes every state twice: what is shown is the same but for its version, and so is the state.
func TestPublishingChangesNothing(t *testing.T) {
	for _, k := range kinds {
		t.Run(string(k), func(t *testing.T) {
			s := in(t, k)
			before := s.bench.state
			s.bench.publish()
			first := *s.bench.Snapshot()
			s.bench.publish()
			second := *s.bench.Snapshot()
			if second.Version != first.Version+1 {
				t.Errorf("versions %d and %d", first.Version, second.Version)
			}
			second.Version = first.Version
			if !reflect.DeepEqual(first, second) {
				t.Errorf("shown first:\n%+v\nthen:\n%+v", first, second)
			}
			if !reflect.DeepEqual(s.bench.state, before) {
				t.Errorf("the state was %+v and is %+v", before, s.bench.state)
			}
		})
	}
}

// commands are the bench's commands that a state may refuse, as pages call them.
var commands = map[command]func(*Bench, context.Context) error{
	toOpenBatch:    func(b *Bench, ctx context.Context) error { return b.OpenBatch(ctx, "QM-2612") },
	toScan:         func(b *Bench, ctx context.Context) error { return b.Entry(ctx, "QM-2611-0003", "mm") },
	toTake:         func(b *Bench, ctx context.Context) error { return b.Take(ctx) },
	toUndo:         func(b *Bench, ctx context.Context) error { return b.Undo(ctx) },
	toDeclare:      func(b *Bench, ctx context.Context) error { return b.Declare(ctx) },
	toAnswer:       func(b *Bench, ctx context.Context) error { return b.Answer(ctx, false) },
	toSkip:         func(b *Bench, ctx context.Context) error { return b.Skip(ctx) },
	toChoose:       func(b *Bench, ctx context.Context) error { return b.Choose(ctx, "crown/bass/1/0/0") },
	toPark:         func(b *Bench, ctx context.Context) error { return b.Park(ctx, "") },
	toGiveUp:       func(b *Bench, ctx context.Context) error { return b.Abandon(ctx, "scanned by mistake") },
	toClear:        func(b *Bench, ctx context.Context) error { return b.Clear(ctx) },
	toInspectAgain: func(b *Bench, ctx context.Context) error { return b.Again(ctx) },
	toDecide: func(b *Bench, ctx context.Context) error {
		return b.Decide(ctx, inspect.Scrap, "Ilse Marchetti-Roe", "cracked")
	},
	toRework: func(b *Bench, ctx context.Context) error {
		return b.RecordRework(ctx, batch.ReworkAction{What: "pitch"})
	},
	toTakeBackWork: func(b *Bench, ctx context.Context) error { return b.TakeBackRework(ctx, "none") },
	toSetHand:      func(b *Bench, ctx context.Context) error { return b.SetHanded(ctx, "left") },
	toStudy:        func(b *Bench, ctx context.Context) error { return b.BeginStudy(ctx, "none") },
	toLeave:        func(b *Bench, ctx context.Context) error { return b.LeaveStudy(ctx) },
}

// TestRefusalsSayWhatIsOnTheBench tries every command in every state: where the table does not allow it, the refusal says what
// is on the bench, is a conflict, and changes nothing.
func TestRefusalsSayWhatIsOnTheBench(t *testing.T) {
	for _, k := range kinds {
		t.Run(string(k), func(t *testing.T) {
			s := in(t, k)
			refused := 0
			for c, run := range commands {
				if on := s.bench.refuses(c); on != nil {
					refused++
					s.refusedHere(on, c, run)
				}
			}
			if refused == 0 {
				t.Error("nothing is refused")
			}
		})
	}
}

// refuses is the state that the table refuses a command in, nil where it is done.
func (b *Bench) refuses(c command) state {
	on := b.base()
	if slices.Contains(rules[c].in, isChecking) || rules[c].alone {
		on = b.state
	}
	if slices.Contains(rules[c].in, on.kind()) {
		return nil
	}
	return on
}

// refusedHere runs a command that is refused in a state.
func (s *shop) refusedHere(on state, c command, run func(*Bench, context.Context) error) {
	s.t.Helper()
	before := s.bench.picture()
	err := run(s.bench, s.ctx)
	if err == nil || !strings.Contains(err.Error(), on.here(s.bench.words)) || batch.KindOf(err) != batch.Conflict {
		s.t.Errorf("%s: %v (kind %d), want a conflict that says %q", c, err, batch.KindOf(err), on.here(s.bench.words))
	}
	after := s.bench.picture()
	if after.Notice == nil || !after.Notice.Refused {
		s.t.Errorf("%s: the page shows %+v", c, after.Notice)
	}
	after.Notice, after.Sounds = before.Notice, before.Sounds
	if !reflect.DeepEqual(before, after) {
		s.t.Errorf("%s was refused and changed the bench", c)
	}
}

// TestErrorsHaveTheirKind: what was typed can be mended, what is not there is absent, what the record cannot do is the machine's.
func TestErrorsHaveTheirKind(t *testing.T) {
	s := in(t, isMeasuring)
	full := errFull
	for _, c := range []struct {
		what string
		do   func() error
		want batch.ErrorKind
	}{
		{"a wrong value", func() error { return s.bench.Entry(s.ctx, "500", "mm") }, batch.Mendable},
		{"neither value nor serial number", func() error { return s.bench.Entry(s.ctx, "ten thou", "mm") }, batch.Mendable},
		{"somebody unknown", func() error { return s.bench.SetInspector(s.ctx, "Nobody") }, batch.Mendable},
		{"a climate that is none", func() error { return s.bench.SetClimate(s.ctx, inspect.Climate{TemperatureC: new(400.0)}) }, batch.Mendable},
		{"no reason", func() error { return s.bench.Abandon(s.ctx, " ") }, batch.Mendable},
		{"another neck", func() error { return s.bench.Entry(s.ctx, "QM-2611-0002", "mm") }, batch.Conflict},
		{"no such point", func() error { return s.bench.Choose(s.ctx, "crown/none/1/0/0") }, batch.Absent},
		{"no such gauge", func() error { return s.bench.CheckGauge(s.ctx, "none") }, batch.Absent},
		{"a full disk", func() error {
			s.faulty.fail.Store(&full)
			defer s.faulty.fail.Store(nil)
			return s.bench.Entry(s.ctx, "0.4", "mm")
		}, batch.Machine},
	} {
		if err := c.do(); err == nil || batch.KindOf(err) != c.want {
			t.Errorf("%s: %v of kind %d, want kind %d", c.what, err, batch.KindOf(err), c.want)
		}
	}
}
