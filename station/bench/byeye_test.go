package bench

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// readByEyeOnly is a shop whose gauges have no line, at a neck whose pitch is confirmed: its routine takes relief by the profile's word.
func readByEyeOnly(t *testing.T, profile string, kinds ...batch.GaugeKind) *shop {
	t.Helper()
	s := open(t)
	for _, g := range []string{carriage, height, beam} {
		s.ok(s.db.RetireGauge(s.ctx, "", g))
	}
	recordtest.ByEye(t, s.db, "QM-2614", profile, kinds...)
	s.ok(s.bench.ReloadGauges(s.ctx))
	s.ok(s.bench.OpenBatch(s.ctx, "QM-2614"))
	s.ok(s.bench.Entry(s.ctx, "QM-2614-0001", "mm"))
	s.ok(s.bench.Take(s.ctx))
	return s
}

// tap taps the rung with so many mm that go in; 0: none goes in.
func (s *shop) tap(mm float64) {
	s.t.Helper()
	l := s.bench.Snapshot().Leaves
	if l == nil {
		s.t.Fatal("no leaf is asked for")
	}
	i := slices.IndexFunc(l.Rungs, func(r Rung) bool { return math.Abs(Thickness(r.Passes)-mm) < 1e-9 })
	if i < 0 {
		s.t.Fatalf("no leaf of %g mm among %v", mm, l.Rungs)
	}
	s.ok(s.bench.Leaf(s.ctx, i))
}

// heights types every string's height in the middle of its limits.
func (s *shop) heights() {
	for snap := s.bench.Snapshot(); snap.Next >= 0 && snap.Verdict == nil; snap = s.bench.Snapshot() {
		text, p := "0.45", snap.Points[snap.Next].Point
		switch p.Kind {
		case batch.LeafPasses:
			return // of the next round
		case batch.ActionHeight:
			text = map[int]string{1: "1.8", 2: "1.92", 3: "2.04", 4: "2.16", 5: "2.28", 6: "2.4"}[p.String]
		}
		s.ok(s.bench.Entry(s.ctx, text, "mm"))
	}
}

// TestLeavesAndRuler measures a neck with leaves and a ruler alone: no check is asked for, one tap tells the leaf that goes in and the one that
// does not, every reading names its gauge and has the uncertainty of its kind.
func TestLeavesAndRuler(t *testing.T) {
	s := readByEyeOnly(t, "leaves", batch.LeavesGauge, batch.RulerGauge)
	snap := s.bench.Snapshot()
	for _, g := range snap.Gauges {
		if g.Locked || g.Due || g.ToDo != "" || !strings.Contains(g.Words, "read by eye") {
			t.Errorf("gauge %+v", g)
		}
	}
	if l := snap.Leaves; l == nil || l.Finer || l.Stops || len(l.Rungs) != 1+len(batch.LeavesMetric) || len(l.Rungs[0].Passes) != 0 || len(l.Rungs[len(l.Rungs)-1].Stops) != 0 {
		t.Fatalf("leaves %+v", l)
	}
	s.refused(s.bench.Take(s.ctx), "tap the leaf, or type it")
	s.refused(s.bench.Leaf(s.ctx, 99), "leaf 100 of")
	s.tap(0.15)
	if n := s.bench.Snapshot().Notice; n == nil || n.Text != "Taken: bass side, fret 7: 0.150 mm (0.0059 in) goes in, 0.200 mm (0.0079 in) does not." {
		t.Errorf("notice %+v", n)
	}
	s.ok(s.bench.Undo(s.ctx)) // both, as they were tapped
	if now := s.bench.Snapshot(); now.Points[now.Next].Point != (batch.Point{Kind: batch.LeafPasses, Track: "bass", Fret: 7}) {
		t.Fatalf("after taking back %s is asked for", now.Points[now.Next].Words)
	}
	s.tap(0.15)
	s.ok(s.bench.Entry(s.ctx, "0.20", "mm")) // typed: the one that goes in alone
	l := s.bench.Snapshot().Leaves
	if l == nil || !l.Stops || Thickness(l.Rungs[0].Stops) != 0.25 {
		t.Fatalf("after a typed leaf: %+v", l)
	}
	s.refused(s.bench.CheckGauges(s.ctx), "no gauge needs a check")
	s.ok(s.bench.Leaf(s.ctx, 0))
	s.heights()
	snap = s.bench.Snapshot()
	if snap.Verdict == nil || snap.Verdict.Disposition != inspect.Pass {
		t.Fatalf("verdict %+v, %s", snap.Verdict, snap.Result.Why)
	}
	rows, err := s.db.Readings(s.ctx, snap.Inspection.ID)
	s.ok(err)
	names := map[string]string{}
	for _, g := range snap.Gauges {
		names[g.ID] = g.Name
	}
	for _, r := range batch.Standing(rows) {
		want, u := "ruler", batch.RulerU
		switch {
		case r.Point.Kind == batch.PitchDeclared:
			want, u = "", 0
		case r.Point.Kind.IsLeaf():
			want, u = "feeler leaves", 0
		}
		if names[r.GaugeID] != want || math.Abs(r.U-u) > 1e-12 || r.CheckID != "" {
			t.Errorf("%v: with %q, u %g, check %q; want %q, %g and none", r.Point, names[r.GaugeID], r.U, r.CheckID, want, u)
		}
	}
	for _, c := range snap.Result.Characteristics {
		if c.Name != inspect.Relief {
			continue
		}
		if lo, hi := map[string]float64{"bass": 0.15, "treble": 0.20}[c.Track], map[string]float64{"bass": 0.20, "treble": 0.25}[c.Track]; *c.IntervalMM[0] != lo || *c.IntervalMM[1] != hi || c.Zone != inspect.Conforming {
			t.Errorf("%s: %v to %v, %s", c.Track, *c.IntervalMM[0], *c.IntervalMM[1], c.Zone)
		}
	}
}

// TestRulerSaysHowSureItIs: a height by ruler has the ruler's uncertainty, that of half a 64th where a fraction was read, its own where one was
// typed; what is said of it says so.
func TestRulerSaysHowSureItIs(t *testing.T) {
	s := readByEyeOnly(t, "leaves", batch.LeavesGauge, batch.RulerGauge)
	s.tap(0.15)
	s.tap(0.15)
	for s.bench.Snapshot().Points[s.bench.Snapshot().Next].Point.Kind == batch.NutHeight {
		s.ok(s.bench.Entry(s.ctx, "0.45", "mm"))
	}
	for _, c := range []struct {
		text, said string
		u          float64
	}{
		{"1.8 mm", "1.800 mm (0.0709 in) ± 0.10 mm, by ruler.", 0.05},
		{"5/64 in", "1.984 mm (0.0781 in) ± 0.23 mm, by ruler.", 25.4 / 64 / math.Sqrt(12)},
		{"2.0 ± 0.04", "2.000 mm (0.0787 in) ± 0.04 mm, by ruler.", 0.02},
	} {
		p := s.bench.Snapshot().Points[s.bench.Snapshot().Next]
		s.ok(s.bench.Entry(s.ctx, c.text, "mm"))
		if n := s.bench.Snapshot().Notice; n == nil || n.Text != "Taken: "+p.Words+", "+c.said {
			t.Errorf("%s: %+v, want %q", c.text, n, c.said)
		}
		rows, err := s.db.Readings(s.ctx, s.bench.Snapshot().Inspection.ID)
		s.ok(err)
		if r := rows[len(rows)-1]; math.Abs(r.U-c.u) > 1e-12 {
			t.Errorf("%s: u %g, want %g", c.text, r.U, c.u)
		}
	}
}

// TestLeafBetween: an interval across a limit is undecided, and the leaves between are asked for: two together where the set has none, with the
// uncertainty that they add.
func TestLeafBetween(t *testing.T) {
	s := readByEyeOnly(t, "leaves", batch.LeavesGauge, batch.RulerGauge)
	s.tap(0.25)
	s.ok(s.bench.Choose(s.ctx, "leaf passes/bass/7/0/0"))
	s.tap(0.09) // 0.09 goes in, 0.10 does not: below the lower limit 0.1 altogether, so nonconforming
	for _, c := range s.bench.Snapshot().Result.Characteristics {
		if c.Name == inspect.Relief && c.Track == "bass" && c.Zone != inspect.Nonconforming {
			t.Errorf("0.09 to 0.10 under 0.10: %s", c.Zone)
		}
	}
	s.ok(s.bench.Choose(s.ctx, "leaf stops/bass/7/0/0"))
	s.ok(s.bench.Entry(s.ctx, "0.35", "mm")) // across the upper limit 0.3
	s.ok(s.bench.Choose(s.ctx, "leaf passes/bass/7/0/0"))
	s.ok(s.bench.Entry(s.ctx, "0.25", "mm"))
	s.tap(0.20) // the other side
	s.heights()
	snap := s.bench.Snapshot()
	if snap.Round != 2 || snap.Leaves == nil || !snap.Leaves.Finer {
		t.Fatalf("round %d, leaves %+v, %v", snap.Round, snap.Leaves, snap.Verdict)
	}
	if r := snap.Leaves.Rungs; len(r) != 2 || Thickness(r[0].Stops) != 0.30 || Thickness(r[1].Passes) != 0.30 {
		t.Fatalf("between 0.25 and 0.35: %v, want the one leaf of 0.30", r)
	}
	s.tap(0.30)
	// 0.30 goes in: at least the upper limit itself, at most 0.35, so across it still. No leaf lies between, but pairs do.
	if snap = s.bench.Snapshot(); snap.Round != 3 || !snap.Leaves.Finer || len(snap.Leaves.Rungs[1].Passes) != 2 {
		t.Fatalf("round %d, %+v", snap.Round, snap.Leaves)
	}
	s.tap(0.31) // 0.25 and 0.06 together
	snap = s.bench.Snapshot()
	for _, c := range snap.Result.Characteristics {
		if c.Name != inspect.Relief || c.Track != "bass" {
			continue
		}
		want := math.Sqrt(0.01*0.01/12 + (2*batch.StackU*batch.StackU)/4)
		if c.Zone != inspect.Nonconforming || *c.IntervalMM[0] != 0.31 || *c.IntervalMM[1] != 0.32 || math.Abs(*c.U-want) > 1e-9 {
			t.Errorf("0.31 to 0.32: %s, %v, u %g, want %g", c.Zone, *c.Value, *c.U, want)
		}
	}
}

// TestNoLeafGoesIn: of what no leaf, or every leaf, finds one end is open: that is neither a value nor conforming.
func TestNoLeafGoesIn(t *testing.T) {
	s := readByEyeOnly(t, "leaves", batch.LeavesGauge, batch.RulerGauge)
	s.tap(0)
	s.tap(1)
	for _, c := range s.bench.Snapshot().Result.Characteristics {
		if c.Name == inspect.Relief && (c.Value != nil || c.Zone != inspect.Nonconforming) {
			t.Errorf("%s: %v, %s; want no value, outside its limits", c.Track, c.Value, c.Zone)
		}
	}
}

// TestLeavesLockedOut: with a certificate that has run out they are in no verdict.
func TestLeavesLockedOut(t *testing.T) {
	s := readByEyeOnly(t, "leaves", batch.LeavesGauge)
	all, err := s.db.Gauges(s.ctx)
	s.ok(err)
	g := all[len(all)-1]
	g.CertificateDue = s.at().AddDate(0, 0, -2)
	_, err = s.db.SaveGauge(s.ctx, "", g)
	s.ok(err)
	s.ok(s.bench.ReloadGauges(s.ctx))
	s.refused(s.bench.Leaf(s.ctx, 5), "the feeler leaves is locked out: its calibration was due on")
}

// TestStackTyped: two leaves typed together are their sum; of each it is asked whether the set has it.
func TestStackTyped(t *testing.T) {
	s := readByEyeOnly(t, "leaves", batch.LeavesGauge)
	s.ok(s.bench.Entry(s.ctx, "0.15+0.08", "mm"))
	s.ok(s.bench.Entry(s.ctx, "0.2 + 0.13", "mm"))
	if q := s.bench.Snapshot().Question; q == nil || !strings.Contains(q.Asks, "0.130 mm (0.0051 in) is no leaf of the feeler leaves") {
		t.Fatalf("asks %+v", q)
	}
	s.ok(s.bench.Answer(s.ctx, false))
	s.refused(s.bench.Entry(s.ctx, "0.10+0.05", "mm"), "thicker than the one that passes, 0.230 mm")
}

// TestBeamByEye: its feet are asked for once, its zero is read on the flat, and what is typed is corrected by it.
func TestBeamByEye(t *testing.T) {
	s := readByEyeOnly(t, "beam", batch.BeamByEyeGauge)
	snap := s.bench.Snapshot()
	if !snap.NeedsFeet || !snap.Gauges[0].Due || !strings.Contains(snap.Gauges[0].Words, "never been checked") {
		t.Fatalf("needs feet %v, gauge %+v", snap.NeedsFeet, snap.Gauges[0])
	}
	s.refused(s.bench.Entry(s.ctx, "0.2", "mm"), "locked out: it has never been checked")
	s.ok(s.bench.CheckGauges(s.ctx))
	if c := s.bench.Snapshot().Check; c == nil || !strings.Contains(c.Words, "Turn its dial to zero and confirm with Space, or type what it shows.") {
		t.Fatalf("check %+v", c)
	}
	s.bench.batch.Pattern = `\d{8}` // a neck that is scanned meanwhile is no zero of twenty kilometres
	for range 2 {
		if err := s.bench.Entry(s.ctx, "20260142", "mm"); err == nil || strings.Contains(err.Error(), "zero") || s.bench.Snapshot().Check == nil {
			t.Errorf("a serial number during the check: %v", err)
		}
	}
	s.bench.batch.Pattern = ""
	s.refused(s.bench.Entry(s.ctx, "20260142", "mm"), "more than a dial shows") // nor where nothing says what a serial number is
	s.ok(s.bench.Entry(s.ctx, "0.01", "mm"))
	if now := s.bench.Snapshot(); now.Check != nil || now.Gauges[0].Locked {
		t.Fatalf("check %+v, gauge %+v", now.Check, now.Gauges[0])
	}
	s.refused(s.bench.Entry(s.ctx, "0.2", "mm"), "where the feet of the beam on two feet stand")
	s.refused(s.bench.SetFeet(s.ctx, Feet{First: 200, Reads: 100, Second: 300}), "between the feet")
	s.ok(s.bench.SetFeet(s.ctx, Feet{First: 36.2, Reads: 214, Second: 403}))
	if s.bench.Snapshot().NeedsFeet {
		t.Error("the feet are asked for again")
	}
	s.ok(s.bench.Entry(s.ctx, "0.21", "mm"))
	rows, err := s.db.Readings(s.ctx, snap.Inspection.ID)
	s.ok(err)
	r := rows[len(rows)-1]
	if math.Abs(r.Value-0.20) > 1e-12 || r.Decoded != 0.21 || r.GaugeID == "" || r.CheckID == "" || math.Abs(2*r.U-0.0115) > 0.0005 || r.FeetMM != [2]float64{36.2, 403} {
		t.Errorf("%+v", r)
	}
	// Space is a dial turned to zero. A zero that moved too far fails, as any gauge's.
	s.set(s.at().Add(24 * time.Hour))
	s.ok(s.bench.CheckGauge(s.ctx, r.GaugeID))
	s.ok(s.bench.Take(s.ctx))
	if c, err := s.db.GaugeChecks(s.ctx, r.GaugeID); err != nil || len(c) != 2 || !c[1].Good || c[1].ZeroMM != 0 {
		t.Errorf("checks %+v, %v", c, err)
	}
}

// TestPlaceOf reads where a foot stands: a whole fret of this neck, or a length.
func TestPlaceOf(t *testing.T) {
	line := inspect.Line{Nut: 2, X: []float64{38, 72, 104}}
	for text, want := range map[string]float64{"fret 2": 70, "120": 120, "1 in": 25.4} {
		if mm, err := PlaceOf(text, line, unit.Millimetre); err != nil || math.Abs(mm-want) > 1e-9 {
			t.Errorf("%s is %g, %v; want %g", text, mm, err, want)
		}
	}
	for _, text := range []string{"fret 4", "fret 0", "fret 2.5", "fret 2 or 3", "fret"} {
		if mm, err := PlaceOf(text, line, unit.Millimetre); err == nil {
			t.Errorf("%s is taken as %g", text, mm)
		}
	}
}
