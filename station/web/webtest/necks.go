package webtest

import (
	"context"
	_ "embed"
	"fmt"
	"math"
	"time"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/inspect"
	"sagitta/station/bench/routine"
	"sagitta/testdata/usb"
)

// SpecText is the shop's specification.
//
//go:embed bolt-b.toml
var SpecText string

// Fill adds people, a gauge with checks, a specification and a batch of 30 necks, the first of them inspected: number 1
// fails by its relief and passes after a turn of the rod, number 2 passes at once, number 3 has one high fret.
func (s *Shop) Fill() *Shop {
	ctx := context.Background()
	s.Helper()
	person := Must[batch.Person](s)
	person(s.Rec.AddPerson(ctx, "Tove Aske", "Tove Aske", batch.QualityManager))
	person(s.Rec.AddPerson(ctx, "Tove Aske", "Mara Quill", batch.Inspector))
	s.Gauge = Must[batch.Gauge](s)(s.Rec.SaveGauge(ctx, "Tove Aske", batch.Gauge{
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
		Must[batch.GaugeCheck](s)(s.Rec.AppendGaugeCheck(ctx, batch.GaugeCheck{
			GaugeID: s.Gauge.ID, At: time.Now().Add(time.Duration(i-5) * 11 * time.Hour), By: "Mara Quill", ZeroMM: 0.1 + shift, ShiftMM: shift,
			Masters: []batch.MasterReading{{NominalMM: 1, LimitMM: 0.015, ReadMM: 1.002}}, Good: shift < 0.01, Why: why, After: "due", RawZero: []byte("+0.101\r\n"),
		}))
	}
	s.Spec = Must[batch.SpecRevision](s)(s.Rec.AddSpec(ctx, "Tove Aske", "", "bolt-b.toml", []byte(SpecText)))
	serials := make([]string, 30)
	for i := range serials {
		serials[i] = fmt.Sprintf("QM-2611-%04d", i+1)
	}
	s.Batch = Must[batch.Batch](s)(s.Rec.OpenBatch(ctx, "Tove Aske", batch.Batch{Number: "QM-2611", Spec: s.Spec, Planned: 30, Note: "first run"}, serials))
	turn := s.Inspect("QM-2611-0001", 0.46, 0)
	s.Rework(turn)
	s.Inspect("QM-2611-0001", 0.29, 0)
	s.Inspect("QM-2611-0002", 0.28, 0)
	s.Inspect("QM-2611-0003", 0.27, 0.09)
	return s
}

// Inspect measures one neck whose relief is what is given, with fret 9 on the bass side higher than its neighbours.
func (s *Shop) Inspect(serial string, relief, high float64) batch.Verdict {
	ctx := context.Background()
	neck := Must[batch.Neck](s)(s.Rec.Neck(ctx, serial))
	in := Must[batch.Inspection](s)(s.Rec.StartInspection(ctx, batch.Inspection{
		NeckID: neck.ID, Serial: serial, BatchID: neck.BatchID, Inspector: "Mara Quill", Climate: inspect.Climate{TemperatureC: new(21.0), HumidityPercent: new(47.0)}, Posture: "playing",
	}))
	spec := s.Spec.Spec.WithDefaults()
	// A parabola over frets 1 to 17 whose sagitta at fret 7 is the relief asked for.
	x := func(n int) float64 { return 648 * (1 - math.Pow(2, -float64(n)/12)) }
	scale := relief / ((x(7) - x(1)) * (x(17) - x(7)))
	var rows []batch.Reading
	for i, p := range routine.Points(spec, []batch.Gauge{s.Gauge}) {
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
			wrong = Must[batch.Reading](s)(s.Rec.AppendReading(ctx, wrong))
			r.Supersedes, r.Reason = wrong.ID, "the carriage stood on the fret's end"
		}
		rows = append(rows, r)
	}
	rows = Must[[]batch.Reading](s)(s.Rec.AppendReadings(ctx, rows))
	readings := batch.Assemble(spec, in, rows, nil)
	res, err := inspect.Evaluate(spec, readings, inspect.Options{})
	if err != nil {
		s.Fatal(err)
	}
	return Must[batch.Verdict](s)(s.Rec.AppendVerdict(ctx, batch.Verdict{InspectionID: in.ID, Result: res, Disposition: res.Disposition}))
}

// Rework records a quarter of a turn after a verdict.
func (s *Shop) Rework(v batch.Verdict) {
	ctx := context.Background()
	neck := Must[batch.Neck](s)(s.Rec.Neck(ctx, v.Result.Serial))
	before, u := inspect.MeanRelief(v.Result)
	Must[batch.ReworkAction](s)(s.Rec.AppendRework(ctx, batch.ReworkAction{
		NeckID: neck.ID, InspectionID: v.InspectionID, By: "Mara Quill", What: inspect.StepRod, Turns: 0.25, Direction: "tighten", PredictedMM: new(0.335),
		ReliefBefore: before, ReliefBeforeU: u, Note: "turned freely",
	}))
}

// Passed lets necks pass so that they may ship.
func (s *Shop) Passed(serials ...string) {
	s.Helper()
	recordtest.Pass(s, s.Rec, "Mara Quill", serials...)
}
