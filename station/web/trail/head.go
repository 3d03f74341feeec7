package trail

import (
	"context"
	"time"

	"sagitta/batch/tell"
	"sagitta/station/copies"
)

// headLine is one thing about how the record stands.
type headLine struct {
	State string // the word whose shape stands before it
	Name  string
	Says  string
}

// head says how the record stands: whole, kept twice, signed, with room.
func (s *server) head(ctx context.Context) ([]headLine, error) {
	entries, err := s.opt.Record.Entries(ctx)
	if err != nil {
		return nil, err
	}
	anchored, err := s.opt.Record.NewestCheckpoint(ctx)
	if err != nil {
		return nil, err
	}
	lines := []headLine{{"", "Entries", tell.TrailSize(entries)}}
	if s.opt.Care != nil {
		lines = append(lines, careLines(s.opt.Care.State(), s.opt.Care.Free(), s.opt.Now())...)
	}
	if anchored == nil {
		return append(lines, headLine{"not measured", "Checkpoint", tell.NoCheckpoint}), nil
	}
	return append(lines, headLine{"pass", "Checkpoint", tell.Checkpoint(anchored.Size, anchored.At, anchored.Origin, s.opt.Now())}), nil
}

// careLines say what became of verifications and copies, and how much room there is.
func careLines(st copies.State, free int64, now time.Time) []headLine {
	bad := map[string]bool{}
	for _, d := range st.Due(now, free) {
		bad[d.What] = true
	}
	state := func(what string, done bool) string {
		switch {
		case bad[what]:
			return "failed"
		case !done:
			return "not measured"
		}
		return "pass"
	}
	verified := headLine{state("record", !st.Verify.At.IsZero()), "Verified", tell.Verified(st.Verify.At, st.Verified, now)}
	if st.Verify.Failed != "" {
		verified.State, verified.Says = "failed", tell.NotWhole(st.Verify.Failed, st.Verify.Since, st.Verify.At, now)
		if st.Looked != nil && !st.Unseen() {
			verified.Says += " " + tell.LookedAt(st.Looked.By, st.Looked.At, now)
		}
	}
	lines := []headLine{verified}
	if st.Plan == nil || st.Plan.To == "" {
		lines = append(lines, headLine{"not measured", "Backup", tell.NoBackups})
	} else {
		lines = append(lines, headLine{state("backup", !st.Backup.At.IsZero()), "Backup", tell.Copied("copy", st.Backup.At, st.Backup.File, st.Backup.Failed, now)},
			headLine{state("drill", !st.Drill.At.IsZero()), "Drill", tell.Drilled(st.Drill.At, st.Drill.File, st.Drill.Failed, now)})
	}
	if st.Plan != nil && st.Plan.MirrorTo != "" {
		lines = append(lines, headLine{state("copy", !st.Mirror.At.IsZero()), "Copy that follows", tell.Copied("copy that follows the record", st.Mirror.At, st.Mirror.File, st.Mirror.Failed, now)})
	}
	if free >= 0 {
		lines = append(lines, headLine{state("disk", true), "Room", tell.Room(free)})
	}
	return lines
}
