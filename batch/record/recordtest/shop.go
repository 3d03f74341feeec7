// Package recordtest makes small records for tests: a shop with people, a gauge, a specification and a batch, and that batch
// in each state that a batch can have.
package recordtest

import (
	"context"
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/sampling"
	"sagitta/inspect"
)

// Who works in the shop.
const (
	Manager   = "Mara Quill"
	Inspector = "Ossian Reed"
	Repairer  = "Tove Aske"
)

// Number is the shop's batch.
const Number = "QM-2611"

// Spec is the shop's specification: two strings, and relief with limits on both tracks.
const Spec = `name = "QM Bolt 648"
revision = "B"
[neck]
scale_mm = 648.0
frets = 22
joint_fret = 17
nut_radius_mm = 305.0
last_fret_radius_mm = 305.0
rod = "double"
[[string]]
number = 1
name = "E4"
pitch_hz = 329.6276
y_nut_mm = 17.5
y_saddle_mm = 26.0
diameter_mm = 0.254
plain = true
[[string]]
number = 2
name = "E2"
pitch_hz = 82.4069
y_nut_mm = -17.5
y_saddle_mm = -26.0
diameter_mm = 1.17
mass_g_per_m = 6.9
[[limit]]
characteristic = "relief"
track = "each"
lower_mm = 0.2
target_mm = 0.3
upper_mm = 0.36
`

// Shop is a record in a folder of the test's own, with a clock that moves on by a second at each look. Its methods end the
// test where the record refuses.
type Shop struct {
	testing.TB
	*record.DB
	Path  string
	Gauge batch.Gauge // the carriage indicator
	Spec  batch.SpecRevision
	Batch batch.Batch
}

// New is a shop whose batch has these serial numbers and is judged by Spec.
func New(t testing.TB, serials ...string) *Shop {
	t.Helper()
	return NewBy(t, Spec, serials...)
}

// NewBy is a shop whose batch is judged by a specification of the test's own.
func NewBy(t testing.TB, spec string, serials ...string) *Shop {
	t.Helper()
	s := &Shop{TB: t}
	s.DB, s.Path = Record(t, Clock())
	ctx := context.Background()
	for name, role := range map[string]batch.Role{Manager: batch.QualityManager, Inspector: batch.Inspector, Repairer: batch.Repairer} {
		Must(s.AddPerson(ctx, Manager, name, role))(t)
	}
	s.Gauge = Must(s.SaveGauge(ctx, Manager, batch.Gauge{Name: "carriage indicator", Sense: 1, Measures: []batch.Kind{batch.Crown}}))(t)
	s.Spec = Must(s.AddSpec(ctx, Manager, "", "bolt.toml", []byte(spec)))(t)
	s.Batch = Must(s.OpenBatch(ctx, Manager, batch.Batch{Number: Number, Spec: s.Spec, Planned: len(serials)}, serials))(t)
	return s
}

// Clock begins on 2 November 2026 at 7:00 UTC and is a second later at each look.
func Clock() func() time.Time {
	start := time.Date(2026, 11, 2, 7, 0, 0, 0, time.UTC)
	var looks atomic.Int64
	return func() time.Time { return start.Add(time.Duration(looks.Add(1)) * time.Second) }
}

// Must returns v, or ends the test with err.
func Must[T any](v T, err error) func(testing.TB) T {
	return func(t testing.TB) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// Serials are the batch's first n serial numbers.
func Serials(n int) []string {
	all := make([]string, n)
	for i := range all {
		all[i] = fmt.Sprintf("%s-%04d", Number, i+1)
	}
	return all
}

// Start begins the next inspection of a neck.
func (s *Shop) Start(serial string) batch.Inspection {
	s.Helper()
	neck := Must(s.Neck(context.Background(), serial))(s)
	return Must(s.StartInspection(context.Background(), batch.Inspection{NeckID: neck.ID, Inspector: Inspector, Posture: "playing"}))(s)
}

// Read keeps a crown's height, mm, by the shop's gauge.
func (s *Shop) Read(in batch.Inspection, fret int, mm float64) batch.Reading {
	s.Helper()
	return Must(s.AppendReading(context.Background(), batch.Reading{InspectionID: in.ID, Point: batch.Point{Kind: batch.Crown, Track: "bass", Fret: fret},
		Value: mm, U: 0.005, By: Inspector, GaugeID: s.Gauge.ID, Raw: []byte("+0.012mm\r\n"), Sent: "+0.012", Unit: "mm", Decoded: 0.012}))(s)
}

// Verdict ends an inspection with a result of one relief, mm, on both tracks.
func (s *Shop) Verdict(in batch.Inspection, d inspect.Disposition, relief float64) batch.Verdict {
	s.Helper()
	return Must(s.AppendVerdict(context.Background(), batch.Verdict{InspectionID: in.ID, Result: Result(in.Serial, d, relief)}))(s)
}

// Result is a made-up result: one relief, mm, on both tracks.
func Result(serial string, d inspect.Disposition, relief float64) *inspect.Result {
	res := &inspect.Result{Serial: serial, Spec: "QM Bolt 648", Revision: "B", Conforms: d == inspect.Pass, Disposition: d}
	for _, track := range []string{"bass", "treble"} {
		c := inspect.Characteristic{Name: inspect.Relief, Track: track, Fret: 7, Value: new(relief), U: new(0.004), Unit: "mm",
			Lower: new(0.2), Target: new(0.3), Upper: new(0.36), Zone: inspect.Conforming}
		if relief < 0.2 || relief > 0.36 {
			c.Zone = inspect.Nonconforming
		}
		res.Characteristics = append(res.Characteristics, c)
	}
	return res
}

// Pass inspects necks, which pass.
func (s *Shop) Pass(serials ...string) {
	s.Helper()
	Pass(s, s.DB, Inspector, serials...)
}

// Draw begins an outgoing audit of the batch: AQL 10, level II, normal.
func (s *Shop) Draw() batch.OutgoingAudit {
	s.Helper()
	return Must(s.DrawOutgoing(context.Background(), batch.OutgoingAudit{By: Manager, BatchID: s.Batch.ID, AQL: 10, Level: "II", Severity: sampling.Normal}))(s)
}

// Sign finds the first bad necks of an audit's sample nonconforming, the others conforming, and signs its result.
func (s *Shop) Sign(a batch.OutgoingAudit, bad int) batch.OutgoingAudit {
	s.Helper()
	var findings []batch.OutgoingFinding
	for i, n := range a.Necks {
		f := batch.OutgoingFinding{By: Manager, AuditID: a.ID, NeckID: n.NeckID, Conforms: i >= bad}
		if !f.Conforms {
			f.Note = "buzz at fret 3"
		}
		findings = append(findings, f)
	}
	Must(s.AppendOutgoingFindings(context.Background(), findings...))(s)
	return Must(s.SignOutgoing(context.Background(), Manager, a.ID, false, false, ""))(s)
}

// Check keeps a check of the shop's gauge. A failed one puts in doubt what rests on its readings since the check before.
func (s *Shop) Check(good bool) batch.GaugeCheck {
	s.Helper()
	return Must(s.AppendGaugeCheck(context.Background(), batch.GaugeCheck{GaugeID: s.Gauge.ID, By: Manager, Good: good, Why: "zero moved by +0.030 mm", After: batch.CheckDue}))(s)
}
