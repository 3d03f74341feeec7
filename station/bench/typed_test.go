package bench

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/station/bench/routine"
)

// TestTypedValues reads what people type.
func TestTypedValues(t *testing.T) {
	for _, c := range []struct {
		text, unit string
		number     float64
		gotUnit    string
		ok         bool
	}{
		{"0.31", "mm", 0.31, "mm", true},
		{".012", "in", 0.012, "in", true},
		{".012in", "mm", 0.012, "in", true},
		{`.012"`, "mm", 0.012, "in", true},
		{"0,31 mm", "in", 0.31, "mm", true},
		{"-3 cents", "mm", -3, "cents", true},
		{"+2c", "mm", 2, "cents", true},
		{"82.4 Hz", "mm", 82.4, "hz", true},
		{"7/64", "mm", 7.0 / 64, "in", true},
		{`1 7/64"`, "mm", 71.0 / 64, "in", true},
		{"10 thou", "mm", 10, "thou", true},
		{"10thou", "in", 10, "thou", true},
		{".010", "in", 0.010, "in", true},
		{"0.25 inch", "mm", 0.25, "in", true},
		{"7/64 mm", "in", 0, "", false},
		{"7/64 thou", "in", 0, "", false},
		{"7/0", "in", 0, "", false},
		{"7/64 cents", "in", 0, "", false},
		{"5 cm", "mm", 0, "", false},
		{"QM-2611-0001", "mm", 0, "", false},
		{"0.3.1", "mm", 0, "", false},
		{"1e3", "mm", 0, "", false},
		{"NaN", "mm", 0, "", false},
		{"", "mm", 0, "", false},
	} {
		v, ok := parseValue(c.text, c.unit)
		if v.expanded != nil {
			t.Errorf("%q brings an uncertainty of %g", c.text, *v.expanded)
		}
		if ok != c.ok || (ok && (v.number != c.number || v.unit != c.gotUnit)) {
			t.Errorf("%q in %s: %+v, %v; want %g %s, %v", c.text, c.unit, v, ok, c.number, c.gotUnit, c.ok)
		}
	}
}

// TestTypedReadings types what has no gauge on the line.
func TestTypedReadings(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.refused(s.bench.Entry(s.ctx, "0.3", "mm"), "confirm it with Space")
	s.ok(s.bench.Declare(s.ctx))
	s.ok(s.bench.Entry(s.ctx, ".0500", "in"))
	if got := s.bench.Snapshot().Points[1].Value; got != 1.27 {
		t.Fatalf(".0500 in became %g mm, want 1.27", got)
	}
	s.refused(s.bench.Entry(s.ctx, "3 cents", "mm"), "is a length")
	s.refused(s.bench.Entry(s.ctx, "500", "mm"), "within 100 mm")
}

// TestTypedUncertainty: a string's height that is typed has a ruler's uncertainty, 0.1 mm expanded, unless it is typed with its
// own; a crown the specification's.
func TestTypedUncertainty(t *testing.T) {
	for _, c := range []struct {
		text string
		kind batch.Kind
		u    float64 // below 0: refused
	}{
		{"1.95", batch.ActionHeight, 0.05},
		{".5 mm", batch.NutHeight, 0.05},
		{"1.95 ± 0.04", batch.ActionHeight, 0.02},
		{"1,95+-0,04mm", batch.ActionHeight, 0.02},
		{".077 +/- .002 in", batch.ActionHeight, 0.0254},
		{"0.31 ± .01", batch.Crown, 0.005},
		{"0.31", batch.Crown, 0},
		{"0.31", batch.BeamReading, 0},
		{"0.31", batch.LeafStops, 0},
		{"0.31 ± 0.01", batch.LeafStops, -1},
		{"0.31 ± 0", batch.ActionHeight, -1},
		{"0.31 ± 11", batch.ActionHeight, -1},
	} {
		v, ok := parseValue(c.text, "mm")
		u, err := v.u(c.kind)
		if !ok || (err != nil) != (c.u < 0) || err == nil && math.Abs(u-c.u) > 1e-15 {
			t.Errorf("%q of a %s: u %g, %v, read %v; want %g", c.text, c.kind, u, err, ok, c.u)
		}
	}
	if _, ok := parseValue("0.31 ± -0.1", "mm"); ok {
		t.Error("a negative uncertainty was read")
	}
}

// byHand opens a batch whose routine is typed: pitch of every string, feeler leaves, heights.
func byHand(t *testing.T) *shop {
	s := open(t)
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "demo", "qm-flattop-645.toml"))
	s.ok(err)
	spec := strings.NewReplacer(`profile = "beam"`, `profile = "leaves"`, `pitch = "declared"`, `pitch = "measured"`, `revision = "A"`, `revision = "L"`).Replace(string(text))
	added := must1(t)(s.db.AddSpec(s.ctx, "", "", "leaves.toml", []byte(spec)))
	must(t)(s.db.OpenBatch(s.ctx, "", batch.Batch{Number: "QM-2614", Spec: added}, []string{"QM-2614-0001"}))
	s.ok(s.bench.OpenBatch(s.ctx, "QM-2614"))
	s.ok(s.bench.Entry(s.ctx, "QM-2614-0001", "mm"))
	return s
}

// TestTypedByHand types a whole neck: odd values are asked about or refused where they are typed, and nothing is lost.
func TestTypedByHand(t *testing.T) {
	s := byHand(t)
	asked := func() string { snap := s.bench.Snapshot(); return snap.Points[snap.Next].Words }
	if !strings.Contains(asked(), "cents from") {
		t.Fatalf("asks for %q, want the string's target beside its pitch", asked())
	}
	s.refused(s.bench.Entry(s.ctx, "10 thou", "mm"), "given in cents or Hz")
	s.refused(s.bench.Entry(s.ctx, "ten thou", "mm"), "neither a value nor a serial number")
	s.ok(s.bench.Entry(s.ctx, "329.6", "mm")) // Hz typed without its unit
	if h := s.bench.Snapshot().Question; h == nil || !h.Cents || !strings.Contains(h.Asks, "Hz") {
		t.Fatalf("held %+v", h)
	}
	s.ok(s.bench.Answer(s.ctx, false))
	for range 6 {
		s.ok(s.bench.Entry(s.ctx, "-1.5 cents", "mm"))
	}
	s.ok(s.bench.Entry(s.ctx, "0.31", "mm"))
	if q := s.bench.Snapshot().Question; q == nil || !strings.Contains(q.Asks, "no leaf that is commonly made") {
		t.Fatalf("asked %+v", q)
	}
	s.ok(s.bench.Answer(s.ctx, false))
	for range 2 { // bass and treble: each leaf that passes, then the one that does not
		s.ok(s.bench.Entry(s.ctx, ".20", "mm"))
		s.refused(s.bench.Entry(s.ctx, "0.15", "mm"), "thicker than the one that passes, 0.200 mm")
		s.ok(s.bench.Entry(s.ctx, "0.25", "mm"))
	}
	s.ok(s.bench.Entry(s.ctx, "0.017", "mm")) // an inch value in mm
	if h := s.bench.Snapshot().Question; h == nil || !strings.Contains(h.Asks, "is the unit right") {
		t.Fatalf("held %+v", h)
	}
	s.ok(s.bench.Answer(s.ctx, false))
	for range 6 {
		s.ok(s.bench.Entry(s.ctx, ".018", "in"))
	}
	for s.bench.Snapshot().Next >= 0 && s.bench.Snapshot().Round == 1 {
		s.ok(s.bench.Entry(s.ctx, "0.018", "mm"))
		s.ok(s.bench.Answer(s.ctx, false))
		s.ok(s.bench.Entry(s.ctx, map[int]string{1: "1.8", 2: "1.92", 3: "2.04", 4: "2.16", 5: "2.28", 6: "2.4"}[s.bench.Snapshot().Points[s.bench.Snapshot().Next].Point.String], "mm"))
	}
	snap := s.bench.Snapshot()
	if snap.Verdict == nil || snap.Verdict.Disposition != inspect.Pass {
		t.Fatalf("stage %s, verdict %+v: %s", snap.Stage, snap.Verdict, snap.Result.Why)
	}
	for _, r := range snap.Result.Characteristics {
		if r.Name == "relief" && (r.Method != "leaves" || *r.Value != 0.225) {
			t.Errorf("relief %+v", r)
		}
		if (r.Name == inspect.Action || r.Name == inspect.NutHeight) && math.Abs(*r.U-batch.RulerU) > 1e-12 {
			t.Errorf("%s of string %d: u %g, want a ruler's", r.Name, r.String, *r.U)
		}
	}
}

// TestLeaves: a leaf that nobody makes, or that is not of the shop's own set, is asked about; one that is made is taken, in whichever unit
// it is typed.
func TestLeaves(t *testing.T) {
	n := &neck{}
	n.Spec = &inspect.Spec{}
	p := &routine.Point{Point: batch.Point{Kind: batch.LeafPasses}}
	for text, asks := range map[string]string{
		"0.25": "", ".010 in": "", "10 thou": "", "0.254": "", "0.30": "", ".0015 in": "", "0.04": "", "1 mm": "", "1.5 thou": "", "0.305": "",
		"0.31":    "0.310 mm (0.0122 in) is no leaf that is commonly made; next to it are 0.305 mm (0.0120 in) and 0.330 mm (0.0130 in). Is it the right number, and the right unit?",
		".010":    "0.010 mm (0.0004 in) is no leaf that is commonly made; next to it is 0.020 mm (0.0008 in). Is it the right number, and the right unit?",
		"7/64 in": "2.778 mm (0.1094 in) is no leaf that is commonly made; next to it is 1.000 mm (0.0394 in). Is it the right number, and the right unit?",
	} {
		v, _ := parseValue(text, "mm")
		mm, _ := v.mm()
		if got := n.leafAsked(p, []float64{mm}, nil); got != asks {
			t.Errorf("%s: asks %q, want %q", text, got, asks)
		}
	}
	n.Spec.Routine = &inspect.Routine{LeavesMM: []float64{0.3, 0.2}}
	for mm, own := range map[float64]bool{0.2: true, 0.3: true, 0.25: false} {
		if got := n.leafAsked(p, []float64{mm}, nil); (got == "") != own || !own && !strings.Contains(got, "no leaf of this shop's set; next to it are 0.200 mm (0.0079 in) and 0.300 mm") {
			t.Errorf("%g mm of the shop's own: asks %q", mm, got)
		}
	}
	p.Point.Kind = batch.ActionHeight
	if got := n.leafAsked(p, []float64{1.93}, nil); got != "" {
		t.Errorf("a string's height: asks %q", got)
	}
}

// TestScanIsNoReason keeps a scan that went into the wrong field from deciding anything.
func TestScanIsNoReason(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	s.ok(s.bench.Skip(s.ctx))
	s.finish(nil)
	s.refused(s.bench.Entry(s.ctx, "QM-2611-0002", "mm"), "waits for a person's decision")
	s.refused(s.bench.Decide(s.ctx, inspect.Pass, "Wren Halloway", "QM-2611-0002"), "is a serial number")
	s.refused(s.bench.Decide(s.ctx, "", "Wren Halloway", "three agree"), "no disposition")
}
