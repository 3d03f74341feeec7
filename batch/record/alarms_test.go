package record

import (
	"testing"

	"sagitta/batch"
)

// One matter raises one alarm: not again while it stands, nor soon after it was acknowledged.
func TestAlarmsOfOneMatter(t *testing.T) {
	s := newShop(t, serials(1)...)
	raise := func(subject string, seen int) bool {
		t.Helper()
		return must(s.RaiseAlarm(s.ctx, batch.Alarm{Kind: batch.SignalAlarm, Subject: subject, BatchID: s.batch.ID, Seen: seen, Words: "nine in a row on one side"}))(t)
	}
	if !raise("signal/a", 30) || raise("signal/a", 60) || !raise("signal/b", 30) {
		t.Error("an open alarm was raised again, or kept another matter's back")
	}
	open := must(s.OpenAlarms(s.ctx))(t)
	if len(open) != 2 || open[1].Subject != "signal/a" || open[1].BatchNumber != "QM-2611" {
		t.Fatalf("%+v", open)
	}
	wantErr(t, s.AcknowledgeAlarm(s.ctx, "", open[1].ID, "seen"), ErrInput, "nobody is named")
	wantErr(t, s.AcknowledgeAlarm(s.ctx, "Mara Quill", open[1].ID, " "), ErrInput, "a note is missing")
	wantErr(t, s.AcknowledgeAlarm(s.ctx, "Mara Quill", "nothing", "seen"), ErrUnknown, "nothing")
	s.ok(s.AcknowledgeAlarm(s.ctx, "Mara Quill", open[1].ID, "new strings; look again at the end of the shift"))
	wantErr(t, s.AcknowledgeAlarm(s.ctx, "Mara Quill", open[1].ID, "again"), ErrState, "Mara Quill")
	if raise("signal/a", 30+batch.QuietFor-1) || !raise("signal/a", 30+batch.QuietFor) {
		t.Error("an acknowledged matter came back at the wrong time")
	}
	all := must(s.BatchAlarms(s.ctx, s.batch.ID))(t)
	if len(all) != 3 || all[2].AcknowledgedBy != "Mara Quill" || all[2].Note == "" {
		t.Errorf("%+v", all)
	}
	s.ok(s.VerifyAudit(s.ctx))
}

func TestBaseOfLimits(t *testing.T) {
	s := newShop(t, serials(1)...)
	if b := must(s.Base(s.ctx, s.batch.ID))(t); b.First != 1 || b.Last != batch.UsualBase || b.By != "" {
		t.Errorf("%+v", b)
	}
	wantErr(t, s.FreezeBase(s.ctx, "Mara Quill", s.batch.ID, 3, 3, ""), ErrInput, "3 to 3")
	s.ok(s.FreezeBase(s.ctx, "Mara Quill", s.batch.ID, 1, 30, "before the new fret press"))
	s.ok(s.FreezeBase(s.ctx, "Mara Quill", s.batch.ID, 11, 40, "without the first day"))
	if b := must(s.Base(s.ctx, s.batch.ID))(t); b.First != 11 || b.Last != 40 || b.By != "Mara Quill" || b.Reason != "without the first day" {
		t.Errorf("%+v", b)
	}
}
