package record

import (
	"iter"
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
)

// fall reports that a gauge fell.
func (s *shop) fall(gauge string) batch.GaugeEvent {
	s.Helper()
	return must(s.AppendGaugeEvent(s.ctx, batch.GaugeEvent{GaugeID: gauge, By: "Wren Halloway", What: batch.CheckDrop, Detail: "fell or was knocked at 10:12"}))(s)
}

// afterFall makes a check in which the zero is judged or not.
func (s *shop) afterFall(gauge string, good, judged bool) batch.GaugeCheck {
	s.Helper()
	return must(s.AppendGaugeCheck(s.ctx, batch.GaugeCheck{GaugeID: gauge, By: "Ossian Reed", Good: good, ZeroJudged: judged, Why: "as found: zero moved by +0.004 mm", After: batch.CheckDrop}))(s)
}

func (s *shop) standing() string {
	s.Helper()
	return serialsOf(must(s.Doubts(s.ctx, batch.DoubtFilter{Standing: true}))(s))
}

// A drop puts what was measured since the check that passed last in doubt at once, once however often it is reported; the first check
// after it answers: it ends the doubt, takes it over, or leaves it for good.
func TestDropIsAnsweredByTheNextCheck(t *testing.T) {
	for name, c := range map[string]struct {
		good, judged bool
		standing     string
		cleared      batch.Clearing
	}{
		"proved":     {true, true, "", batch.ClearedProved},
		"failed":     {false, true, "23", batch.ClearedFailed},
		"not judged": {true, false, "23", ""},
	} {
		t.Run(name, func(t *testing.T) {
			s := newShop(t, serials(4)...)
			g := s.carriage()
			s.pass(g.ID, "QM-2611-0001")
			good := s.check(g.ID, true)
			s.pass(g.ID, "QM-2611-0002")
			s.pass(g.ID, "QM-2611-0003")
			s.pass("", "QM-2611-0004")
			e := s.fall(g.ID)
			if e.Doubted != 2 || s.standing() != "23" {
				t.Fatalf("the drop put %d inspections in doubt, standing %s", e.Doubted, s.standing())
			}
			if again := s.fall(g.ID); again.Doubted != 0 || again.Standing != 2 || s.standing() != "23" {
				t.Errorf("a second drop put %d inspections in doubt, of %d, standing %s", again.Doubted, again.Standing, s.standing())
			}
			first := must(s.Doubts(s.ctx, batch.DoubtFilter{CauseID: e.ID}))(t)[0]
			if k := first.Cause; k.Kind != batch.Dropped || !k.From.Equal(good.At) || k.Proof != batch.ProofCheck || !k.To.Equal(e.At) || k.By != "Wren Halloway" || k.Found.Known() {
				t.Errorf("the cause: %+v", k)
			}
			check := s.afterFall(g.ID, c.good, c.judged)
			wantProved, wantUntold := map[bool]int{true: 2}[name == "proved"], map[bool]int{true: 2}[name == "not judged"]
			if check.Proved != wantProved || check.Untold != wantUntold || check.Doubted != map[bool]int{true: 2}[name == "failed"] {
				t.Errorf("the check: %+v", check)
			}
			if kept := *must(s.LatestCheck(s.ctx, g.ID))(t); kept.Proved != check.Proved || kept.Untold != check.Untold || kept.Doubted != check.Doubted {
				t.Errorf("the check as kept: %+v", kept)
			}
			standing := must(s.Doubts(s.ctx, batch.DoubtFilter{Standing: true}))(t)
			if got := serialsOf(standing); got != c.standing {
				t.Errorf("standing: %s, want %s", got, c.standing)
			}
			first = must(s.Doubts(s.ctx, batch.DoubtFilter{CauseID: e.ID}))(t)[0]
			if first.Cleared != c.cleared || first.Cause.NotJudged != (name == "not judged") {
				t.Errorf("the drop's doubt: %+v", first)
			}
			if n := must(s.Counts(s.ctx, s.batch.ID))(t).InDoubt; n != len(c.standing) {
				t.Errorf("%d in doubt", n)
			}
			s.afterFall(g.ID, true, true) // a later check has no zero of before the drop to compare with
			if got := s.standing(); got != c.standing {
				t.Errorf("standing after another check: %s, want %s", got, c.standing)
			}
			s.ok(s.VerifyAudit(s.ctx))
		})
	}
}

// What was inspected again is not in doubt by a check that fails afterwards, nor told to be so in the trail.
func TestNothingStandsWhereAllWasInspectedAgain(t *testing.T) {
	s := newShop(t, serials(2)...)
	g := s.carriage()
	s.pass(g.ID, "QM-2611-0001")
	s.pass(g.ID, "QM-2611-0002")
	s.pass("", "QM-2611-0001")
	s.check(g.ID, false)
	if trail := must(s.Audit(s.ctx, 1))(t)[0]; !strings.HasPrefix(trail.Detail, "failed, inspections in doubt: 1: ") || s.standing() != "2" {
		t.Errorf("the trail %q, standing %s; want one in doubt", trail.Detail, s.standing())
	}
}

// The check after a drop tells only of inspections that were in doubt and no longer are, not of one that was cleared or inspected again
// before, nor of one that is in doubt by a person's word too.
func TestCheckAfterADropCountsWhatStands(t *testing.T) {
	for name, c := range map[string]struct {
		judged   bool
		want     string
		standing string
	}{
		"proved":     {true, " 1 inspection is no longer in doubt. 1 inspection stays in doubt for another reason.", "2"},
		"not judged": {false, " 2 inspections stay in doubt: this check could not tell whether the fall moved the zero. Inspect those necks again, or clear each on its page.", "122"},
	} {
		t.Run(name, func(t *testing.T) {
			s := newShop(t, serials(4)...)
			g := s.carriage()
			s.check(g.ID, true)
			s.pass(g.ID, "QM-2611-0001")
			from := must(s.LastSeen(s.ctx))(t)
			s.pass(g.ID, "QM-2611-0002")
			to := must(s.LastSeen(s.ctx))(t)
			s.pass(g.ID, "QM-2611-0003")
			s.pass(g.ID, "QM-2611-0004")
			s.fall(g.ID)
			over := batch.DoubtRange{From: from, To: to}
			must(s.CastDoubt(s.ctx, "Mara Quill", "the flat was scratched", over, must(s.DoubtReach(s.ctx, over))(t)))(t)
			s.ok(s.clear("Mara Quill", s.neck("QM-2611-0003").ID, "measured with the beam"))
			s.pass("", "QM-2611-0004")
			if got := tell.AfterDrop(s.afterFall(g.ID, true, c.judged)); got != c.want {
				t.Errorf("told %q, want %q", got, c.want)
			}
			if got := s.standing(); got != c.standing {
				t.Errorf("standing %s, want %s", got, c.standing)
			}
		})
	}
}

// A drop after a failed check casts nothing more: what was measured before is in that check's doubt, and nothing was since.
func TestDropAfterAFailedCheck(t *testing.T) {
	s := newShop(t, serials(1)...)
	g := s.carriage()
	s.pass(g.ID, "QM-2611-0001")
	s.check(g.ID, false)
	if e := s.fall(g.ID); e.Doubted != 0 {
		t.Errorf("%d in doubt", e.Doubted)
	}
}

// A person casts doubt over any combination of time, gauge, inspector and batch, and what is marked is what was counted before.
func TestDoubtByHand(t *testing.T) {
	s := newShop(t, serials(5)...)
	g := s.carriage()
	s.pass(g.ID, "QM-2611-0001")
	from := must(s.LastSeen(s.ctx))(t)
	s.pass(g.ID, "QM-2611-0002")
	s.pass("", "QM-2611-0003")
	bare := s.start("QM-2611-0004") // judged without readings
	s.verdict(bare, inspect.Pass, 0.3, 0.3)
	to := must(s.LastSeen(s.ctx))(t)
	s.pass(g.ID, "QM-2611-0005")
	for name, c := range map[string]struct {
		over batch.DoubtRange
		want string
	}{
		"gauge":            {batch.DoubtRange{GaugeID: g.ID}, "125"},
		"time":             {batch.DoubtRange{From: from, To: to}, "234"},
		"time and gauge":   {batch.DoubtRange{From: from, To: to, GaugeID: g.ID}, "2"},
		"since":            {batch.DoubtRange{From: to}, "5"},
		"batch":            {batch.DoubtRange{BatchID: s.batch.ID}, "12345"},
		"another batch":    {batch.DoubtRange{BatchID: "none"}, ""},
		"inspector":        {batch.DoubtRange{Inspector: "Ossian Reed"}, "12345"},
		"another":          {batch.DoubtRange{Inspector: "Wren Halloway"}, ""},
		"all of them":      {batch.DoubtRange{From: from, To: to, GaugeID: g.ID, Inspector: "Ossian Reed", BatchID: s.batch.ID}, "2"},
		"before the first": {batch.DoubtRange{To: time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)}, ""},
	} {
		m := must(s.DoubtReach(s.ctx, c.over))(t)
		if m.Necks != len(c.want) || m.Inspections != len(c.want) {
			t.Errorf("%s: %+v, want %s", name, m, c.want)
		}
	}
	over := batch.DoubtRange{From: from, To: to}
	_, err := s.CastDoubt(s.ctx, "Mara Quill", " ", over, batch.Marked{})
	wantErr(t, err, ErrInput, "a reason")
	_, err = s.CastDoubt(s.ctx, "Mara Quill", "the flat was scratched", batch.DoubtRange{}, batch.Marked{})
	wantErr(t, err, ErrInput, "take in everything")
	_, err = s.CastDoubt(s.ctx, "Mara Quill", "the flat was scratched", batch.DoubtRange{From: to, To: from}, batch.Marked{})
	wantErr(t, err, ErrInput, "before it begins")
	_, err = s.CastDoubt(s.ctx, "Mara Quill", "the flat was scratched", batch.DoubtRange{BatchID: "none"}, batch.Marked{})
	wantErr(t, err, ErrState, "nothing was marked")
	_, err = s.CastDoubt(s.ctx, "Mara Quill", "the flat was scratched", over, batch.Marked{Necks: 2, Inspections: 2})
	wantErr(t, err, ErrState, "3 necks in 3 inspections lie in that range now, shown were 2 in 2")
	if s.standing() != "" {
		t.Fatalf("in doubt: %s", s.standing())
	}
	m := must(s.DoubtReach(s.ctx, over))(t)
	if got := must(s.CastDoubt(s.ctx, "Mara Quill", "the flat was scratched", over, m))(t); got != m || s.standing() != "234" {
		t.Errorf("marked %+v, shown %+v, standing %s", got, m, s.standing())
	}
	all := must(s.Doubts(s.ctx, batch.DoubtFilter{}))(t)
	if d := all[0]; d.Cause.Kind != batch.ByHand || d.Cause.Why != "the flat was scratched" || d.Cause.By != "Mara Quill" || !d.Cause.From.Equal(from) || !d.Cause.To.Equal(to) || len(d.Points) != 3 {
		t.Errorf("the doubt: %+v", d)
	}
	c := must(s.Counts(s.ctx, s.batch.ID))(t)
	if c.InDoubt != 3 || c.MayShip() != 2 {
		t.Errorf("counts %+v", c)
	}
	// What has no readings is inspected again or cleared, like the others.
	s.pass(g.ID, "QM-2611-0004")
	s.ok(s.clear("Mara Quill", s.neck("QM-2611-0003").ID, "measured with the beam"))
	if s.standing() != "2" {
		t.Errorf("standing: %s", s.standing())
	}
	s.ok(s.VerifyAudit(s.ctx))
}

// Necks taken in from elsewhere come into doubt by the checks of the gauges that they name, made before or after they were taken in; what no
// check tells of is said.
func TestImportsComeIntoDoubt(t *testing.T) {
	s := newShop(t, serials(1)...)
	day := func(d int) time.Time { return time.Date(2024, 3, d, 12, 0, 0, 0, time.UTC) }
	g := must(s.SaveGauge(s.ctx, "Mara Quill", batch.Gauge{ID: "old", Name: "old indicator", Sense: 1}))(t)
	check := func(d int, good bool) batch.GaugeCheck {
		return must(s.AppendGaugeCheck(s.ctx, batch.GaugeCheck{GaugeID: g.ID, At: day(d), By: "Ossian Reed", Good: good, Why: "zero moved by +0.030 mm", After: batch.CheckShift}))(t)
	}
	check(2, true)
	failed := check(5, false)
	check(6, true)
	story := func(serial string, days ...int) batch.Story {
		st := batch.Story{Serial: serial}
		for _, d := range days {
			st.Attempts = append(st.Attempts, batch.StoryAttempt{Inspector: "Ossian Reed", StartedAt: day(d).Add(-time.Hour), Posture: "playing",
				Gauges: []batch.GaugeUse{{Kind: batch.Crown, GaugeID: g.ID}}, Verdicts: []batch.Verdict{verdictOf(batch.Inspection{}, inspect.Pass, 0.3, 0.3)}})
		}
		return st
	}
	take := func(sum string, stories ...batch.Story) batch.Import {
		var all iter.Seq2[batch.Story, error] = func(yield func(batch.Story, error) bool) {
			for _, st := range stories {
				if !yield(st, nil) {
					return
				}
			}
		}
		return must(s.AppendStories(s.ctx, "Mara Quill", batch.Import{BatchID: s.batch.ID, Origin: batch.Imported, Source: sum + ".csv", SHA256: sum}, all))(t)
	}
	imp := take("a", story("OLD-1", 1), story("OLD-2", 2), story("OLD-3", 3), story("OLD-4", 4, 8), story("OLD-5", 5), story("OLD-6", 6))
	if want := (batch.Marked{Necks: 2, Inspections: 3}); imp.Checks.Marked != want || imp.Checks.Gauges != 1 {
		t.Errorf("marked %+v, want %+v", imp.Checks, want)
	}
	if got := s.standing(); got != "35" {
		t.Errorf("standing: %s, want 35: what was measured between the checks of the 2nd and the 5th, and not again", got)
	}
	d := must(s.Doubts(s.ctx, batch.DoubtFilter{CauseID: failed.ID}))(t)
	if len(d) != 3 || !d[0].Cause.From.Equal(day(2)) || !d[0].Cause.To.Equal(day(5)) || d[0].Cleared != "" {
		t.Errorf("doubts %+v", d)
	}
	for _, d := range must(s.Doubts(s.ctx, batch.DoubtFilter{Standing: true, Impact: true}))(t) {
		if d.Impact.Outcome != batch.CannotBeTold || d.Impact.Unknown != batch.UnknownReadings {
			t.Errorf("%s: %+v; it has no readings to take the error off", d.Neck.Serial, d.Impact)
		}
	}
	said := tell.ImportChecks(must(s.Imports(s.ctx, s.batch.ID))(t)[0].Checks)
	local := func(d int) string { return day(d).Local().Format("2006-01-02 15:04") }
	if want := "Checks that failed put 2 necks in doubt, by 3 inspections. No check of the old indicator is on record before " + local(2) + " or after " + local(6) +
		": whether it was wrong then cannot be known."; said != want {
		t.Errorf("said %q, want %q", said, want)
	}
	later := check(9, false) // made after they were taken in
	if got := s.standing(); later.Doubted != 1 || got != "354" {
		t.Errorf("%d in doubt by a later check, standing %s; want 1, OLD-4 on the 8th", later.Doubted, got)
	}
	alone := take("b", batch.Story{Serial: "OLD-7", Attempts: []batch.StoryAttempt{{Inspector: "Ossian Reed", StartedAt: day(4), Posture: "playing", Verdicts: []batch.Verdict{verdictOf(batch.Inspection{}, inspect.Pass, 0.3, 0.3)}}}})
	if said := tell.ImportChecks(alone.Checks); said != "It names no gauge and holds no checks: whether a gauge was wrong then cannot be known." {
		t.Errorf("said %q", said)
	}
	if marked := slices.ContainsFunc(must(s.Doubts(s.ctx, batch.DoubtFilter{}))(t), func(d batch.Doubt) bool { return strings.HasSuffix(d.Neck.Serial, "7") }); marked {
		t.Error("a neck that names no gauge is in doubt")
	}
	s.ok(s.VerifyAudit(s.ctx))
}

// A gauge that its laboratory found outside what is allowed casts doubt back to what proves it last: a check that it could not have passed as
// found, or the certificate before; and on to where it is proved again.
func TestCertificateAsFound(t *testing.T) {
	day := func(d int) time.Time { return time.Date(2026, 3, d, 12, 0, 0, 0, time.UTC) }
	issued := func(d int) time.Time { return time.Date(2026, 3, d, 0, 0, 0, 0, time.UTC) }
	steep := batch.CalibrationState{Points: []batch.Deviation{{NominalMM: 0}, {NominalMM: 2, DeviationMM: 0.06}}}
	far := batch.CalibrationState{Points: []batch.Deviation{{NominalMM: 0}, {NominalMM: 1, DeviationMM: 0.004}, {NominalMM: 5, DeviationMM: 0.05}}}
	sound := batch.CalibrationState{Points: []batch.Deviation{{NominalMM: 0}, {NominalMM: 2, DeviationMM: 0.001}}}
	for name, c := range map[string]struct {
		found, left batch.CalibrationState
		correction  []batch.CalibrationPoint // of the certificate before
		want        string                   // necks 1 to 4 were measured on the 3rd, 6th, 12th and 17th
		proof       string
	}{
		"back to the check":             {steep, sound, nil, "23", batch.ProofCheck},
		"no check could tell":           {far, sound, nil, "123", "QL-1"},
		"its word alone":                {batch.CalibrationState{Word: batch.OutsideLimits}, batch.CalibrationState{Word: batch.WithinLimits}, nil, "123", "QL-1"},
		"nothing said of how it left":   {steep, batch.CalibrationState{}, nil, "234", batch.ProofCheck},
		"left outside":                  {steep, steep, nil, "234", batch.ProofCheck},
		"found within":                  {sound, sound, nil, "", ""},
		"nothing said":                  {batch.CalibrationState{}, batch.CalibrationState{}, nil, "", ""},
		"its error was known":           {steep, sound, []batch.CalibrationPoint{{IndicatedMM: 0}, {IndicatedMM: 2, ErrorMM: 0.06}}, "", ""},
		"its word, and what proves it?": {batch.CalibrationState{Word: batch.OutsideLimits}, steep, nil, "1234", "QL-1"},
	} {
		t.Run(name, func(t *testing.T) {
			s := newShop(t, serials(4)...)
			s.now = func() time.Time { return day(1) }
			g := must(s.SaveGauge(s.ctx, "Mara Quill", batch.Gauge{ID: "g", Name: "height gauge", Sense: 1, Calibration: c.correction}))(t)
			must(s.AddCertificate(s.ctx, "Mara Quill", batch.Certificate{GaugeID: g.ID, Number: "QL-1", Issued: issued(1), Due: issued(28), Correction: c.correction}, nil))(t)
			must(s.AppendGaugeCheck(s.ctx, batch.GaugeCheck{GaugeID: g.ID, At: day(5), Good: true, Masters: []batch.MasterReading{{NominalMM: 1, LimitMM: 0.01, ReadMM: 1.002}}}))(t)
			must(s.AppendGaugeCheck(s.ctx, batch.GaugeCheck{GaugeID: g.ID, At: day(10), Good: true}))(t) // the zero alone
			for i, d := range []int{3, 6, 12, 17} {
				in := s.start(serials(4)[i])
				r := crown(in, 1, 0.1)
				r.GaugeID, r.At = g.ID, day(d)
				must(s.AppendReading(s.ctx, r))(t)
				s.verdict(in, inspect.Pass, 0.3, 0.3)
			}
			s.now = func() time.Time { return day(20) }
			cert := must(s.AddCertificate(s.ctx, "Mara Quill", batch.Certificate{GaugeID: g.ID, Number: "QL-2", Issued: issued(15), Due: issued(28), LimitMM: 0.01, Found: c.found, Left: c.left}, nil))(t)
			all := must(s.Doubts(s.ctx, batch.DoubtFilter{}))(t)
			if got := serialsOf(all); got != c.want || cert.Doubted != len(c.want) {
				t.Fatalf("in doubt: %s, counted %d, want %s", got, cert.Doubted, c.want)
			}
			kept := must(s.Certificates(s.ctx, g.ID))(t)[1]
			if kept.Doubted != len(c.want) || kept.LimitMM != 0.01 || len(kept.Found.Points) != len(c.found.Points) || kept.Left.Word != c.left.Word {
				t.Errorf("kept %+v", kept)
			}
			if len(all) > 0 {
				if k := all[0].Cause; k.Kind != batch.CertificateFound || k.Proof != c.proof || k.Why != "QL-2" || len(k.Found.Masters) != len(c.found.Points) || k.Found.ShiftKnown {
					t.Errorf("the cause: %+v", k)
				}
			}
			s.ok(s.VerifyAudit(s.ctx))
		})
	}
}
