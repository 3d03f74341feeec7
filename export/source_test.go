package export

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"math"
	"math/rand/v2"
	"time"

	"sagitta/batch"
	"sagitta/batch/anchor"
	"sagitta/inspect"
	"sagitta/testdata/usb"
)

// shop is an invented batch in memory: Quillmere's QM-2611.
type shop struct {
	firstsInDoubt int // of necks that passed at the first inspection
	batch         batch.Batch
	counts        batch.Counts
	necks         []batch.NeckReport
	readings      []batch.ReadingReport
	rework        []batch.ReworkReport
	gauges        []batch.GaugeReport
	audits        []batch.OutgoingAudit // newest first

	anchor *anchor.Checkpoint

	failNeck    int // EachNeck fails after so many; 0 never
	failReading int
}

var errTorn = errors.New("page 7 of the record cannot be read")

func (s *shop) Batch(_ context.Context, number string) (batch.Batch, error) {
	if number != s.batch.Number {
		return batch.Batch{}, fmt.Errorf("no batch %q in the record", number)
	}
	return s.batch, nil
}

func (s *shop) Counts(context.Context, string) (batch.Counts, error) { return s.counts, nil }

func (s *shop) BatchGauges(context.Context, string) ([]batch.GaugeReport, error) {
	return s.gauges, nil
}

func (s *shop) Breakdown(_ context.Context, scope batch.Scope, _ batch.Dimension) ([]batch.Share, error) {
	share := batch.Share{Inspected: s.counts.Inspected, FirstPass: s.counts.FirstPass, FinalPass: s.counts.Passed, InDoubt: s.firstsInDoubt}
	if scope.WithoutDoubt {
		share.Inspected, share.FirstPass, share.FinalPass = share.Inspected-s.firstsInDoubt, share.FirstPass-s.firstsInDoubt, share.FinalPass-s.firstsInDoubt
	}
	return []batch.Share{share}, nil
}

func (s *shop) NewestCheckpoint(context.Context) (*anchor.Checkpoint, error) { return s.anchor, nil }

func (s *shop) Signatures(_ context.Context, about string) ([]batch.Signature, error) {
	return []batch.Signature{{At: opened.Add(52 * time.Hour), By: "Ines Quill", Meaning: batch.CloseBatch, About: about, Reason: "all are out", Digest: "12ab"}}, nil
}

func (s *shop) OutgoingAudits(context.Context, string) ([]batch.OutgoingAudit, error) {
	return s.audits, nil
}

func (s *shop) OutgoingAudit(_ context.Context, id string) (batch.OutgoingAudit, error) {
	for _, a := range s.audits {
		if a.ID == id {
			return a, nil
		}
	}
	return batch.OutgoingAudit{}, fmt.Errorf("no audit %q in the record", id)
}

func (s *shop) EachNeck(context.Context, string) iter.Seq2[batch.NeckReport, error] {
	return each(s.necks, s.failNeck)
}

func (s *shop) EachReading(context.Context, string) iter.Seq2[batch.ReadingReport, error] {
	return each(s.readings, s.failReading)
}

func (s *shop) EachRework(context.Context, string) iter.Seq2[batch.ReworkReport, error] {
	return each(s.rework, 0)
}

// each yields rows, and errTorn instead of the row after the first fail ones.
func each[T any](rows []T, fail int) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		for i, r := range rows {
			if fail > 0 && i == fail {
				var none T
				yield(none, errTorn)
				return
			}
			if !yield(r, nil) {
				return
			}
		}
	}
}

func ptr(v float64) *float64 { return &v }

// zone250 is two hours ahead of UTC and never changes: local times differ from the record's.
var zone250 = time.FixedZone("bench time", 2*3600)

var opened = time.Date(2026, 3, 2, 5, 30, 0, 0, time.UTC)

// newShop makes a batch of n necks. Neck 2 (QM-2611-0002) is over-bowed and reworked, neck 3 undecided, neck 4 has a
// high fret and gets a concession, neck 5 is not inspected; of the others every eleventh is over-bowed.
func newShop(n int) *shop {
	rng := rand.New(rand.NewPCG(26, 11))
	spec := &inspect.Spec{
		Name: "QM Bolt 648", Revision: "B",
		Neck:        inspect.NeckSpec{ScaleMM: 648, Frets: 22, JointFret: 17, NutRadiusMM: 305, LastFretRadiusMM: 305, Rod: "double"},
		Datum:       inspect.Datum{FirstFret: 1, SecondFret: 17, ReliefFret: 7},
		Decision:    inspect.Decision{Rule: "guarded_acceptance"},
		Uncertainty: inspect.UncertaintySpec{ResolutionMM: 0.01, CalibrationMM: 0.002, RepeatabilityMM: 0.003, ReferenceMM: 0.002},
		Routine:     &inspect.Routine{Tracks: []string{"bass", "treble"}, Profile: "each fret", ActionFrets: []int{12}, Posture: "playing", Pitch: "measured"},
		Limits: []inspect.Limit{
			{Characteristic: "relief", Track: "each", LowerMM: ptr(0.20), TargetMM: ptr(0.30), UpperMM: ptr(0.36)},
			{Characteristic: "rocker", Track: "each", Fret: inspect.Index{Each: true}, UpperMM: ptr(0.03)},
			{Characteristic: "twist", LowerDeg: ptr(-0.5), UpperDeg: ptr(0.5)},
			{Characteristic: "action", String: inspect.Index{Number: 6}, Fret: inspect.Index{Number: 12}, LowerMM: ptr(1.8), UpperMM: ptr(2.1)},
			{Characteristic: "pitch", String: inspect.Index{Each: true}, LowerCents: ptr(-5), UpperCents: ptr(5)},
		},
	}
	s := &shop{
		batch: batch.Batch{ID: "b1", Number: "QM-2611", Planned: n, Note: "second shift, humid week",
			Spec:     batch.SpecRevision{ID: "s1", Name: spec.Name, Revision: spec.Revision, Spec: spec},
			OpenedAt: opened, OpenedBy: "Ines Quill"},
		gauges: []batch.GaugeReport{{
			Gauge: batch.Gauge{ID: "g1", Name: "carriage indicator", Measures: []batch.Kind{batch.Crown}, USBVendor: usb.Vendor, USBProduct: usb.Product, USBSerial: usb.Serial,
				Decoder: "signed-line@2", ResolutionMM: 0.001, CalibrationU: 0.0015, RepeatabilityU: 0.002, ReferenceU: 0.002,
				Certificate: "QC-118", CertificateDue: time.Date(2026, 9, 1, 0, 0, 0, 0, time.UTC)},
			Checks: []batch.GaugeCheck{{ID: "c1", GaugeID: "g1", At: opened, By: "Ines Quill", ZeroMM: 0.004, ShiftMM: 0.001, Masters: []batch.MasterReading{{NominalMM: 0.25, LimitMM: 0.005, ReadMM: 0.251}}, Good: true, Why: "shift 0.001 mm, allowed 0.005 mm", After: "shift"},
				{ID: "c2", GaugeID: "g1", At: opened.Add(4 * time.Hour), By: "Ines Quill", ZeroMM: 0.012, ShiftMM: 0.008, Good: false, Why: "shift 0.008 mm, allowed 0.005 mm", After: "reconnection"}},
		}, {Gauge: batch.Gauge{ID: "g2", Name: "height gauge", Measures: []batch.Kind{batch.ActionHeight, batch.NutHeight}, Decoder: "plain-line@1", ResolutionMM: 0.01,
			Certificate: "QC-090", CertificateDue: time.Date(2026, 1, 15, 0, 0, 0, 0, time.UTC)}}},
	}
	for i := range n {
		s.addNeck(i, rng)
	}
	s.counts.Planned, s.counts.Registered = n, n
	if s.counts.Rework+s.counts.FirstPass < s.counts.Inspected {
		s.counts.Reasons = []batch.Reason{{Name: "relief, bass side, fret 7", Necks: s.counts.Inspected - s.counts.FirstPass - 1}, {Name: "rocker, treble, fret 9", Necks: 1}}
	}
	return s
}

// addNeck registers neck i (from 0) and what happened to it.
func (s *shop) addNeck(i int, rng *rand.Rand) {
	serial := fmt.Sprintf("QM-2611-%04d", i+1)
	row := batch.NeckRow{Neck: batch.Neck{ID: serial, Serial: serial, BatchID: "b1", BatchNumber: "QM-2611", RegisteredAt: opened}}
	if i == 4 {
		s.necks = append(s.necks, batch.NeckReport{NeckRow: row})
		return
	}
	at := opened.Add(time.Duration(i+1) * 45 * time.Second)
	relief := [2]float64{0.29 + 0.02*rng.NormFloat64(), 0.28 + 0.02*rng.NormFloat64()}
	relief[0] = min(max(relief[0], 0.24), 0.33)
	relief[1] = min(max(relief[1], 0.24), 0.33)
	rocker := 0.012
	row.Attempts, row.First, row.Last, row.Inspector, row.State = 1, at, at.Add(40*time.Second), "Tove Marl", batch.Finished
	row.Disposition, row.FirstPass = inspect.Pass, true
	switch {
	case i == 1 || i > 4 && i%11 == 0:
		relief[0], row.FirstPass = 0.412, false
		row.Disposition, row.FirstFailing = inspect.Rework, "relief, bass side, fret 7"
	case i == 2:
		relief[0], row.FirstPass = 0.357, false
		row.Disposition = inspect.Remeasure
	case i == 3:
		rocker, row.FirstPass = 0.055, false
		row.Disposition, row.FirstFailing = inspect.Concession, "rocker, treble, fret 9"
	}
	report := batch.NeckReport{NeckRow: row}
	report.Inspections = append(report.Inspections, inspection(&row, 1, at, row.Disposition, relief, rocker))
	s.addReadings(serial, 1, at, i, rng)
	if i == 3 {
		v := report.Inspections[0].Verdict
		v.DecidedBy, v.Reason = "Ines Quill", "=played by the customer, accepted"
	}
	if i == 1 {
		later := at.Add(3 * time.Hour)
		relief[0] = 0.308
		report.Inspections[0].Verdict.Disposition = inspect.Rework
		report.Disposition, report.Attempts, report.Last = inspect.Pass, 2, later
		report.Inspections = append(report.Inspections, inspection(&report.NeckRow, 2, later, inspect.Pass, relief, rocker))
		s.addReadings(serial, 2, later, i, rng)
		s.rework = append(s.rework, batch.ReworkReport{Serial: serial, Attempt: 1, ReworkAction: batch.ReworkAction{
			ID: "w1", At: at.Add(time.Hour), By: "Tove Marl", What: "truss rod", Turns: 0.1875, Direction: "tighten",
			PredictedMM: ptr(0.31), Note: "@bench 2"}})
		s.counts.Inspections++
	}
	s.necks = append(s.necks, report)
	s.counts.Inspections++
	switch report.Disposition {
	case inspect.Pass:
		s.counts.Passed++
	case inspect.Rework:
		s.counts.Rework++
	case inspect.Concession:
		s.counts.Concession++
	case inspect.Remeasure:
		s.counts.Undecided++
		s.counts.Inspections--
		return
	}
	s.counts.Inspected++
	if row.FirstPass {
		s.counts.FirstPass++
	}
}

// inspection is one judged attempt; zones follow the guarded acceptance rule of the specification.
func inspection(row *batch.NeckRow, attempt int, at time.Time, d inspect.Disposition, relief [2]float64, rocker float64) batch.InspectionReport {
	r := &inspect.Result{Serial: row.Serial, Spec: "QM Bolt 648", Revision: "B", Conforms: d == inspect.Pass, Disposition: d}
	judge := func(c inspect.Characteristic) {
		v, g := *c.Value, 1.645**c.U
		c.Zone = inspect.Conforming
		if c.Lower == nil && c.Upper == nil {
			c.Zone = inspect.NoLimit
		}
		if c.Lower != nil && v < *c.Lower+g || c.Upper != nil && v > *c.Upper-g {
			c.Zone = inspect.Undecided
		}
		if c.Lower != nil && v < *c.Lower || c.Upper != nil && v > *c.Upper {
			c.Zone = inspect.Nonconforming
		}
		r.Characteristics = append(r.Characteristics, c)
	}
	for j, track := range []string{"bass", "treble"} {
		judge(inspect.Characteristic{Name: "relief", Track: track, Fret: 7, Value: ptr(relief[j]), Unit: "mm", U: ptr(0.0051),
			Method: "profile", Datum: &[2]int{1, 17}, Lower: ptr(0.20), Target: ptr(0.30), Upper: ptr(0.36)})
		judge(inspect.Characteristic{Name: "relief_max", Track: track, Fret: 8, Value: ptr(relief[j] + 0.01), Unit: "mm", U: ptr(0.0051), Datum: &[2]int{1, 17}})
		for fret := 2; fret <= 21; fret++ {
			v := 0.004 * math.Sin(float64(fret))
			if track == "treble" && fret == 9 {
				v = rocker
			}
			judge(inspect.Characteristic{Name: "rocker", Track: track, Fret: fret, Value: ptr(v), Unit: "mm", U: ptr(0.006), Upper: ptr(0.03)})
		}
	}
	judge(inspect.Characteristic{Name: "relief_side_difference", Value: ptr(relief[0] - relief[1]), Unit: "mm", U: ptr(0.007)})
	judge(inspect.Characteristic{Name: "twist", Value: ptr(0.113), Unit: "deg", U: ptr(0.02), Lower: ptr(-0.5), Upper: ptr(0.5)})
	judge(inspect.Characteristic{Name: "action", String: 6, Fret: 12, Value: ptr(1.95), Unit: "mm", U: ptr(0.01), Lower: ptr(1.8), Upper: ptr(2.1)})
	for n := 6; n >= 1; n-- {
		judge(inspect.Characteristic{Name: "pitch", String: n, Value: ptr(float64(n) / 4), Unit: "cents", U: ptr(0.3), Lower: ptr(-5), Upper: ptr(5)})
	}
	return batch.InspectionReport{
		Inspection: batch.Inspection{ID: fmt.Sprintf("%s/%d", row.Serial, attempt), NeckID: row.ID, Serial: row.Serial, BatchID: "b1", Attempt: attempt,
			Inspector: "Tove Marl", Station: "bench 1", StartedAt: at, State: batch.Finished, Posture: "playing"},
		Verdict: &batch.Verdict{ID: "v", At: at.Add(40 * time.Second), Result: r, Disposition: d},
	}
}

// addReadings adds 44 crowns, a pitch and an action typed by hand; at neck 0 also a replaced, a withdrawn and a skipped one.
func (s *shop) addReadings(serial string, attempt int, at time.Time, neck int, rng *rand.Rand) {
	id := fmt.Sprintf("%s/%d", serial, attempt)
	seq := int64(0)
	add := func(r batch.Reading) string {
		seq++
		r.ID, r.InspectionID, r.Seq, r.Round = fmt.Sprintf("%s/%d", id, seq), id, seq, max(r.Round, 1)
		r.At, r.By = at.Add(time.Duration(seq)*700*time.Millisecond), "Tove Marl"
		row := batch.ReadingReport{Serial: serial, Attempt: attempt, Reading: r}
		if r.GaugeID != "" {
			row.GaugeName = "carriage indicator"
		}
		s.readings = append(s.readings, row)
		return r.ID
	}
	for _, track := range []string{"bass", "treble"} {
		for fret := 1; fret <= 22; fret++ {
			x := (float64(fret) - 9) / 8
			v := math.Round((0.3*(x*x-1)+0.004*rng.NormFloat64())*1000) / 1000
			laying := 1
			if track == "treble" && fret > 9 {
				laying = 2
			}
			sent := fmt.Sprintf("%+07.3f", v)
			add(batch.Reading{Point: batch.Point{Kind: batch.Crown, Track: track, Fret: fret}, Laying: laying, Value: v, U: 0.0032,
				GaugeID: "g1", CheckID: "c1", Decoder: "signed-line@2", Raw: []byte(sent + " mm\r\n"), Sent: sent, Unit: "mm", Decoded: v})
		}
	}
	add(batch.Reading{Point: batch.Point{Kind: batch.Pitch, String: 6}, Value: 1.5})
	add(batch.Reading{Point: batch.Point{Kind: batch.ActionHeight, String: 6, Fret: 12}, Value: 1.95, U: 0.01})
	if neck == 0 {
		first := add(batch.Reading{Point: batch.Point{Kind: batch.NutHeight, String: 6}, Value: 0.46})
		second := add(batch.Reading{Point: batch.Point{Kind: batch.NutHeight, String: 6}, Value: 0.44, Supersedes: first, Reason: "foot off the string"})
		add(batch.Reading{Point: batch.Point{Kind: batch.NutHeight, String: 6}, Withdrawn: true, Supersedes: second})
		add(batch.Reading{Point: batch.Point{Kind: batch.NutHeight, String: 5}, Withdrawn: true, Reason: "string missing"})
		add(batch.Reading{Point: batch.Point{Kind: batch.PitchDeclared}, Value: 1})
	}
}
