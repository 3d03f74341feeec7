package bench

import (
	"math"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/devices"
	"sagitta/inspect"
	"sagitta/station/bench/routine"
	"sagitta/testdata/usb"
)

// line is a gauge's line in the snapshot.
func (s *shop) line(id string) GaugeLine {
	s.t.Helper()
	for _, g := range s.bench.Snapshot().Gauges {
		if g.ID == id {
			return g
		}
	}
	s.t.Fatalf("no line for %s", id)
	return GaugeLine{}
}

// change edits a gauge's entry.
func (s *shop) change(id string, edit func(*batch.Gauge)) {
	s.t.Helper()
	all, err := s.db.Gauges(s.ctx)
	s.ok(err)
	for _, g := range all {
		if g.ID == id {
			edit(&g)
			must(s.t)(s.db.SaveGauge(s.ctx, "", g))
		}
	}
	s.ok(s.bench.ReloadGauges(s.ctx))
}

// connect reports every gauge's line as open.
func (s *shop) connect() {
	for _, id := range []string{carriage, height, beam} {
		s.bench.Health(devices.Health{Gauge: id, State: devices.StateWaiting, Since: s.at()})
	}
}

// good checks a gauge: zero and every master.
func (s *shop) check(id string, masters ...float64) {
	s.t.Helper()
	s.ok(s.bench.CheckGauge(s.ctx, id))
	s.frame(id, 0, true)
	for _, mm := range masters {
		s.frame(id, mm, true)
	}
	if c := s.bench.Snapshot().Check; c != nil {
		s.t.Fatalf("the check of %s goes on: %+v", id, c)
	}
}

func (s *shop) latest(id string) batch.GaugeCheck {
	s.t.Helper()
	all, err := s.db.GaugeChecks(s.ctx, id)
	s.ok(err)
	return all[len(all)-1]
}

// TestCheckWithoutMasters: a check of the zero alone says so, and where masters are entered; one that tried a master does not.
func TestCheckWithoutMasters(t *testing.T) {
	s := open(t)
	const said = "No master was tried, the zero alone: enter the masters on the gauge's page."
	for _, masters := range [][]float64{nil, {1}} {
		s.change(height, func(g *batch.Gauge) {
			g.Masters = nil
			for _, mm := range masters {
				g.Masters = append(g.Masters, batch.Master{NominalMM: mm, LimitMM: 0.02})
			}
		})
		s.check(height, masters...)
		n := s.bench.Snapshot().Notice
		if n == nil || strings.Contains(n.Text, said) != (len(masters) == 0) {
			t.Errorf("masters %v: %+v", masters, n)
		}
	}
}

// TestEveryMasterIsRead: one master out of its own limit fails the check.
func TestEveryMasterIsRead(t *testing.T) {
	s := open(t)
	s.change(height, func(g *batch.Gauge) {
		g.Masters = []batch.Master{{NominalMM: 0.5, LimitMM: 0.01}, {NominalMM: 2, LimitMM: 0.03}}
	})
	s.ok(s.bench.CheckGauge(s.ctx, height))
	for i, want := range []string{"flat reference", "0.5 mm master", "2 mm master"} {
		c := s.bench.Snapshot().Check
		if c == nil || !strings.Contains(c.Words, want) || c.Place != i+1 || c.Of != 3 {
			t.Fatalf("step %d: %+v", i+1, c)
		}
		s.frame(height, []float64{0, 0.504, 2.031}[i], true)
	}
	c := s.latest(height)
	if c.Good || len(c.Masters) != 2 || !strings.Contains(c.Why, "+0.031 mm on the 2 mm master (allowed 0.030)") || c.After != batch.CheckAskedFor {
		t.Errorf("check %+v", c)
	}
	s.check(height, 0.491, 2.029)
	if c := s.latest(height); !c.Good || c.After != batch.CheckFailed {
		t.Errorf("check %+v", c)
	}
}

// TestShift: a new day, a shift's beginning and another inspector each lock a gauge out that is checked each shift.
func TestShift(t *testing.T) {
	s := open(t)
	s.set(time.Date(2026, 11, 2, 10, 0, 0, 0, time.Local))
	for _, id := range []string{carriage, height, beam} {
		s.check(id, 1)
	}
	s.change(carriage, func(g *batch.Gauge) { g.EachShift, g.CheckHours = true, 0 })
	s.change(height, func(g *batch.Gauge) { g.CheckHours = 0 })
	s.bench.shifts = []time.Duration{6 * time.Hour, 14 * time.Hour}
	if g := s.line(carriage); g.Locked {
		t.Fatalf("locked out in its shift: %s", g.Words)
	}
	s.set(time.Date(2026, 11, 2, 14, 1, 0, 0, time.Local))
	s.connect()
	if g := s.line(carriage); !g.Due || !strings.Contains(g.Words, "a shift began at 14:00") || g.State != "locked out" {
		t.Errorf("at the next shift: %+v", g)
	}
	if g := s.line(height); g.Locked {
		t.Errorf("a gauge that is not checked each shift: %s", g.Words)
	}
	s.check(carriage, 1)
	if c := s.latest(carriage); c.After != batch.CheckShift || !c.Good {
		t.Errorf("check %+v", c)
	}
	s.ok(s.bench.SetInspector(s.ctx, "Ilse Marchetti-Roe"))
	if g := s.line(carriage); !strings.Contains(g.Words, "Ilse Marchetti-Roe has taken over and its last check was made by Wren Halloway") {
		t.Errorf("another inspector: %s", g.Words)
	}
	s.check(carriage, 1)
	s.set(time.Date(2026, 11, 3, 5, 59, 0, 0, time.Local))
	if g := s.line(carriage); g.Locked {
		t.Errorf("the late shift goes on after midnight: %s", g.Words)
	}
	s.set(s.at().Add(time.Minute))
	s.connect()
	if g := s.line(carriage); !strings.Contains(g.Words, "a shift began at 06:00") {
		t.Errorf("the next morning: %s", g.Words)
	}
}

// TestChecksOneAfterAnother walks through the gauges that need a check and are connected.
func TestChecksOneAfterAnother(t *testing.T) {
	s := open(t)
	s.refused(s.bench.CheckGauges(s.ctx), "no gauge needs a check")
	s.connect()
	s.set(s.at().Add(9 * time.Hour)) // all three are due
	s.bench.Health(devices.Health{Gauge: beam, State: devices.StateUnplugged, Since: s.at()})
	s.ok(s.bench.CheckGauges(s.ctx))
	c := s.bench.Snapshot().Check
	if c == nil || c.GaugeID != carriage || len(c.Then) != 1 || c.Then[0] != "height gauge" || c.After != batch.CheckDue {
		t.Fatalf("check %+v", c)
	}
	// The other gauge's key does not count for this check.
	s.frame(height, 0, true)
	if n := s.bench.Snapshot().Notice; !n.Refused || !strings.Contains(n.Text, "while the carriage indicator is being checked") {
		t.Errorf("notice %+v", n)
	}
	s.frame(carriage, 0, true)
	s.frame(carriage, 1, true)
	if c := s.bench.Snapshot().Check; c == nil || c.GaugeID != height || len(c.Then) != 0 {
		t.Fatalf("after the first: %+v", c)
	}
	s.frame(height, 0, true)
	s.frame(height, 1.03, true) // fails, and the walk goes on to nobody: the beam is away
	if c := s.bench.Snapshot().Check; c != nil {
		t.Fatalf("after the last: %+v", c)
	}
	s.check(height, 1)
	s.refused(s.bench.CheckGauges(s.ctx), "the beam on two feet cannot be checked while not connected")
}

// TestMasterThatIsNotThereIsAskedForAgain: a press on the bare flat does not pass for a failed gauge.
func TestMasterThatIsNotThereIsAskedForAgain(t *testing.T) {
	s := open(t)
	s.ok(s.bench.CheckGauge(s.ctx, height))
	s.frame(height, 0, true)
	s.frame(height, 0.001, true)
	if n := s.bench.Snapshot().Notice; !n.Refused || !strings.Contains(n.Text, "is that master under it?") {
		t.Fatalf("notice %+v", n)
	}
	s.frame(height, 1.001, true)
	if c := s.latest(height); !c.Good || len(c.Masters) != 1 {
		t.Fatalf("check %+v", c)
	}
	// A gauge that is really that far off says so twice.
	s.ok(s.bench.CheckGauge(s.ctx, height))
	s.frame(height, 0, true)
	s.frame(height, 1.4, true)
	s.frame(height, 1.401, true)
	if c := s.latest(height); c.Good || math.Abs(c.Masters[0].ReadMM-1.401) > 1e-9 {
		t.Fatalf("check %+v", c)
	}
}

// TestWhatBefellAGaugeSurvivesARestart: unplugged, switched on, a changed battery, a drop; each until the next check, which judges
// by how much the zero moved, whatever came before it.
func TestWhatBefellAGaugeSurvivesARestart(t *testing.T) {
	for what, happen := range map[string]func(s *shop){
		batch.CheckReconnect: (*shop).unplug,
		batch.CheckPowerUp:   func(s *shop) { s.status("power-up") },
		batch.CheckBattery:   func(s *shop) { s.status("low battery"); s.frame(height, 0.2, false) },
		batch.CheckDrop:      func(s *shop) { s.ok(s.bench.ReportEvent(s.ctx, "Wren Halloway", height, batch.CheckDrop)) },
	} {
		t.Run(what, func(t *testing.T) {
			s := open(t)
			happen(s)
			before := s.line(height)
			if !before.Due {
				t.Fatalf("not locked out: %+v", before)
			}
			s.ok(s.db.Close())
			s.reopen()
			s.restart()
			s.ok(s.bench.SetInspector(s.ctx, "Wren Halloway"))
			if after := s.line(height); !after.Due || after.Words != before.Words {
				t.Errorf("after a restart: %q, before it %q", after.Words, before.Words)
			}
			if g := s.line(beam); g.Locked {
				t.Errorf("another gauge is locked out: %s", g.Words)
			}
			s.ok(s.bench.CheckGauge(s.ctx, height))
			s.frame(height, 0.08, true) // four times what is allowed
			s.frame(height, 1.08, true)
			if c := s.latest(height); c.Good || !c.ZeroJudged || c.After != what || !strings.Contains(c.Why, "zero moved by +0.080 mm, more than the 0.020 mm allowed") {
				t.Errorf("check %+v", c)
			}
			if l := s.line(height); !l.Locked || !strings.Contains(s.bench.Snapshot().Notice.Text, "more than the 0.020 mm allowed") {
				t.Errorf("after it: %s, %+v", l.Words, s.bench.Snapshot().Notice)
			}
		})
	}
}

// doubted holds that of the neck on the bench just what a gauge has read is in doubt, and asked for again.
func (s *shop) doubted(snap *Snapshot, gauge string) {
	s.t.Helper()
	n := 0
	for _, p := range snap.Points {
		if p.InDoubt != (p.GaugeID == gauge && p.Taken) {
			s.t.Errorf("%s: in doubt %v", p.Words, p.InDoubt)
		}
		if p.InDoubt {
			n++
		}
	}
	if first := snap.Points[snap.Next]; n == 0 || !first.InDoubt || !strings.Contains(snap.Doubt, "asked for again") {
		s.t.Fatalf("%d in doubt; asked for %s; %q", n, first.Words, snap.Doubt)
	}
}

// TestFailedCheckOnTheBench: what the neck on the bench owes to the gauge is in doubt and asked for again; a neck with its
// verdict may not ship.
func TestFailedCheckOnTheBench(t *testing.T) {
	s := open(t)
	necks := 0.0
	own := func(p routine.Point, mm float64) float64 { // no two necks are alike
		if p.Point.Kind == batch.Crown && p.Point.Fret%2 == 1 {
			mm += 0.001 * necks
		}
		return mm
	}
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	if snap := s.finish(own); snap.Verdict == nil || snap.Verdict.Disposition != inspect.Pass {
		t.Fatalf("verdict %+v", snap.Verdict)
	}
	s.ok(s.bench.Clear(s.ctx))
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0002", "mm"))
	necks++
	for range 60 {
		if snap := s.bench.Snapshot(); snap.Points[snap.Next].GaugeID == height || snap.Question != nil {
			break
		}
		s.press(own)
	}
	s.ok(s.bench.CheckGauge(s.ctx, carriage))
	s.frame(carriage, 0, true)
	s.frame(carriage, 1.03, true)
	snap := s.bench.Snapshot()
	if want := "Stop QM-2611-0002 on the bench and QM-2611-0001: 2 inspections are in doubt, for they rest on its readings since its last check that passed, 2026-11-02 07:00"; !strings.Contains(snap.Notice.Text, want) {
		t.Errorf("notice %q, want in it %q", snap.Notice.Text, want)
	}
	s.doubted(snap, carriage)
	if snap.Counts.InDoubt != 2 || snap.Counts.MayShip() != 0 {
		t.Errorf("counts %+v", snap.Counts)
	}
	s.check(carriage, 1)
	snap = s.finish(own)
	if snap.Doubt != "" || snap.Verdict == nil || snap.Verdict.Disposition != inspect.Pass || snap.Counts.MayShip() != 1 {
		t.Fatalf("after the points were measured again: %q, %+v, %+v", snap.Doubt, snap.Verdict, snap.Counts)
	}

	// The first neck waits, called back: only what is in doubt is measured again.
	necks++
	s.ok(s.bench.Clear(s.ctx))
	if snap = s.bench.Snapshot(); len(snap.Waiting.InDoubt.Necks) != 1 || snap.Waiting.InDoubt.Necks[0].Serial != "QM-2611-0001" {
		t.Errorf("the idle bench lists %+v", snap.Waiting.InDoubt)
	}
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	snap = s.bench.Snapshot()
	if why := "Called back: 44 readings. The carriage indicator failed its check of "; !strings.HasPrefix(snap.Doubt, why) || snap.Purpose != routine.ToLink || snap.Inspection.Attempt != 1 {
		t.Errorf("%q, purpose %d, attempt %d", snap.Doubt, snap.Purpose, snap.Inspection.Attempt)
	}
	for s.bench.Snapshot().Next >= 0 {
		if p := s.bench.Snapshot().Points[s.bench.Snapshot().Next].Point; !ofLaying(p.Kind) {
			t.Fatalf("asked for %+v, which is not in doubt", p)
		}
		s.press(own)
	}
	if snap = s.bench.Snapshot(); snap.Doubt != "" || snap.Counts.InDoubt != 0 || snap.Counts.MayShip() != 2 || snap.Waiting.InDoubt.Total != 0 || snap.Verdict.Disposition != inspect.Pass {
		t.Fatalf("after measuring again: %q, %+v", snap.Doubt, snap.Counts)
	}

	// A verdict on the bench comes into doubt while it is looked at; a person's word ends it.
	s.ok(s.bench.CheckGauge(s.ctx, carriage))
	s.frame(carriage, 0, true)
	s.frame(carriage, 1.03, true)
	if snap = s.bench.Snapshot(); snap.Stage != Decided || !strings.Contains(snap.Doubt, "may not ship") {
		t.Fatalf("stage %s, %q", snap.Stage, snap.Doubt)
	}
	s.ok(recordtest.Clear(s.db, "Ilse Marchetti-Roe", snap.Inspection.NeckID, "measured with the beam"))
	s.ok(s.bench.ReloadDoubt(s.ctx))
	if snap = s.bench.Snapshot(); snap.Doubt != "" || snap.Counts.InDoubt != 1 {
		t.Fatalf("after a person cleared it: %q, %+v", snap.Doubt, snap.Counts)
	}
}

// TestAlikeAdaptersAreNamed: while one of two gauges with alike adapters is checked, the other's answer is a sign that
// they have changed sockets.
func TestAlikeAdaptersAreNamed(t *testing.T) {
	s := open(t)
	for _, id := range []string{height, beam} {
		s.change(id, func(g *batch.Gauge) { g.USBVendor, g.USBProduct, g.Path = usb.Vendor, usb.Product, "" })
	}
	s.ok(s.bench.CheckGauge(s.ctx, height))
	s.frame(beam, 0, true)
	if n := s.bench.Snapshot().Notice; !strings.Contains(n.Text, "the two have changed sockets") {
		t.Errorf("notice %q", n.Text)
	}
}

// TestChangedEntryAsksForACheck: a zero was read through the gauge's sense and corrections. With others it is no zero, and
// no reading counts before the next check.
func TestChangedEntryAsksForACheck(t *testing.T) {
	s := open(t)
	s.change(height, func(g *batch.Gauge) { g.Name, g.CheckHours = "tall gauge", 4 })
	if l := s.line(height); l.Locked {
		t.Fatalf("another name locked it: %s", l.Words)
	}
	for what, edit := range map[string]func(*batch.Gauge){
		"sense":      func(g *batch.Gauge) { g.Sense = -g.Sense },
		"correction": func(g *batch.Gauge) { g.Calibration = append(g.Calibration, batch.CalibrationPoint{ErrorMM: 0.01}) },
		"reference":  func(g *batch.Gauge) { g.Reference = append(g.Reference, batch.ReferencePoint{ReadingMM: 0.01}) },
	} {
		s.change(height, edit)
		if l := s.line(height); !l.Locked || !strings.Contains(l.Words, "has not been checked since") {
			t.Errorf("another %s: %s", what, l.Words)
		}
		must(t)(s.db.AppendGaugeCheck(s.ctx, batch.GaugeCheck{GaugeID: height, By: "Wren Halloway", Good: true, After: batch.CheckEntry}))
		s.ok(s.bench.ReloadGauges(s.ctx))
		if l := s.line(height); l.Locked {
			t.Errorf("checked again: %s", l.Words)
		}
	}
}

// TestStoppedCheckForgetsNoLowBattery: a check that was begun after a low battery and stopped leaves the gauge as it was: its
// next reading without the warning may come from a new battery.
func TestStoppedCheckForgetsNoLowBattery(t *testing.T) {
	s := open(t)
	low := devices.Reading{Gauge: height, At: s.at(), Raw: []byte("K:BAT\r\n")}
	low.Value.Status = "low battery"
	s.hands(low)
	s.ok(s.bench.CheckGauge(s.ctx, height))
	if c := s.bench.Snapshot().Check; c == nil || c.After != batch.CheckBattery {
		t.Fatalf("check %+v", c)
	}
	s.ok(s.bench.CancelCheck(s.ctx))
	s.frame(height, 1.2, false)
	if l := s.line(height); !l.Locked || !strings.Contains(l.Words, "low battery") {
		t.Errorf("after a stopped check: %s", l.Words)
	}
}
