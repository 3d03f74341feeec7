package web

import (
	"context"
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/devices"
	"sagitta/inspect"
	"sagitta/station/bench"
	"sagitta/station/bench/routine"
	"sagitta/testdata/usb"
)

// shop is an invented shop's record behind the pages, as a test drives them.
type shop struct {
	t       testing.TB
	rec     *record.DB
	handler http.Handler
	spec    batch.SpecRevision
	batch   batch.Batch
	gauge   batch.Gauge
	checked string // gauge that the bench was asked to check
	changed int    // how often the gauges changed
	ports   []devices.PortInfo
	lines   *testLines
	lineNow []bench.GaugeLine // how the gauges are, nil: live
	alarms  int               // how many are open
}

// shopBench is a bench with nothing on it but the gauge's line.
type shopBench struct {
	Bench
	shop *shop
}

func (b shopBench) Snapshot() *bench.Snapshot {
	if b.shop.lineNow != nil {
		return &bench.Snapshot{Stage: bench.Idle, Next: -1, AllAlarms: b.shop.alarms, Inspector: "Mara Quill", Batch: &b.shop.batch, Gauges: b.shop.lineNow}
	}
	return &bench.Snapshot{Stage: bench.Idle, Next: -1, AllAlarms: b.shop.alarms, Inspector: "Mara Quill", Batch: &b.shop.batch, Gauges: []bench.GaugeLine{{
		ID: b.shop.gauge.ID, Name: b.shop.gauge.Name, State: "live", Since: time.Now().Add(-time.Hour), Words: b.shop.gauge.Name + " live, zeroed 07:12",
	}}}
}

func (b shopBench) CheckGauge(_ context.Context, id string) error {
	b.shop.checked = id
	return nil
}

func (b shopBench) ReloadAlarms(context.Context) error { return nil }

func (b shopBench) ReloadDoubt(context.Context) error { return nil }

// newRequest is a request as it comes to this machine's own address.
func newRequest(method, target string, body io.Reader) *http.Request {
	r := httptest.NewRequest(method, target, body)
	r.Host = "127.0.0.1:8470"
	return r
}

// openShop opens an empty record and serves its pages.
func openShop(t testing.TB) *shop {
	rec, err := record.Open(filepath.Join(t.TempDir(), "record.db"), record.Options{Station: "bench 1"})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := rec.Close(); err != nil {
			t.Error(err)
		}
	})
	s := &shop{
		t: t, rec: rec, lines: &testLines{hold: make(chan struct{})},
		ports: []devices.PortInfo{{Name: "/dev/ttyUSB3", Identity: devices.Identity{Vendor: usb.Vendor, Product: usb.Product, Serial: usb.Serial}}},
	}
	s.handler, err = New(Options{
		Bench: shopBench{shop: s}, Record: rec,
		Ports:         func() ([]devices.PortInfo, error) { return s.ports, nil },
		Lines:         s.lines,
		GaugesChanged: func(context.Context) error { s.changed++; return nil },
	})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func must[T any](s *shop) func(T, error) T {
	return func(v T, err error) T {
		s.t.Helper()
		if err != nil {
			s.t.Fatal(err)
		}
		return v
	}
}

// specText reads the test's specification.
func specText(t testing.TB) string {
	text, err := os.ReadFile("testdata/bolt-b.toml")
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// fill adds people, a gauge with checks, a specification and a batch of 30 necks, the first of them inspected: number 1
// fails by its relief and passes after a turn of the rod, number 2 passes at once, number 3 has one high fret.
func (s *shop) fill() *shop {
	ctx := context.Background()
	s.t.Helper()
	person := must[batch.Person](s)
	person(s.rec.AddPerson(ctx, "Tove Aske", "Tove Aske", batch.QualityManager))
	person(s.rec.AddPerson(ctx, "Tove Aske", "Mara Quill", batch.Inspector))
	s.gauge = must[batch.Gauge](s)(s.rec.SaveGauge(ctx, "Tove Aske", batch.Gauge{
		Name: "carriage indicator", Measures: []batch.Kind{batch.Crown}, USBVendor: usb.Vendor, USBProduct: usb.Product, USBSerial: "QM-1",
		Decoder: "signed decimal with unit", Capture: "key", Sense: 1, ResolutionMM: 0.01, TravelMM: 12.5, CalibrationU: 0.002, RepeatabilityU: 0.003,
		ReferenceU: 0.002, Calibration: []batch.CalibrationPoint{{IndicatedMM: 0, ErrorMM: 0}, {IndicatedMM: 2, ErrorMM: 0.003}},
		Certificate: "QC-118", CertificateDue: time.Now().AddDate(0, 5, 0), Masters: []batch.Master{{NominalMM: 1, LimitMM: 0.015}}, ZeroLimitMM: 0.01, CheckHours: 12,
	}))
	for i, shift := range []float64{0.001, -0.002, 0.003, 0.013, 0.001} {
		why := "The zero shifted by less than 0.010 mm; the master reads 1.002 mm."
		if shift > 0.01 {
			why = "The zero shifted by 0.013 mm; at most 0.010 mm is allowed."
		}
		must[batch.GaugeCheck](s)(s.rec.AppendGaugeCheck(ctx, batch.GaugeCheck{
			GaugeID: s.gauge.ID, At: time.Now().Add(time.Duration(i-5) * 11 * time.Hour), By: "Mara Quill", ZeroMM: 0.1 + shift, ShiftMM: shift,
			Masters: []batch.MasterReading{{NominalMM: 1, LimitMM: 0.015, ReadMM: 1.002}}, Good: shift < 0.01, Why: why, After: "due", RawZero: []byte("+0.101\r\n"),
		}))
	}
	s.spec = must[batch.SpecRevision](s)(s.rec.AddSpec(ctx, "Tove Aske", "bolt-b.toml", []byte(specText(s.t))))
	serials, err := parseSerials("QM-2611-0001..QM-2611-0030")
	if err != nil {
		s.t.Fatal(err)
	}
	s.batch = must[batch.Batch](s)(s.rec.OpenBatch(ctx, "Tove Aske", batch.Batch{Number: "QM-2611", Spec: s.spec, Planned: 30, Note: "first run"}, serials))
	turn := s.inspect("QM-2611-0001", 0.46, 0)
	s.rework(turn)
	s.inspect("QM-2611-0001", 0.29, 0)
	s.inspect("QM-2611-0002", 0.28, 0)
	s.inspect("QM-2611-0003", 0.27, 0.09)
	return s
}

// inspect measures one neck whose relief is what is given, with fret 9 on the bass side higher than its neighbours.
func (s *shop) inspect(serial string, relief, high float64) batch.Verdict {
	ctx := context.Background()
	neck := must[batch.Neck](s)(s.rec.Neck(ctx, serial))
	in := must[batch.Inspection](s)(s.rec.StartInspection(ctx, batch.Inspection{
		NeckID: neck.ID, Serial: serial, BatchID: neck.BatchID, Inspector: "Mara Quill", Climate: inspect.Climate{TemperatureC: new(21.0), HumidityPercent: new(47.0)}, Posture: "playing",
	}))
	spec := s.spec.Spec.WithDefaults()
	// A parabola over frets 1 to 17 whose sagitta at fret 7 is the relief asked for.
	x := func(n int) float64 { return 648 * (1 - math.Pow(2, -float64(n)/12)) }
	scale := relief / ((x(7) - x(1)) * (x(17) - x(7)))
	var rows []batch.Reading
	for i, p := range routine.Points(spec, []batch.Gauge{s.gauge}) {
		r := batch.Reading{InspectionID: in.ID, Point: p.Point, Round: 1, By: "Mara Quill", GaugeID: p.GaugeID}
		switch p.Point.Kind {
		case batch.PitchDeclared:
			r.Value = 1
		case batch.Crown:
			r.Value = -scale * (x(p.Point.Fret) - x(1)) * (x(17) - x(p.Point.Fret))
			if p.Point.Fret > 17 {
				r.Value = 0
			}
			if p.Point.Fret == 9 && p.Point.Track == "bass" {
				r.Value += high
			}
			r.Decoder, r.Raw, r.Sent, r.Unit = "signed decimal with unit@1f2e3d4c5b6a", []byte("+0.012mm\r\n"), "+0.012", "mm"
		case batch.NutHeight:
			r.Value = 0.45
		case batch.ActionHeight:
			r.Value = 1.7
		}
		if i == 1 {
			wrong := r
			wrong.Value += 0.4
			wrong = must[batch.Reading](s)(s.rec.AppendReading(ctx, wrong))
			r.Supersedes, r.Reason = wrong.ID, "the carriage stood on the fret's end"
		}
		rows = append(rows, r)
	}
	rows = must[[]batch.Reading](s)(s.rec.AppendReadings(ctx, rows))
	readings := batch.Assemble(spec, in, rows, nil)
	res, err := inspect.Evaluate(spec, readings, inspect.Options{})
	if err != nil {
		s.t.Fatal(err)
	}
	return must[batch.Verdict](s)(s.rec.AppendVerdict(ctx, batch.Verdict{InspectionID: in.ID, Result: res, Disposition: res.Disposition}))
}

// rework records an eighth of a turn after a verdict.
func (s *shop) rework(v batch.Verdict) {
	ctx := context.Background()
	neck := must[batch.Neck](s)(s.rec.Neck(ctx, v.Result.Serial))
	before, u := inspect.MeanRelief(v.Result)
	must[batch.ReworkAction](s)(s.rec.AppendRework(ctx, batch.ReworkAction{
		NeckID: neck.ID, InspectionID: v.InspectionID, By: "Mara Quill", What: "truss rod", Turns: 0.25, Direction: "tighten", PredictedMM: new(0.335),
		ReliefBefore: before, ReliefBeforeU: u, Note: "turned freely",
	}))
}

// get fetches a page and wants the status given.
func (s *shop) get(path string, status int) string {
	s.t.Helper()
	w := s.do(newRequest(http.MethodGet, path, nil))
	if w.Code != status {
		s.t.Fatalf("GET %s: status %d, want %d\n%.2000s", path, w.Code, status, w.Body)
	}
	return w.Body.String()
}

// post sends a form and wants the status given; it returns the page, or where to go.
func (s *shop) post(path string, form url.Values, status int) string {
	s.t.Helper()
	req := newRequest(http.MethodPost, path, strings.NewReader(form.Encode()))
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := s.do(req)
	if w.Code != status {
		s.t.Fatalf("POST %s %v: status %d, want %d\n%.3000s", path, form, w.Code, status, w.Body)
	}
	if status == http.StatusSeeOther {
		return w.Header().Get("Location")
	}
	return w.Body.String()
}

func (s *shop) do(req *http.Request) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	s.handler.ServeHTTP(w, req)
	return w
}

// wants checks that a page holds each text.
func wants(t testing.TB, page string, texts ...string) {
	t.Helper()
	for _, text := range texts {
		if !strings.Contains(page, text) {
			t.Errorf("the page does not say %q", text)
		}
	}
}
