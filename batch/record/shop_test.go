package record

import (
	"context"
	"fmt"
	"path/filepath"
	"sync/atomic"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

const specText = `name = "QM Bolt 648"
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

// shop is a record with a batch, and a clock that moves a second at each look.
type shop struct {
	testing.TB
	*DB
	ctx   context.Context
	path  string
	spec  batch.SpecRevision
	batch batch.Batch
}

// clear clears a neck of every doubt that it is in.
func (s *shop) clear(by, neckID, reason string) error {
	all := must(s.Doubts(s.ctx, batch.DoubtFilter{NeckID: neckID, Standing: true}))(s)
	g := batch.NeckDoubts{NeckID: neckID}
	for i := range all {
		g.Doubts = append(g.Doubts, all[i].ID)
	}
	return s.ClearDoubts(s.ctx, by, reason, []batch.NeckDoubts{g})
}

func clock() func() time.Time {
	start := time.Date(2026, 11, 2, 7, 0, 0, 0, time.UTC)
	var looks atomic.Int64
	return func() time.Time { return start.Add(time.Duration(looks.Add(1)) * time.Second) }
}

func newShop(t testing.TB, serials ...string) *shop {
	t.Helper()
	return newStation(t, "bench 1", serials...)
}

func newStation(t testing.TB, station string, serials ...string) *shop {
	t.Helper()
	s := &shop{TB: t, ctx: context.Background(), path: filepath.Join(t.TempDir(), "record.db")}
	s.DB = must(Open(s.path, Options{Station: station, Now: clock()}))(t)
	t.Cleanup(func() { _ = s.Close() })
	s.spec = must(s.AddSpec(s.ctx, "Mara Quill", "", "bolt.toml", []byte(specText)))(t)
	s.batch = must(s.OpenBatch(s.ctx, "Mara Quill", batch.Batch{Number: "QM-2611", Spec: s.spec, Planned: 30}, serials))(t)
	return s
}

// must returns v, or ends the test with err.
func must[T any](v T, err error) func(testing.TB) T {
	return func(t testing.TB) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func (s *shop) ok(err error) {
	s.Helper()
	if err != nil {
		s.Fatal(err)
	}
}

func (s *shop) neck(serial string) batch.Neck { s.Helper(); return must(s.Neck(s.ctx, serial))(s) }

func (s *shop) start(serial string) batch.Inspection {
	s.Helper()
	return must(s.StartInspection(s.ctx, batch.Inspection{NeckID: s.neck(serial).ID, Inspector: "Ossian Reed", Posture: "playing"}))(s)
}

func (s *shop) read(in batch.Inspection, fret int, value float64) batch.Reading {
	s.Helper()
	return must(s.AppendReading(s.ctx, crown(in, fret, value)))(s)
}

func crown(in batch.Inspection, fret int, value float64) batch.Reading {
	return batch.Reading{InspectionID: in.ID, Point: batch.Point{Kind: batch.Crown, Track: "bass", Fret: fret}, Value: value, U: 0.005,
		By: "Ossian Reed", Raw: []byte("+0.012mm\r\n"), Sent: "+0.012", Unit: "mm", Decoded: value}
}

// verdict keeps a made-up result of the reliefs given, both with limits.
func (s *shop) verdict(in batch.Inspection, d inspect.Disposition, bass, treble float64) batch.Verdict {
	s.Helper()
	return must(s.AppendVerdict(s.ctx, verdictOf(in, d, bass, treble)))(s)
}

func verdictOf(in batch.Inspection, d inspect.Disposition, bass, treble float64) batch.Verdict {
	res := &inspect.Result{Serial: in.Serial, Spec: "QM Bolt 648", Revision: "B", Conforms: d == inspect.Pass, Disposition: d}
	for i, v := range []float64{bass, treble} {
		c := inspect.Characteristic{Name: "relief", Track: []string{"bass", "treble"}[i], Fret: 7, Value: new(v), U: new(0.004), Unit: "mm",
			Lower: new(0.2), Target: new(0.3), Upper: new(0.36), Zone: inspect.Conforming}
		if v < 0.2 || v > 0.36 {
			c.Zone = inspect.Nonconforming
		}
		res.Characteristics = append(res.Characteristics, c)
	}
	return batch.Verdict{InspectionID: in.ID, Result: res, Disposition: d}
}

func serials(n int) []string {
	all := make([]string, n)
	for i := range all {
		all[i] = fmt.Sprintf("QM-2611-%04d", i+1)
	}
	return all
}
