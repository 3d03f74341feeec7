package record

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// The hash of an entry, put together here byte by byte from its description.
func TestChainHashesEveryField(t *testing.T) {
	e := batch.Event{Seq: 2, At: time.Unix(0, 77), By: "b", What: "w", About: "", Detail: "é"}
	var text []byte
	for _, n := range []uint64{2, 77} {
		text = binary.BigEndian.AppendUint64(text, n)
	}
	for _, s := range []string{"before", "station", "b", "w", "", "é"} {
		text = append(binary.BigEndian.AppendUint64(text, uint64(len(s))), s...)
	}
	sum := sha256.Sum256(text)
	if got, want := chain("before", "station", e), hex.EncodeToString(sum[:]); got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

// Whoever goes round the triggers is found out.
func TestTamperingIsDetected(t *testing.T) {
	for _, c := range []struct{ name, drop, change, words string }{
		{"an entry's text", "audit_not_changed", `UPDATE audit SET by = 'somebody else' WHERE seq = 3`, "entry 3"},
		{"an entry's time", "audit_not_changed", `UPDATE audit SET at = at + 1 WHERE seq = 1`, "entry 1"},
		{"an entry removed", "audit_not_removed", `DELETE FROM audit WHERE seq = 2`, "entry 2 is missing"},
		{"the first entry removed", "audit_not_removed", `DELETE FROM audit WHERE seq = 1`, "entry 1 is missing"},
		{"the last entry, a verdict's, removed", "audit_not_removed", `DELETE FROM audit WHERE seq = (SELECT max(seq) FROM audit)`, "QM-2611-0001"},
		{"a verdict's disposition", "verdicts_not_changed", `UPDATE verdicts SET disposition = 'pass'`, "QM-2611-0001"},
		{"a verdict's result", "verdicts_not_changed", `UPDATE verdicts SET result = replace(result, '0.5', '0.3')`, "QM-2611-0001"},
		{"a verdict removed", "verdicts_not_removed", `DELETE FROM verdicts`, "is missing"},
		{"a reading", "readings_not_changed", `UPDATE readings SET value = value + 0.1 WHERE seq = 1`, "QM-2611-0001"},
		{"a reading removed", "readings_not_removed", `DELETE FROM readings WHERE seq = 2`, "QM-2611-0001"},
	} {
		s := newShop(t, "QM-2611-0001")
		in := s.start("QM-2611-0001")
		s.read(in, 1, 0)
		s.read(in, 2, 0.1)
		s.verdict(in, inspect.Rework, 0.5, 0.5)
		s.ok(s.VerifyAudit(s.ctx))
		t.Run(c.name, func(t *testing.T) { s.tampered(t, c.drop, c.change, c.words) })
	}
}

// tampered changes rows behind the program's back, without the trigger that would refuse it, and wants that found.
func (s *shop) tampered(t *testing.T, drop, change, words string) {
	t.Helper()
	for _, statement := range []string{`PRAGMA foreign_keys = off`, `DROP TRIGGER ` + drop, change} {
		must(s.writer.Exec(statement))(t)
	}
	wantErr(t, s.VerifyAudit(s.ctx), ErrAudit, words)
}

// Verdicts are compared with the chain one by one, in order: among several the one that was touched is named.
func TestTamperingAmongSeveralVerdicts(t *testing.T) {
	for _, c := range []struct{ name, drop, change, words string }{
		{"the first removed", "verdicts_not_removed", `DELETE FROM verdicts WHERE ord = 1`, "the verdict of entry"},
		{"one in the middle removed", "verdicts_not_removed", `DELETE FROM verdicts WHERE ord = 2`, "the verdict of entry"},
		{"one in the middle changed", "verdicts_not_changed", `UPDATE verdicts SET reason = 'x' WHERE ord = 2`, "a verdict on QM-2611-0002"},
		{"one put in", "verdicts_not_changed", `INSERT INTO verdicts SELECT 99, 'x', station, at, inspection_id, disposition, decided_by, reason, result, failing,
			failing_words, relief_mm, relief_u, last_seq, gauges FROM verdicts WHERE ord = 3`, "a verdict on QM-2611-0003"},
		{"two exchanged", "verdicts_not_changed", `UPDATE verdicts SET ord = CASE ord WHEN 1 THEN -1 WHEN 2 THEN -2 END WHERE ord < 3`, "the verdict of entry"},
	} {
		s := newShop(t, serials(3)...)
		for _, serial := range serials(3) {
			s.verdict(s.start(serial), inspect.Pass, 0.3, 0.3)
		}
		t.Run(c.name, func(t *testing.T) { s.tampered(t, c.drop, c.change, c.words) })
	}
}
