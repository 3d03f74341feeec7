package bench

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/record/recordtest"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/inspect"
	"sagitta/station/bench/routine"
)

// shop is a bench on a record of its own, with three gauges whose frames the test writes.
type shop struct {
	t      testing.TB
	ctx    context.Context
	db     *record.DB
	path   string
	bench  *Bench
	time   atomic.Pointer[time.Time] // read by the bench's own turns of live frames too
	seq    uint64
	faulty *faultyRecord
}

// faultyRecord fails a commit when told to, as a full disk does.
type faultyRecord struct {
	*record.DB
	fail        atomic.Pointer[error] // set while lines deliver
	failVerdict atomic.Pointer[error]
	after       func() // called after every reading that was kept
}

func (f *faultyRecord) AppendReading(ctx context.Context, r batch.Reading) (batch.Reading, error) {
	if fail := f.fail.Load(); fail != nil {
		return batch.Reading{}, *fail
	}
	kept, err := f.DB.AppendReading(ctx, r)
	if f.after != nil {
		f.after()
	}
	return kept, err
}

func (f *faultyRecord) AppendVerdict(ctx context.Context, v batch.Verdict) (batch.Verdict, error) {
	if fail := f.failVerdict.Load(); fail != nil {
		return batch.Verdict{}, *fail
	}
	return f.DB.AppendVerdict(ctx, v)
}

const (
	carriage = recordtest.Carriage
	height   = recordtest.Height
	beam     = recordtest.Beam
)

// prepared is the record that every shop begins with, made by the first; made is the time when it was.
var prepared struct {
	sync.Mutex
	file []byte
	made time.Time
}

// open makes the shop: an inspector, three checked gauges, the demo's specifications, two batches.
func open(t testing.TB) *shop {
	t.Helper()
	s := &shop{t: t, ctx: t.Context(), path: filepath.Join(t.TempDir(), "record.db")}
	prepared.Lock()
	defer prepared.Unlock()
	if prepared.file == nil {
		s.furnish()
		s.ok(s.db.Close())
		file, err := os.ReadFile(s.path)
		s.ok(err)
		prepared.file, prepared.made = file, s.at()
	} else {
		s.ok(os.WriteFile(s.path, prepared.file, 0o600))
		s.set(prepared.made)
	}
	s.reopen()
	t.Cleanup(func() { _ = s.db.Close() })
	s.restart()
	s.ok(s.bench.SetInspector(s.ctx, "Wren Halloway"))
	s.ok(s.bench.OpenBatch(s.ctx, "QM-2611"))
	return s
}

// furnish fills a new record.
func (s *shop) furnish() {
	t := s.t
	t.Helper()
	s.set(time.Date(2026, 11, 2, 7, 0, 0, 0, time.UTC))
	s.reopen()
	must(t)(s.db.AddPerson(s.ctx, "", "Wren Halloway", batch.Inspector))
	must(t)(s.db.AddPerson(s.ctx, "", "Ilse Marchetti-Roe", batch.QualityManager))
	recordtest.Gauges(t, s.db)
	recordtest.ThreeNecks(t, s.db, "QM-2611", "qm-bolt-648.toml")
	recordtest.ThreeNecks(t, s.db, "QM-2612", "qm-flattop-645.toml")
	s.restart()
	s.ok(s.bench.SetInspector(s.ctx, "Wren Halloway"))
	s.ok(s.bench.OpenBatch(s.ctx, "QM-2611"))
	for _, g := range []string{carriage, height, beam} {
		s.ok(s.bench.CheckGauge(s.ctx, g))
		s.frame(g, 0, true)
		s.frame(g, 1, true)
		if s.bench.Snapshot().Check != nil {
			t.Fatalf("the check of %s is still running: %+v", g, s.bench.Snapshot().Notice)
		}
	}
}

// at is the shop's time, set moves it.
func (s *shop) at() time.Time { return *s.time.Load() }

func (s *shop) set(now time.Time) { s.time.Store(&now) }

// reopen opens the record file.
func (s *shop) reopen() {
	s.t.Helper()
	db, err := record.Open(s.path, record.Options{Station: "test bench", Now: s.at})
	if err != nil {
		s.t.Fatal(err)
	}
	s.db = db
	s.faulty = &faultyRecord{DB: db}
}

// restart makes a new bench on the record, as after a crash.
func (s *shop) restart() {
	s.t.Helper()
	b, err := New(s.ctx, Options{Record: s.faulty, Now: s.at})
	if err != nil {
		s.t.Fatal(err)
	}
	s.bench = b
	b.changes = func(from, to kind) {
		if !slices.Contains(leads[from], to) {
			s.t.Errorf("the bench went from %s to %s, which no table allows", from, to)
		}
	}
}

func (s *shop) ok(err error) {
	s.t.Helper()
	if err != nil {
		s.t.Fatal(err)
	}
}

// refused checks that a command failed and that the page shows why.
func (s *shop) refused(err error, want string) {
	s.t.Helper()
	n := s.bench.Snapshot().Notice
	if err == nil || !strings.Contains(err.Error(), want) {
		s.t.Fatalf("error %v, want one with %q", err, want)
	}
	if n == nil || !n.Refused || !strings.Contains(strings.ToLower(n.Text), strings.ToLower(want)) {
		s.t.Fatalf("the page shows %+v, want a refusal with %q", n, want)
	}
}

// patience is how long a test waits for what must happen.
const patience = time.Minute

// frame sends one frame of a gauge, 600 ms after the last. A gauge that sends all the time dips before its key is pressed: it stands
// at another place than before.
func (s *shop) frame(gauge string, mm float64, key bool) {
	s.t.Helper()
	after := 600 * time.Millisecond
	if key {
		after = s.dips(gauge, after)
	}
	s.frameAs(gauge, mm, "mm", key, after)
}

// dips has a gauge that stands somewhere dip on its way to another place, and returns how much is left of the time until it is there.
func (s *shop) dips(gauge string, after time.Duration) time.Duration {
	const dip = 50 * time.Millisecond
	l := s.bench.lines[gauge]
	if l == nil || l.stands == nil {
		return after
	}
	mm := l.stands.mm - 1
	s.frameAs(gauge, mm, "mm", false, after-2*dip)
	s.frameAs(gauge, mm, "mm", false, dip)
	return dip
}

func (s *shop) frameAs(gauge string, mm float64, unit string, key bool, after time.Duration) {
	s.hands(s.made(gauge, mm, unit, key, after))
}

// hands hands a reading to the bench and makes sure that the next snapshot shows it: a live frame waits for its turn, and
// while that comes about on a goroutine of its own a snapshot is the one before.
func (s *shop) hands(r devices.Reading) {
	s.bench.Reading(r)
	s.bench.mu.Lock()
	defer s.bench.mu.Unlock()
	if s.bench.stale.Load() {
		s.bench.publish()
	}
}

// made makes a gauge's next reading.
func (s *shop) made(gauge string, mm float64, unit string, key bool, after time.Duration) devices.Reading {
	s.set(s.at().Add(after))
	s.seq++
	digits := fmt.Sprintf("%+.3f", mm)
	return devices.Reading{
		Gauge: gauge, At: s.at(), Seq: s.seq, Offset: int64(s.seq) * 10, Raw: []byte("K:" + digits + unit + "\r\n"), Key: key,
		Value: decode.Value{Digits: digits, Unit: unit, Value: mm, UnitNorm: unit, MM: mm}, Decoder: "channel and value@test",
	}
}

// good is what a sound neck of the bolt-on model gives at a point, mm: an even bow of 0.28 mm, the board's own radius,
// the frets after the joint along the tangent with a little fall-away.
func good(p routine.Point, spec *inspect.Spec) float64 {
	switch p.Point.Kind {
	case batch.NutHeight:
		return 0.44
	case batch.ActionHeight:
		return 1.55 + 0.06*float64(p.Point.String-1)
	case batch.BeamReading:
		return 0.2
	}
	xb := inspect.FretX(spec.Neck.ScaleMM, spec.Neck.JointFret)
	x1, x7 := inspect.FretX(spec.Neck.ScaleMM, 1), inspect.FretX(spec.Neck.ScaleMM, 7)
	c := 2 * 0.28 / ((x7 - x1) * (xb - x7))
	z := 0.0
	if p.XMM < xb {
		z = c * (xb - p.XMM) * (xb - p.XMM) / 2
	} else {
		z = -0.15 * (p.XMM - xb) / (inspect.FretX(spec.Neck.ScaleMM, spec.Neck.Frets) - xb)
	}
	r := spec.Neck.NutRadiusMM
	z -= r - math.Sqrt(r*r-p.YMM*p.YMM)
	return math.Round(z*1000) / 1000
}

// press sends the value for the point asked for; change may alter it.
func (s *shop) press(change func(p routine.Point, mm float64) float64) {
	s.t.Helper()
	snap := s.bench.Snapshot()
	if snap.Question != nil {
		s.t.Fatalf("a question stands: %s", snap.Question.Asks)
	}
	p := snap.Points[snap.Next]
	if p.Point.Kind == batch.PitchDeclared {
		s.ok(s.bench.Declare(s.ctx))
		return
	}
	mm := good(p, snap.Batch.Spec.Spec)
	if change != nil {
		mm = change(p, mm)
	}
	s.frame(p.GaugeID, mm, true)
	if now := s.bench.Snapshot(); now.Taken == snap.Taken && now.Question == nil {
		s.t.Fatalf("%s: nothing was taken: %+v", p.Words, now.Notice)
	}
}

// withBow adds relief to a neck, mm.
func (s *shop) withBow(relief float64) func(p routine.Point, mm float64) float64 {
	return func(p routine.Point, mm float64) float64 {
		spec := s.bench.Snapshot().Batch.Spec.Spec
		x := func(n int) float64 { return inspect.FretX(spec.Neck.ScaleMM, n) }
		if xb := x(spec.Neck.JointFret); ofLaying(p.Point.Kind) && p.XMM < xb {
			mm += relief / ((x(7) - x(1)) * (xb - x(7))) * (xb - p.XMM) * (xb - p.XMM)
		}
		return mm
	}
}

// finish presses until the bench asks for nothing more.
func (s *shop) finish(change func(p routine.Point, mm float64) float64) *Snapshot {
	s.t.Helper()
	for n := 0; s.bench.Snapshot().Next >= 0; n++ {
		if n > 400 {
			s.t.Fatal("the routine does not end")
		}
		s.press(change)
	}
	return s.bench.Snapshot()
}

// must and must1 fail the test on an error.
func must(t testing.TB) func(any, error) {
	return func(_ any, err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
}

func must1(t testing.TB) func(batch.SpecRevision, error) batch.SpecRevision {
	return func(v batch.SpecRevision, err error) batch.SpecRevision {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

var errFull = errors.New("the disk is full")
