package bench

import (
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/station/bench/gate"
)

// signedOn is a shop in which people sign on, two of whom have badges; Wren Halloway is at the bench.
func signedOn(t *testing.T) *shop {
	t.Helper()
	s := badged(t)
	recordtest.SignsOn(t, s.db, "Ilse Marchetti-Roe")
	s.ok(s.bench.ReloadShop(s.ctx))
	s.handIs("", "")
	s.ok(s.bench.Entry(s.ctx, "WH-01", "mm"))
	s.handIs("Wren Halloway", "")
	return s
}

// handIs checks who is at the bench, and why nobody is.
func (s *shop) handIs(name, why string) {
	s.t.Helper()
	snap := s.bench.Snapshot()
	if snap.Inspector != name || !strings.Contains(snap.Left, why) || why == "" && snap.Left != "" {
		s.t.Fatalf("%q is at the bench (%q), want %q (%q)", snap.Inspector, snap.Left, name, why)
	}
}

// untaken presses the key of the gauge asked for and wants it refused as nobody's, with its sound and nothing recorded.
func (s *shop) untaken() {
	s.t.Helper()
	before := s.bench.Snapshot()
	p := before.Points[before.Next]
	s.frame(p.GaugeID, good(p, before.Batch.Spec.Spec), true)
	after := s.bench.Snapshot()
	rows, err := s.db.Readings(s.ctx, after.Inspection.ID)
	s.ok(err)
	if after.Taken != before.Taken || len(rows) != before.Taken || after.Serial != before.Serial {
		s.t.Fatalf("%d readings of %s, %d before of %s", after.Taken, after.Serial, before.Taken, before.Serial)
	}
	s.said("but it was not used, because nobody is at the bench: scan your badge, or give your name and PIN", true)
	if k := len(after.Sounds); k == 0 || after.Sounds[k-1].Sound != Refused {
		s.t.Fatalf("sounds %+v, want the refused one last", after.Sounds)
	}
}

// Two people alternate within one neck: every reading is whose badge was scanned last.
func TestTwoPeopleAlternateWithinOneNeck(t *testing.T) {
	s := signedOn(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	badges := []string{"WH-01", "00417"}
	names := map[string]string{"WH-01": "Wren Halloway", "00417": "Ossian Reed"}
	var want []string
	for i := 0; s.bench.Snapshot().Next >= 0; i++ {
		badge := badges[i/3%2]
		s.ok(s.bench.Entry(s.ctx, badge, "mm"))
		s.press(nil)
		want = append(want, names[badge])
	}
	snap := s.bench.Snapshot()
	rows, err := s.db.Readings(s.ctx, snap.Inspection.ID)
	s.ok(err)
	if len(rows) != len(want) || snap.Verdict == nil {
		t.Fatalf("%d readings of %d presses, verdict %v", len(rows), len(want), snap.Verdict)
	}
	for i, r := range rows {
		if r.By != want[i] {
			t.Errorf("reading %d is %s's, taken by %s", i, r.By, want[i])
		}
	}
}

// Half an hour without a deed, or a new shift, and nobody is at the bench; the neck stays where it was, what a gauge sends then is told as
// not taken, and the next badge goes on with it.
func TestHandEndsAndTheNeckStays(t *testing.T) {
	for _, c := range []struct {
		name, why string
		until     func(s *shop) time.Time
	}{
		{"idle", "Wren Halloway did nothing here for 30 minutes and is signed off.", func(s *shop) time.Time { return s.at().Add(handIdle) }},
		{"shift", "Wren Halloway is signed off.", func(s *shop) time.Time {
			return gate.ShiftBegan(nil, s.at()).Add(24*time.Hour + time.Minute)
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := signedOn(t)
			s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
			s.press(nil)
			s.press(nil)
			before := s.bench.Snapshot()
			s.set(c.until(s))
			s.bench.Refresh()
			s.handIs("", c.why)
			if now := s.bench.Snapshot(); now.Serial != before.Serial || now.Next != before.Next || now.Stage != Measuring {
				t.Fatalf("the neck is %q at point %d, %s", now.Serial, now.Next, now.Stage)
			}
			s.untaken()
			for what, do := range map[string]func() error{
				"Space": func() error { return s.bench.Take(s.ctx) }, "the foot switch": func() error { return s.bench.FootPress(s.ctx, false) },
				"F2": func() error { return s.bench.Undo(s.ctx) }, "F4": func() error { return s.bench.Park(s.ctx, "") },
				"a neck": func() error { return s.bench.Entry(s.ctx, "QM-2611-0002", "mm") }, "a value": func() error { return s.bench.Entry(s.ctx, "0.31", "mm") },
				"a check": func() error { return s.bench.CheckGauge(s.ctx, carriage) },
			} {
				if err := do(); err == nil || !strings.Contains(err.Error(), "nobody is at the bench") {
					t.Errorf("%s: %v", what, err)
				}
			}
			s.ok(s.bench.Entry(s.ctx, "00417", "mm"))
			s.handIs("Ossian Reed", "")
			if c.name == "idle" { // a new shift's gauges are checked first
				s.press(nil)
				if now := s.bench.Snapshot(); now.Taken != before.Taken+1 {
					t.Errorf("%d readings, %d before: %+v", now.Taken, before.Taken, now.Notice)
				}
			}
		})
	}
}

// Whoever acts stays: each deed begins the half hour anew, and so does a gauge's key.
func TestHandThatActsStays(t *testing.T) {
	s := signedOn(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	for range 3 {
		s.set(s.at().Add(handIdle - 2*time.Second))
		s.press(nil)
		s.bench.Refresh()
		s.handIs("Wren Halloway", "")
	}
	s.ok(s.bench.SignOff(s.ctx, "Ossian Reed"))
	s.handIs("Wren Halloway", "")
	s.ok(s.bench.SignOff(s.ctx, "Wren Halloway"))
	s.handIs("", "Wren Halloway has signed off.")
	s.untaken()
}

// After a start of the station nobody is at the bench, as a reading then shows; nor is who may not measure, or is retired.
func TestWhoMayBeTheHand(t *testing.T) {
	s := signedOn(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	s.restart()
	s.handIs("", "")
	s.untaken()
	seal := batch.WithSeals(s.ctx, batch.Seal{By: "Ilse Marchetti-Roe", Reason: "as agreed"})
	must(t)(s.db.AddPerson(seal, "Ilse Marchetti-Roe", "Una Vost", batch.Viewer))
	s.ok(s.db.SetBadge(seal, "Ilse Marchetti-Roe", "Una Vost", "UV-01"))
	s.refused(s.bench.Entry(s.ctx, "UV-01", "mm"), "Una Vost is entered as viewer, who may not measure")
	s.refused(s.bench.SetInspector(s.ctx, "Una Vost"), "may not measure")
	s.handIs("", "")
	s.ok(s.bench.Entry(s.ctx, "WH-01", "mm"))
	s.ok(s.db.Retire(seal, "Ilse Marchetti-Roe", "Wren Halloway"))
	s.ok(s.bench.ReloadShop(s.ctx))
	s.handIs("", "")
	s.refused(s.bench.SetInspector(s.ctx, "Wren Halloway"), "is not entered")
	s.refused(s.bench.Entry(s.ctx, "WH-01", "mm"), "nobody is at the bench")
}
