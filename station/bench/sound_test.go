package bench

import (
	"slices"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
)

// newest is the newest sound, "" for none, and how many there were since the shop was opened.
func (s *shop) newest() (Sound, uint64) {
	heard := s.bench.Snapshot().Sounds
	if len(heard) == 0 {
		return "", 0
	}
	return heard[len(heard)-1].Sound, heard[len(heard)-1].ID
}

// TestSounds does at the bench what each sound is about.
func TestSounds(t *testing.T) {
	begun := func(s *shop) {
		s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
		s.press(nil)
	}
	for _, c := range []struct {
		what    string
		prepare func(*shop)
		do      func(*shop)
		want    Sound
	}{
		{"a reading", begun, func(s *shop) { s.press(nil) }, Taken},
		{"pitch confirmed", func(s *shop) { s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm")) }, func(s *shop) { s.ok(s.bench.Declare(s.ctx)) }, Taken},
		{"a step of a check", func(s *shop) { s.ok(s.bench.CheckGauge(s.ctx, height)) }, func(s *shop) { s.frame(height, 0, true) }, Taken},
		{"a rework step", reach[isDecided], func(s *shop) { s.ok(s.bench.RecordRework(s.ctx, batch.ReworkAction{What: "pitch"})) }, Taken},
		{"a study's reading", reach[isStudying], func(s *shop) { s.frame(height, 1.01, true) }, Taken},
		{"taken back", begun, func(s *shop) { s.ok(s.bench.Undo(s.ctx)) }, TakenBack},
		{"a questioned reading discarded", reach[isQuestioned], func(s *shop) { s.ok(s.bench.Answer(s.ctx, false)) }, TakenBack},
		{"not to be measured", begun, func(s *shop) { s.ok(s.bench.Skip(s.ctx)) }, Skipped},
		{"a neck", reach[isIdle], func(s *shop) { s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm")) }, Accepted},
		{"a neck that was parked", func(s *shop) { begun(s); s.ok(s.bench.Park(s.ctx, "")) }, func(s *shop) { s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm")) }, Accepted},
		{"a batch", reach[isIdle], func(s *shop) { s.ok(s.bench.Entry(s.ctx, "QM-2612", "mm")) }, Accepted},
		{"a badge", func(s *shop) { s.ok(s.db.SetBadge(s.ctx, "", "Ilse Marchetti-Roe", "IM-01")) }, func(s *shop) { s.ok(s.bench.Entry(s.ctx, "IM-01", "mm")) }, Accepted},
		{"the wrong gauge", begun, func(s *shop) { s.frame(height, 1, true) }, Refused},
		{"an unknown serial number", reach[isIdle], func(s *shop) { s.refused(s.bench.Entry(s.ctx, "nothing", "mm"), "not registered") }, Refused},
		{"a full disk", begun, func(s *shop) { full := errFull; s.faulty.fail.Store(&full); s.frame(carriage, 0.01, true) }, Refused},
		{"a unit that changed", begun, func(s *shop) { s.press(nil); s.frameAs(carriage, 0.3, "in", true, 600e6) }, Asked},
		{"a neck that passed", reach[isDecided], func(s *shop) { s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm")) }, Asked},
		{"work that was recorded already", func(s *shop) { s.bowed(); s.ok(s.bench.RecordRework(s.ctx, eighth)) }, func(s *shop) { s.ok(s.bench.RecordRework(s.ctx, eighth)) }, Asked},
		{"a check that passes", func(s *shop) { s.ok(s.bench.CheckGauge(s.ctx, height)); s.frame(height, 0, true) }, func(s *shop) { s.frame(height, 1, true) }, CheckPassed},
		{"a check that fails", func(s *shop) { s.ok(s.bench.CheckGauge(s.ctx, height)); s.frame(height, 0, true) }, func(s *shop) { s.frame(height, 1.03, true) }, CheckFailed},
		{"a pass", begun, func(s *shop) { s.finish(nil) }, Passed},
		{"rework", begun, func(s *shop) { s.finish(s.withBow(0.12)) }, ToRework},
		{"undecided", func(s *shop) { begun(s); s.ok(s.bench.Skip(s.ctx)) }, func(s *shop) { s.finish(nil) }, Undecided},
		{"repair", reach[isDecided], func(s *shop) { s.ok(s.bench.Decide(s.ctx, inspect.Repair, "Ilse Marchetti-Roe", "cracked")) }, ToRepair},
	} {
		t.Run(c.what, func(t *testing.T) {
			s := open(t)
			c.prepare(s)
			_, before := s.newest()
			c.do(s)
			if got, id := s.newest(); got != c.want || id <= before {
				t.Errorf("heard %q (%d after %d), want %q; notice %+v", got, id, before, c.want, s.bench.Snapshot().Notice)
			}
		})
	}
}

// TestNothingIsHeardOfLiveFrames: what moves by itself, and necks that are inspected unattended, make no sound.
func TestNothingIsHeardOfLiveFrames(t *testing.T) {
	s := in(t, isMeasuring)
	_, before := s.newest()
	s.frame(carriage, 0.2, false)
	s.bench.Refresh()
	s.bench.Working("Inspecting unattended.")
	s.press(nil)
	s.bench.Working("")
	if got, id := s.newest(); id != before {
		t.Errorf("heard %q", got)
	}
	for range 2 * soundsKept {
		s.press(nil)
	}
	heard := s.bench.Snapshot().Sounds
	if len(heard) != soundsKept || !slices.IsSortedFunc(heard, func(a, b Heard) int { return int(a.ID) - int(b.ID) }) {
		t.Errorf("kept %+v", heard)
	}
}
