package tell

import (
	"testing"
	"time"

	"sagitta/batch"
)

// Each cause of a doubt is one sentence: what happened, who says so, and what proved the gauge last.
func TestDoubtCauseSentences(t *testing.T) {
	at := func(day, hour int) time.Time { return time.Date(2026, 11, day, hour, 0, 0, 0, time.Local) }
	for _, c := range []struct {
		cause batch.Cause
		want  string
	}{
		{batch.Cause{Kind: batch.FailedCheck, From: at(2, 7), Proof: batch.ProofCheck, To: at(2, 10), Why: "zero moved by -0.080 mm, more than the 0.020 mm allowed"},
			"The height gauge failed its check of 2026-11-02 10:00: zero moved by −0.080 mm, more than the 0.020 mm allowed; its last check that passed was of 2026-11-02 07:00."},
		{batch.Cause{Kind: batch.FailedCheck, To: at(2, 10), Why: "first zero: there is none before to compare it with, +0.030 mm on the 1 mm master (allowed 0.020)"},
			"The height gauge failed its check of 2026-11-02 10:00: first zero: there is none before to compare it with, +0.030 mm on the 1 mm master (allowed 0.020); nothing before proves it."},
		{batch.Cause{Kind: batch.Dropped, At: at(2, 9), By: "Wren Halloway", From: at(2, 7), Proof: batch.ProofCheck},
			"The height gauge fell or was knocked at 2026-11-02 09:00, says Wren Halloway; its next check tells whether that moved its zero; its last check that passed was of 2026-11-02 07:00."},
		{batch.Cause{Kind: batch.Dropped, At: at(2, 9), By: "Wren Halloway", From: at(2, 7), Proof: batch.ProofCheck, NotJudged: true},
			"The height gauge fell or was knocked at 2026-11-02 09:00, says Wren Halloway; its next check passed and could not tell whether that moved its zero; its last check that passed was of 2026-11-02 07:00."},
		{batch.Cause{Kind: batch.CertificateFound, Why: "QL-9", From: at(1, 0), Proof: "QL-8", Found: batch.Found{Masters: []batch.MasterReading{
			{NominalMM: 1, LimitMM: 0.01, ReadMM: 1.002}, {NominalMM: 5, LimitMM: 0.01, ReadMM: 4.97}}}},
			"Certificate QL-9 found the height gauge outside what is allowed: its corrected readings were off by −0.030 mm at 5 mm (allowed 0.010); it was last proved by certificate QL-8 of 2026-11-01."},
		{batch.Cause{Kind: batch.CertificateFound, Why: "QL-9"}, "Certificate QL-9 found the height gauge outside what is allowed; nothing before proves it."},
		{batch.Cause{Kind: batch.ByHand, By: "Tove Aske", Why: "the flat was scratched.", Over: batch.DoubtRange{From: at(2, 8), To: at(2, 9), GaugeName: "height gauge", Inspector: "Ossian Reed", Batch: "QM-2611"}},
			"Tove Aske cast doubt on what was measured from 2026-11-02 08:00 until 2026-11-02 09:00 with the height gauge by Ossian Reed in batch QM-2611: the flat was scratched."},
	} {
		if got := DoubtCause(batch.Doubt{GaugeName: "height gauge", Cause: c.cause}); got != c.want {
			t.Errorf("%q, want\n%q", got, c.want)
		}
	}
}

// A range begins just after its From: a minute that was asked for is said as that minute, not as the one before.
func TestRangeSaysTheMinuteThatItBeginsWith(t *testing.T) {
	ten := time.Date(2026, 11, 2, 10, 0, 0, 0, time.Local)
	got := DoubtWouldMark(batch.Marked{}, batch.DoubtRange{From: ten.Add(-1), To: ten.Add(time.Minute - 1)})
	if want := "Nothing was measured from 2026-11-02 10:00 until 2026-11-02 10:00: nothing would be marked."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// A check that fails says which necks to stop, the one on the bench first, and never that there is none to think of.
func TestCheckFailedNamesTheNecksToStop(t *testing.T) {
	passed := time.Date(2026, 11, 2, 7, 0, 0, 0, time.Local)
	const begins = "the height gauge failed its check: zero moved by +0.080 mm. It is locked out; clean its tip and the reference and check it again. "
	for _, c := range []struct {
		reached int
		onBench string
		doubted []string
		passed  time.Time
		want    string
	}{
		{1, "N-2", []string{"N-2"}, passed, "Stop N-2 on the bench: 1 inspection is in doubt, for it rests on its readings since its last check that passed, 2026-11-02 07:00"},
		{4, "N-2", []string{"N-1", "N-2", "N-2"}, passed, "Stop N-2 on the bench and N-1: 3 inspections are in doubt, for they rest on its readings since its last check that passed, 2026-11-02 07:00"},
		{2, "", []string{"N-1", "N-2"}, time.Time{}, "Stop N-1 and N-2: 2 inspections are in doubt, for they rest on its readings since its first reading, for no check of it had passed before"},
		{9, "N-9", []string{"N-1", "N-2", "N-3", "N-4", "N-5", "N-6", "N-7", "N-8", "N-9"}, passed,
			"Stop N-9 on the bench, N-1, N-2, N-3, N-4, N-5 and 3 more that its page lists: 9 inspections are in doubt, for they rest on its readings since its last check that passed, 2026-11-02 07:00"},
		{1, "N-2", nil, passed, "Stop N-2 on the bench: nothing may be measured with it. This check puts nothing in doubt, for every neck was inspected again that the gauge measured since its last check that passed, 2026-11-02 07:00"},
		{1, "", nil, passed, "Stop the next neck before this gauge: nothing may be measured with it. This check puts nothing in doubt, for every neck was inspected again that the gauge measured since its last check that passed, 2026-11-02 07:00"},
		{0, "N-2", nil, passed, "Stop N-2 on the bench: nothing of it rests on this gauge, and nothing may be measured with it"},
		{0, "", nil, passed, "Stop the next neck before this gauge: no inspection rests on what it measured since its last check that passed, 2026-11-02 07:00"},
	} {
		if got := CheckFailed("height gauge", batch.GaugeCheck{Why: "zero moved by +0.080 mm", Doubted: c.reached}, c.onBench, c.doubted, c.passed); got != begins+c.want {
			t.Errorf("%q, want\n%q", got, begins+c.want)
		}
	}
}
