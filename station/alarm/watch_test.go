package alarm

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/station/bench"
)

// spec limits the relief of the bass side alone, and plans a first-pass yield.
var spec = strings.Replace(recordtest.Spec, `track = "each"`, `track = "bass"`, 1) + "[plan]\nfirst_pass_percent = 90.0\n"

// shop is a record with a batch whose necks get a made-up relief each, and the watch over it.
type shop struct {
	t     *testing.T
	ctx   context.Context
	db    *recordtest.Shop
	batch batch.Batch
	w     watch
	next  int
}

func open(t *testing.T) *shop { return openWith(t, "") }

// openWith opens a shop with more tables in its specification.
func openWith(t *testing.T, tables string) *shop {
	t.Helper()
	db := recordtest.NewBy(t, spec+tables, recordtest.Serials(60)...)
	return &shop{t: t, ctx: t.Context(), db: db, batch: db.Batch, w: watch{rec: db.DB}}
}

func (s *shop) ok(err error) {
	s.t.Helper()
	if err != nil {
		s.t.Fatal(err)
	}
}

// neck inspects the next neck with the relief given and lets the watch look.
func (s *shop) neck(relief float64, d inspect.Disposition) {
	s.t.Helper()
	s.next++
	serial := recordtest.Serials(s.next)[s.next-1]
	res := recordtest.Result(serial, d, relief)
	res.Characteristics = res.Characteristics[:1] // of the bass side
	v, err := s.db.AppendVerdict(s.ctx, batch.Verdict{InspectionID: s.db.Start(serial).ID, Result: res})
	s.ok(err)
	_, err = s.w.look(s.ctx, &bench.Snapshot{Batch: &s.batch, Serial: serial, Verdict: &v})
	s.ok(err)
}

func (s *shop) subjects() []string {
	s.t.Helper()
	all, err := s.db.OpenAlarms(s.ctx)
	s.ok(err)
	var subjects []string
	for _, a := range all {
		subjects = append(subjects, strings.ReplaceAll(a.Subject, s.batch.ID, "batch"))
	}
	return subjects
}

// Steady values raise nothing; nine in a row on one side of the frozen centre line raise test 2 (ISO 7870-2) where the specification
// chooses it, once, and not before the base of 25 is complete.
func TestShiftRaisesASignal(t *testing.T) {
	s := openWith(t, "[alarms]\ntests = [1, 2, 3]\newma = false\n")
	steady := []float64{0.29, 0.31, 0.28, 0.30, 0.32, 0.27, 0.33}
	for i := range 34 {
		s.neck(steady[i%len(steady)], inspect.Pass)
	}
	if got := s.subjects(); len(got) != 0 {
		t.Fatalf("a steady process raised %v", got)
	}
	for i := range 9 {
		s.neck(0.312+0.002*float64(i%2), inspect.Pass)
	}
	all, err := s.db.OpenAlarms(s.ctx)
	s.ok(err)
	if len(all) != 1 || all[0].Kind != batch.SignalAlarm || all[0].About != "relief/bass//7" || !strings.Contains(all[0].Words, "test 2") || all[0].LookAt == "" {
		t.Fatalf("%+v", all)
	}
	s.neck(0.313, inspect.Pass)
	if got := s.subjects(); len(got) != 1 {
		t.Errorf("the same shift raised %v", got)
	}
}

// A point beyond the limits: its value and the limit are told to a micrometre, as the gauge reads, not as computed.
func TestSignalIsToldAsTheGaugeReads(t *testing.T) {
	s := open(t)
	steady := []float64{0.29, 0.31, 0.28, 0.30, 0.32, 0.27, 0.33}
	for i := range 34 {
		s.neck(steady[i%len(steady)], inspect.Pass)
	}
	s.neck(0.51234, inspect.Pass)
	all, err := s.db.OpenAlarms(s.ctx)
	s.ok(err)
	if len(all) != 1 || !strings.Contains(all[0].LookAt, "(0.512, limit 0.") || regexp.MustCompile(`\d\.\d{4}`).MatchString(all[0].LookAt) {
		t.Fatalf("%+v", all)
	}
}

// 4 of 10 pass where nine of ten are planned: 733 to 1 against the plan (by numerical integration), more than the 100 asked for. 5 of
// 10, 68 to 1, and 8 of 10 do not raise an alarm.
func TestYieldBelowPlan(t *testing.T) {
	for passed, want := range map[int]bool{4: true, 5: false, 8: false} {
		s := open(t)
		for i := range 10 {
			d := inspect.Pass
			if i >= passed {
				d = inspect.Rework
			}
			s.neck(0.3, d)
		}
		if got := slices.Contains(s.subjects(), "yield/batch"); got != want {
			t.Errorf("%d of 10 passed: alarm %t, want %t", passed, got, want)
		}
	}
}

// A plan for a reason is watched too, and the two share the chance of a false alarm: 4 of 10 passes are not enough to raise the yield's
// alarm at half of it (733 to 1 of 200 asked for they are, 5 of 10 are not); the reason's words name it.
func TestReasonBeyondItsPlan(t *testing.T) {
	plan := "[[plan.reason]]\ncharacteristic = \"relief\"\nmost_percent = 10.0\n"
	s := openWith(t, plan)
	for i := range 10 {
		s.neck(map[bool]float64{true: 0.9, false: 0.3}[i < 6], map[bool]inspect.Disposition{true: inspect.Rework, false: inspect.Pass}[i < 6])
	}
	all, err := s.db.OpenAlarms(s.ctx)
	s.ok(err)
	if got := s.subjects(); !slices.Contains(got, "reason/batch/relief") || !slices.Contains(got, "yield/batch") || len(got) != 2 {
		t.Fatalf("%v", got)
	}
	for _, a := range all {
		if !strings.Contains(a.Words, "Of 100 batches that meet their plan, 1 at most is ever said to be below it.") {
			t.Errorf("%s", a.Words)
		}
		if strings.HasPrefix(a.Subject, "reason") && !strings.Contains(a.Words, "60.0 % of 10 necks of QM-2611 failed the first inspection by relief, the plan is 10 % at most.") {
			t.Errorf("%s", a.Words)
		}
	}
}

func TestUndecidedRun(t *testing.T) {
	s := open(t)
	s.neck(0.2, inspect.Remeasure)
	s.neck(0.2, inspect.Remeasure)
	s.neck(0.3, inspect.Pass)
	s.neck(0.2, inspect.Remeasure)
	s.neck(0.2, inspect.Remeasure)
	if got := s.subjects(); len(got) != 0 {
		t.Fatalf("%v", got)
	}
	s.neck(0.2, inspect.Remeasure)
	if got := s.subjects(); !slices.Equal(got, []string{"undecided/batch"}) {
		t.Errorf("%v", got)
	}
}

// What a person decides on an undecided neck does not hide that the next is undecided too; a neck that comes back to the
// bench does not count twice, and another batch's necks do not count.
func TestUndecidedRunIsOfComputedVerdicts(t *testing.T) {
	s := open(t)
	show := func(v batch.Verdict, b *batch.Batch) {
		_, err := s.w.look(s.ctx, &bench.Snapshot{Batch: b, Serial: "QM-2611-0001", Verdict: &v})
		s.ok(err)
	}
	at := time.Date(2026, 11, 3, 7, 0, 0, 0, time.UTC)
	n := 0
	next := func(decidedBy string, d inspect.Disposition) batch.Verdict {
		n++
		return batch.Verdict{ID: fmt.Sprint(n), At: at.Add(time.Duration(n) * time.Minute), Disposition: d, DecidedBy: decidedBy}
	}
	first := next("", inspect.Remeasure)
	show(first, &s.batch)
	show(next("Ilse Marchetti-Roe", inspect.Pass), &s.batch)
	show(next("", inspect.Remeasure), &s.batch)
	show(first, &s.batch)
	if got := s.subjects(); len(got) != 0 {
		t.Fatalf("two undecided necks raised %v", got)
	}
	show(next("", inspect.Remeasure), &s.batch)
	if got := s.subjects(); !slices.Equal(got, []string{"undecided/batch"}) {
		t.Errorf("three undecided necks raised %v", got)
	}
	other := s.batch
	other.ID = "another"
	w := watch{rec: s.db.DB}
	for _, b := range []*batch.Batch{&s.batch, &other, &s.batch, &other} {
		v := next("", inspect.Remeasure)
		w.count(&bench.Snapshot{Batch: b, Verdict: &v})
	}
	if w.run != 1 {
		t.Errorf("a run over two batches counts %d", w.run)
	}
}

// A gauge whose checks move the same way six times in a row, or that used most of its limit, is spoken of; one that failed is
// locked out and needs no alarm.
func TestDrift(t *testing.T) {
	check := func(e float64, good bool) batch.GaugeCheck {
		return batch.GaugeCheck{Good: good, Masters: []batch.MasterReading{{NominalMM: 1, LimitMM: 0.02, ReadMM: 1 + e}}}
	}
	for name, c := range map[string]struct {
		errors []float64
		good   bool
		want   bool
	}{
		"steady":            {[]float64{0.001, -0.001, 0.002, 0, 0.001, -0.002, 0.001}, true, false},
		"five the same way": {[]float64{0.003, 0.001, 0.002, 0.003, 0.004, 0.005}, true, false},
		"six the same way":  {[]float64{0.001, 0.002, 0.003, 0.004, 0.005, 0.006}, true, true},
		"six falling":       {[]float64{0.006, 0.005, 0.004, 0.003, 0.002, 0.001}, true, true},
		"most of the limit": {[]float64{0.001, 0.016}, true, true},
		"failed":            {[]float64{0.001, 0.03}, false, false},
	} {
		var checks []batch.GaugeCheck
		for i, e := range c.errors {
			checks = append(checks, check(e, c.good || i < len(c.errors)-1))
		}
		if a := drift(checks); (a != nil) != c.want {
			t.Errorf("%s: %+v", name, a)
		}
	}
}

// Masters are compared each with itself: an error that grows on one master is seen though another is always worse, and errors
// that grow from master to master are not a drift. A check that failed, another entry and a zero lost with the power end what went before.
func TestDriftComparesEachMasterWithItself(t *testing.T) {
	type check struct {
		ones, twos float64 // errors on the 1 mm and the 2 mm master; 0: not read
		zero       float64
		bad        bool
		after      string
	}
	for name, c := range map[string]struct {
		checks []check
		want   string
	}{
		"behind a worse one":  {[]check{{ones: 0.001, twos: 0.010}, {ones: 0.002, twos: 0.012}, {ones: 0.003, twos: 0.010}, {ones: 0.004, twos: 0.012}, {ones: 0.005, twos: 0.010}, {ones: 0.006, twos: 0.012}}, "6 checks on the 1 mm master went up"},
		"from one to another": {[]check{{ones: 0.001}, {ones: 0.002}, {ones: 0.003}, {twos: 0.004}, {twos: 0.005}, {twos: 0.006}}, ""},
		"worst changes":       {[]check{{ones: 0.001, twos: -0.0005}, {ones: 0.0005, twos: 0.002}, {ones: 0.003, twos: 0.001}, {ones: 0.001, twos: 0.004}, {ones: 0.005, twos: 0.001}, {ones: 0.001, twos: 0.006}}, ""},
		"after a failure":     {[]check{{ones: 0.001}, {ones: 0.002}, {ones: 0.003, bad: true}, {ones: 0.004}, {ones: 0.005}, {ones: 0.006}}, ""},
		"after a new entry":   {[]check{{ones: 0.001}, {ones: 0.002, after: batch.CheckEntry}, {ones: 0.003}, {ones: 0.004}, {ones: 0.005}, {ones: 0.006}}, ""},
		"since a new entry":   {[]check{{ones: 0.001, after: batch.CheckEntry}, {ones: 0.002}, {ones: 0.003}, {ones: 0.004}, {ones: 0.005}, {ones: 0.006}}, "6 checks on the 1 mm master went up"},
		"zeros":               {[]check{{zero: 0.6}, {zero: 0.5}, {zero: 0.4}, {zero: 0.3}, {zero: 0.2}, {zero: 0.1}, {zero: 0}}, "7 zeros went down"},
		"a zero begun anew":   {[]check{{zero: 0.6}, {zero: 0.5}, {zero: 0.4, after: batch.CheckPowerUp}, {zero: 0.3}, {zero: 0.2}, {zero: 0.1}}, ""},
	} {
		var checks []batch.GaugeCheck
		for _, k := range c.checks {
			g := batch.GaugeCheck{Good: !k.bad, ZeroMM: k.zero, ZeroJudged: k.after != batch.CheckPowerUp, After: k.after}
			for nominal, e := range []float64{1: k.ones, 2: k.twos} {
				if e != 0 {
					g.Masters = append(g.Masters, batch.MasterReading{NominalMM: float64(nominal), LimitMM: 0.02, ReadMM: float64(nominal) + e})
				}
			}
			checks = append(checks, g)
		}
		said := ""
		if d := drift(checks); d != nil {
			said, _ = tell.DriftAlarm("height gauge", *d)
		}
		if (said == "") != (c.want == "") || !strings.Contains(said, c.want) {
			t.Errorf("%s: %q, want %q", name, said, c.want)
		}
	}
}

// What is watched is the specification's choice: another characteristic, other tests, a yield from fewer necks, nothing.
func TestWhatIsWatchedIsChosen(t *testing.T) {
	steady := []float64{0.29, 0.31, 0.28, 0.30, 0.32, 0.27, 0.33}
	for alarms, want := range map[string]string{
		"tests = [1]\newma = false": "[]",
		"tests = [5]\newma = false": "[signal/batch/relief/bass//7/5]",
		"ewma = true\ntests = []":   "[signal/batch/relief/bass//7/ewma]",
		"tests = []":                "[]",
		"characteristics = []":      "[]",
		"least_necks = 3":           "[yield/batch]",
	} {
		s := openWith(t, "[alarms]\n"+alarms+"\n")
		if strings.HasPrefix(alarms, "least") {
			for range 3 {
				s.neck(0.3, inspect.Rework)
			}
		} else {
			for i := range 28 {
				s.neck(steady[i%len(steady)], inspect.Pass)
			}
			for range 6 {
				s.neck(0.37, inspect.Pass) // beyond 2 sigma of the base, within its limits
			}
		}
		if got := fmt.Sprint(s.subjects()); got != want {
			t.Errorf("%s raised %s, want %s", alarms, got, want)
		}
	}
}
