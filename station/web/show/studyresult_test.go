package show

import (
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/inspect/unit"
)

// The other two kinds, on readings whose answer is known beforehand.
func TestStudiesOfMasters(t *testing.T) {
	var readings []batch.StudyReading
	for i := range 30 {
		readings = append(readings, batch.StudyReading{ValueMM: 1 + 0.001*float64(i%3-1)})
	}
	r := StudyResultOf(batch.StudyPlan{Kind: batch.TypeOneStudy, References: []float64{1}, ToleranceMM: 0.2}, readings, 0.001, unit.Millimetre)
	if !strings.HasPrefix(r.Answer, "The gauge is capable: Cg 8.03") { // 0.2 * 0.2/(6 * sqrt(20/29)/1000)
		t.Errorf("%s", r.Answer)
	}
	// The same readings of a gauge whose step is 10 % of the tolerance: at most 5 % is allowed (ISO 22514-7:2021, from memory).
	r = StudyResultOf(batch.StudyPlan{Kind: batch.TypeOneStudy, References: []float64{1}, ToleranceMM: 0.2}, readings, 0.02, unit.Millimetre)
	if !strings.HasPrefix(r.Answer, "The gauge is not capable: Cg 8.03") || !strings.Contains(r.Answer, "resolution is too coarse") || !strings.Contains(strings.Join(r.Why, "\n"), "resolution takes 10.0 % of the tolerance: too coarse") {
		t.Errorf("%s %q", r.Answer, r.Why)
	}
	r = StudyResultOf(batch.StudyPlan{Kind: batch.TypeOneStudy, References: []float64{1}, ToleranceMM: 0.2}, readings, 0.01, unit.Millimetre)
	if !strings.HasPrefix(r.Answer, "The gauge is capable") || !strings.Contains(strings.Join(r.Why, "\n"), "takes 5.0 % of the tolerance: fine enough") {
		t.Errorf("%s %q", r.Answer, r.Why)
	}
	readings = nil
	for i, ref := range []float64{1, 1, 2, 2, 3, 3, 4, 4} {
		readings = append(readings, batch.StudyReading{ReferenceMM: ref, ValueMM: ref*1.01 + 0.0005*float64(i%2)})
	}
	r = StudyResultOf(batch.StudyPlan{Kind: batch.LinearityStudy, References: []float64{1, 2, 3, 4}}, readings, 0.001, unit.Millimetre)
	if !strings.Contains(r.Answer, "changes over its travel, by 0.01 ") || len(r.Rows) != 4 {
		t.Errorf("%s, %v", r.Answer, r.Rows)
	}
	// The same bias at masters far from zero: the intercept alone would not tell it from none.
	readings = nil
	for i, ref := range []float64{8, 8, 9, 9, 10, 10} {
		off := 0.01 + 0.002*float64(i%2)
		readings = append(readings, batch.StudyReading{ReferenceMM: ref, ValueMM: ref + off})
	}
	r = StudyResultOf(batch.StudyPlan{Kind: batch.LinearityStudy, References: []float64{8, 9, 10}}, readings, 0.001, unit.Millimetre)
	if !strings.Contains(r.Answer, "off by about the same amount at every master, 0.0110 mm") {
		t.Errorf("%s", r.Answer)
	}
	for i := range readings {
		readings[i].ValueMM = readings[i].ReferenceMM + 0.001*float64(i%2*2-1)
	}
	r = StudyResultOf(batch.StudyPlan{Kind: batch.LinearityStudy, References: []float64{8, 9, 10}}, readings, 0.001, unit.Millimetre)
	if !strings.Contains(r.Answer, "no bias is seen") {
		t.Errorf("%s", r.Answer)
	}
	if r = StudyResultOf(batch.StudyPlan{Kind: batch.LinearityStudy, References: []float64{1, 2}}, nil, 0.001, unit.Millimetre); !strings.Contains(r.Answer, "cannot be evaluated") {
		t.Errorf("%s", r.Answer)
	}
}
