// Package benchtest takes a bench on a small record of its own into every state that its page shows, for tests of pages: what
// they show is what a bench publishes, not what somebody thought it does.
package benchtest

import (
	"fmt"
	"math"
	"sync/atomic"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/record/recordtest"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/inspect"
	"sagitta/station/bench"
	"sagitta/station/bench/routine"
)

// Who works at the bench, and its gauge beside recordtest's.
const (
	Inspector = "Wren Halloway"
	Manager   = "Ilse Marchetti-Roe"

	Place = "gauge-place" // the carriage's position
)

// Bench is a bench at which the inspector has signed on, with its gauges checked and batch QM-2611 open: three necks to be measured
// fret by fret. QM-2612's are measured with the beam and judged with guarded acceptance, QM-2613's are swept. Its time moves when a
// gauge sends.
type Bench struct {
	*bench.Bench
	t      testing.TB
	Record *record.DB
	now    atomic.Pointer[time.Time]
	seq    uint64
}

// Open makes the bench and its record.
func Open(t testing.TB) *Bench {
	t.Helper()
	b := &Bench{t: t}
	start := time.Date(2026, 11, 2, 7, 0, 0, 0, time.UTC)
	b.now.Store(&start)
	at := func() time.Time { return *b.now.Load() }
	ctx := t.Context()
	b.Record, _ = recordtest.Record(t, at)
	recordtest.Must(b.Record.AddPerson(ctx, "", Inspector, batch.Inspector))(b.t)
	recordtest.Must(b.Record.AddPerson(ctx, "", Manager, batch.QualityManager))(b.t)
	recordtest.Gauges(t, b.Record, batch.Gauge{ID: Place, Name: "carriage position", Measures: []batch.Kind{batch.Position}, Capture: devices.CaptureStream})
	recordtest.ThreeNecks(t, b.Record, "QM-2611", "qm-bolt-648.toml")
	recordtest.ThreeNecks(t, b.Record, "QM-2612", "qm-flattop-645.toml")
	recordtest.ThreeNecks(t, b.Record, "QM-2613", "qm-bolt-648-fretwork.toml")
	b.Bench = recordtest.Must(bench.New(ctx, bench.Options{Record: b.Record, Now: at, Demo: true}))(b.t)
	for _, id := range []string{recordtest.Carriage, Place, recordtest.Height, recordtest.Beam} {
		b.Health(devices.Health{Gauge: id, State: devices.StateLive, Since: start})
	}
	b.Do(b.SetInspector(ctx, Inspector))
	b.Do(b.OpenBatch(ctx, "QM-2611"))
	for _, id := range []string{recordtest.Carriage, recordtest.Height, recordtest.Beam} {
		b.Check(id, 1)
	}
	return b
}

// Do ends the test where a command failed.
func (b *Bench) Do(err error) {
	b.t.Helper()
	if err != nil {
		b.t.Fatal(err)
	}
}

// Check checks a gauge that reads mm on its 1 mm master.
func (b *Bench) Check(gauge string, mm float64) {
	b.t.Helper()
	b.Do(b.CheckGauge(b.t.Context(), gauge))
	b.Frame(gauge, 0, true)
	b.Frame(gauge, mm, true)
}

// Frame has a gauge send, 600 ms after what was sent before; key says that its data key was pressed. The carriage's indicator dips
// before: it stands at another place.
func (b *Bench) Frame(gauge string, mm float64, key bool) {
	const dip = 50 * time.Millisecond
	after := 600 * time.Millisecond
	if key && gauge == recordtest.Carriage {
		b.send(gauge, mm-1, false, after-dip)
		after = dip
	}
	b.send(gauge, mm, key, after)
}

// send has a gauge send some time after what was sent before.
func (b *Bench) send(gauge string, mm float64, key bool, after time.Duration) {
	now := b.now.Load().Add(after)
	b.now.Store(&now)
	b.seq++
	digits := fmt.Sprintf("%+.3f", mm)
	b.Reading(devices.Reading{
		Gauge: gauge, At: now, Seq: b.seq, Offset: int64(b.seq) * 10, Raw: []byte("K:" + digits + "mm\r\n"), Key: key, Decoder: "channel and value@test",
		Value: decode.Value{Digits: digits, Unit: "mm", Value: mm, UnitNorm: "mm", MM: mm},
	})
}

// Neck is how a neck differs from one that is flat but for its relief: that, by how much fret 9 on the bass side stands high, and
// what is added to the heights of string 3 and to its nut height, mm.
type Neck struct{ Relief, High, Third, Slot float64 }

// Sound is a neck that passes.
var Sound = Neck{Relief: 0.28}

// At is what the neck gives at a point, mm: an even bow on the board's own radius, a little fall-away behind the joint.
func (n Neck) At(p routine.Point, s *inspect.Spec) float64 {
	switch p.Point.Kind {
	case batch.NutHeight:
		if p.Point.String == 3 {
			return 0.44 + n.Slot
		}
		return 0.44
	case batch.ActionHeight:
		for _, l := range s.Limits { // in the middle of its limits
			if l.Characteristic == inspect.Action && l.LowerMM != nil && l.UpperMM != nil && (l.String.Number == p.Point.String || l.String.Each) {
				mm := (*l.LowerMM + *l.UpperMM) / 2
				if p.Point.String == 3 {
					mm += n.Third
				}
				return mm
			}
		}
		return 1.55
	case batch.BeamReading:
		return 0.2
	}
	x := s.Fan().Centre.At
	xb, r := x(s.Neck.JointFret), s.Neck.NutRadiusMM
	z := -0.15 * (p.XMM - xb) / (x(s.Neck.Frets) - xb)
	if p.XMM < xb {
		z = n.Relief / ((x(7) - x(1)) * (xb - x(7))) * (xb - p.XMM) * (xb - p.XMM)
	}
	if p.Point.Fret == 9 && p.Point.Track == "bass" {
		z += n.High
	}
	return math.Round(1000*(z-r+math.Sqrt(r*r-p.YMM*p.YMM))) / 1000
}

// Press takes the point asked for of a neck: the key of its gauge, or Space where pitch is confirmed.
func (b *Bench) Press(n Neck) {
	b.t.Helper()
	snap := b.Snapshot()
	p := snap.Points[snap.Next]
	if p.Point.Kind == batch.PitchDeclared {
		b.Do(b.Declare(b.t.Context()))
		return
	}
	b.Frame(p.GaugeID, n.At(p, snap.Batch.Spec.Spec), true)
	if now := b.Snapshot(); now.Taken == snap.Taken {
		b.t.Fatalf("%s: nothing was taken: %+v, %+v", p.Words, now.Notice, now.Question)
	}
}

// Measure brings a neck to the bench and takes so many of its points; a negative number all that are asked for.
func (b *Bench) Measure(serial string, n Neck, points int) {
	b.t.Helper()
	b.Do(b.Entry(b.t.Context(), serial, "mm"))
	for i := 0; i != points && b.Snapshot().Next >= 0; i++ {
		if i > 400 {
			b.t.Fatal("the routine does not end")
		}
		b.Press(n)
	}
}
