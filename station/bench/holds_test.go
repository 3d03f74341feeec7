package bench

import (
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/station/bench/routine"
)

// sends decodes what a gauge sent, byte by byte, and hands the readings on as the gauge's line does.
func (s *shop) sends(gauge, bytes string, after time.Duration) {
	s.t.Helper()
	if after >= time.Second {
		after = s.dips(gauge, after)
	}
	s.set(s.at().Add(after))
	d, err := decode.Find("channel and value")
	s.ok(err)
	stream := d.Stream(true)
	for _, e := range append(stream.Feed(0, []byte(bytes)), stream.End(time.Second)...) {
		if e.Value == nil {
			s.bench.Fault(devices.Fault{Gauge: gauge, At: s.at(), Offset: e.Offset, Raw: e.Raw, Fault: e.Fault, Why: e.Why})
			continue
		}
		s.seq++
		s.hands(devices.Reading{Gauge: gauge, At: s.at(), Seq: s.seq, Offset: e.Offset + int64(s.seq)*100, Raw: e.Raw, Value: *e.Value,
			Key: e.Value.Channel == "K", Decoder: d.ID()})
	}
}

// holds wants the newest press to be held with a question, and discards it.
func (s *shop) holds(want string, taken int) {
	s.t.Helper()
	snap := s.bench.Snapshot()
	if snap.Question == nil || !strings.Contains(snap.Question.Asks, want) || snap.Taken != taken {
		s.t.Fatalf("held %+v, %d taken, notice %+v; want a question with %q and %d taken", snap.Question, snap.Taken, snap.Notice, want, taken)
	}
	s.ok(s.bench.Answer(s.ctx, false))
}

// TestFourDoubtsAboutALine: a changed unit, a changed sign, a doubled frame and a step beyond the gauge's travel are held with a question, not used; the readings that were used carry their whole context.
func TestFourDoubtsAboutALine(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	const apart = time.Second
	s.sends(carriage, "K:+0.700mm\r\n", apart)
	taken := s.bench.Snapshot().Taken

	s.sends(carriage, "K:+0.0270in\r\n", apart)
	s.holds("unit changed from mm to in", taken)
	s.sends(carriage, "K:-0.690mm\r\n", apart)
	s.holds("sign changed: it sent +0.700 mm for bass side, fret 1", taken)
	s.sends(carriage, "K:+0.640mm\r\n", apart)
	taken++
	s.sends(carriage, "K:+0.640mm\r\n", 80*time.Millisecond)
	s.holds("came twice within 400 ms", taken)
	s.sends(carriage, "K:+12.600mm\r\n", apart)
	s.holds("outside the carriage indicator's travel", taken)
	s.sends(carriage, "K:-12.100mm\r\n", apart)
	s.holds("moved by 12.740 mm since its last reading", taken)
	s.sends(carriage, "K:+0.5x0mm\r\n", apart)
	if n := s.bench.Snapshot().Notice; s.bench.Snapshot().Taken != taken || n == nil || !n.Refused {
		t.Fatalf("a frame that makes no sense: notice %+v", n)
	}

	in := s.bench.Snapshot().Inspection
	readings, err := s.db.Readings(s.ctx, in.ID)
	s.ok(err)
	d, err := decode.Find("channel and value")
	s.ok(err)
	check, err := s.db.GaugeChecks(s.ctx, carriage)
	s.ok(err)
	r := readings[1]
	if string(r.Raw) != "K:+0.700mm\r\n" || r.Offset == 0 || r.At.IsZero() || r.Sent != "+0.700" || r.Unit != "mm" || r.Decoded != 0.7 || r.Value != 0.7 ||
		r.Decoder != d.ID() || r.CheckID != check[len(check)-1].ID || r.By != "Wren Halloway" {
		t.Errorf("the reading's context: %+v", r)
	}
}

// TestSignsThatDoNotAsk: noise about zero, and crowns that cross it in a neck's own small steps.
func TestSignsThatDoNotAsk(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	frames := []string{"+0.009", "-0.011", "+0.120", "-0.140", "+0.149", "-0.160", "-0.400"}
	for i, frame := range frames[1:] {
		taken := s.bench.Snapshot().Taken
		for _, f := range []string{frames[i], frame} {
			s.sends(carriage, "K:"+f+"mm\r\n", time.Second)
		}
		if snap := s.bench.Snapshot(); snap.Question != nil || snap.Taken != taken+2 {
			t.Fatalf("%s after %s: held %+v, notice %+v", frame, frames[i], snap.Question, snap.Notice)
		}
		s.ok(s.bench.Undo(s.ctx))
		s.ok(s.bench.Undo(s.ctx))
	}
	s.sends(carriage, "K:-0.400mm\r\n", time.Second)
	taken := s.bench.Snapshot().Taken
	s.sends(carriage, "K:+0.400mm\r\n", time.Second)
	s.holds("sign changed", taken)
}

// TestUnitSwitchedAfterTheCheck: the first reading of a neck is compared with the check's.
func TestUnitSwitchedAfterTheCheck(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	s.sends(carriage, "K:+0.0276in\r\n", time.Second)
	s.holds("unit changed from mm to in", 1)
}

// TestSmallStepsDoNotCarryARelief: steps of well under 2 mm that add up to a relief of more are refused where it shows.
func TestSmallStepsDoNotCarryARelief(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	deep := func(p routine.Point, mm float64) float64 {
		if n := p.Point.Fret; p.Point.Kind == batch.Crown && n <= 17 {
			return 0.05 * float64((n-9)*(n-9)-64) // 0.75 mm at most from fret to fret, over 2 mm below the chord at fret 7
		}
		return mm
	}
	for n := s.bench.Snapshot(); n.Points[n.Next].Point.Kind != batch.Crown || n.Points[n.Next].Point.Fret < 17; n = s.bench.Snapshot() {
		s.press(deep)
		if h := s.bench.Snapshot().Question; h != nil {
			t.Fatalf("held %+v", h)
		}
	}
	taken := s.bench.Snapshot().Taken
	s.frame(carriage, 0, true)
	snap := s.bench.Snapshot()
	if snap.Taken != taken || snap.Notice == nil || !snap.Notice.Refused || !strings.Contains(snap.Notice.Text, "at most 2 mm either way") || !strings.Contains(snap.Notice.Text, "Bass side, fret 17") {
		t.Fatalf("%d readings after, %d before; notice %+v", snap.Taken, taken, snap.Notice)
	}
	s.refused(s.bench.Entry(s.ctx, "0.0", "mm"), "at most 2 mm either way") // typed too
	if snap := s.bench.Snapshot(); snap.Taken != taken || snap.Next < 0 {
		t.Fatalf("typed: %d readings, next %d", snap.Taken, snap.Next)
	}
}

// TestStringsInTheWrongOrder asks when the heights fit the limits read from the other side.
func TestStringsInTheWrongOrder(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	mirrored := func(p routine.Point, mm float64) float64 {
		if p.Point.Kind == batch.ActionHeight {
			return 1.55 + 0.06*float64(6-p.Point.String)
		}
		return mm
	}
	for s.bench.Snapshot().Question == nil && s.bench.Snapshot().Next >= 0 {
		s.press(mirrored)
	}
	snap := s.bench.Snapshot()
	if snap.Question == nil || !strings.Contains(snap.Question.Asks, "the other way round") {
		t.Fatalf("held %+v, verdict %+v", snap.Question, snap.Verdict)
	}
	missing := 0
	for _, p := range snap.Points {
		if p.Point.Kind == batch.ActionHeight && !p.Taken {
			missing++
		}
	}
	if missing != 1 {
		t.Errorf("asked with %d heights missing, want the last one alone", missing)
	}
	s.ok(s.bench.Answer(s.ctx, true))
	if now := s.bench.Snapshot(); now.Taken != snap.Taken+1 {
		t.Errorf("the reading was not used after the answer: %+v", now.Notice)
	}
}

// TestLeftHanded is chosen before the first reading on the board, is kept, and comes back with the neck.
func TestLeftHanded(t *testing.T) {
	s := open(t)
	s.refused(s.bench.SetHanded(s.ctx, "left"), "no neck is on the bench")
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.refused(s.bench.SetHanded(s.ctx, "both"), "no hand")
	s.press(nil) // pitch knows no sides
	s.ok(s.bench.SetHanded(s.ctx, "left"))
	s.restart()
	if in := s.bench.Snapshot().Inspection; in.Handed != "left" || !s.bench.Snapshot().SidesFree {
		t.Fatalf("after a restart: %+v", in)
	}
	s.press(nil)
	s.refused(s.bench.SetHanded(s.ctx, ""), "take its readings back")
	s.ok(s.bench.Undo(s.ctx))
	s.ok(s.bench.SetHanded(s.ctx, ""))
	s.ok(s.bench.SetHanded(s.ctx, "left"))
	snap := s.finish(nil)
	if snap.Verdict == nil || snap.Readings.Handed != "left" || snap.Result.Why == "" {
		t.Fatalf("verdict %+v, readings %+v", snap.Verdict, snap.Readings)
	}
	s.refused(s.bench.SetHanded(s.ctx, ""), "has its verdict")
	s.ok(s.bench.Again(s.ctx))
	if in := s.bench.Snapshot().Inspection; in.Handed != "left" || in.Attempt != 2 {
		t.Fatalf("the next attempt: %+v", in)
	}
}

// TestFootPress: short is what the page's first key does, long takes back, a held reading is never used by foot.
func TestFootPress(t *testing.T) {
	s := open(t)
	s.refused(s.bench.FootPress(s.ctx, false), "no neck is on the bench")
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.ok(s.bench.FootPress(s.ctx, false)) // confirms the pitch
	s.sends(carriage, "L:+0.700mm\r\n", time.Second)
	s.ok(s.bench.FootPress(s.ctx, false))
	if got := s.bench.Snapshot().Taken; got != 2 {
		t.Fatalf("%d taken: %+v", got, s.bench.Snapshot().Notice)
	}
	s.frameAs(carriage, 0.3, "in", false, time.Second)
	s.ok(s.bench.FootPress(s.ctx, false))
	s.refused(s.bench.FootPress(s.ctx, false), "is questioned")
	if snap := s.bench.Snapshot(); snap.Question == nil || snap.Taken != 2 {
		t.Fatalf("held %+v, %d taken", snap.Question, snap.Taken)
	}
	s.ok(s.bench.FootPress(s.ctx, true)) // discards
	if snap := s.bench.Snapshot(); snap.Question != nil || snap.Taken != 2 {
		t.Fatalf("held %+v, %d taken", snap.Question, snap.Taken)
	}
	s.ok(s.bench.FootPress(s.ctx, true)) // takes fret 1 back
	snap := s.bench.Snapshot()
	if slices.ContainsFunc(snap.Points, func(p routine.Point) bool { return p.Taken && p.Point.Kind == batch.Crown }) {
		t.Fatal("the reading still stands")
	}
	s.finish(nil)
	s.ok(s.bench.FootPress(s.ctx, false))
	if s.bench.Snapshot().Stage != Idle {
		t.Fatalf("stage %s after the verdict, want the bench free for the next neck", s.bench.Snapshot().Stage)
	}
}

// TestHeldReadingOfALockedGauge: a reading that waits for an answer is not used while its gauge is locked out, and is gone
// once its gauge has been checked: no doubt of that check would reach it.
func TestHeldReadingOfALockedGauge(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	hold := func() int {
		s.t.Helper()
		s.sends(carriage, "K:+0.0270in\r\n", time.Second)
		if s.bench.Snapshot().Question == nil {
			t.Fatalf("not held: %+v", s.bench.Snapshot().Notice)
		}
		return s.bench.Snapshot().Taken
	}
	taken := hold()
	s.ok(s.bench.ReportEvent(s.ctx, "Wren Halloway", carriage, batch.CheckDrop))
	s.refused(s.bench.Answer(s.ctx, true), "locked out")
	if snap := s.bench.Snapshot(); snap.Taken != taken || snap.Question == nil {
		t.Fatalf("%d taken, %d before; held %+v", snap.Taken, taken, snap.Question)
	}
	s.ok(s.bench.CheckGauge(s.ctx, carriage))
	s.frame(carriage, 0, true)
	s.frame(carriage, 1.03, true)
	if snap := s.bench.Snapshot(); s.latest(carriage).Good || snap.Question != nil {
		t.Errorf("after a failed check %+v is held", snap.Question)
	}
}
