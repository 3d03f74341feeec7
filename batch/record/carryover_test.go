package record

import (
	"slices"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// reslotted is a neck whose first inspection conformed but for a nut slot, which was filed, with its second inspection begun.
func reslotted(t *testing.T) (s *shop, gauge string, first, second batch.Inspection) {
	t.Helper()
	s = newShop(t, serials(2)...)
	gauge = s.carriage().ID
	s.check(gauge, true)
	first = s.start("QM-2611-0001")
	for _, fret := range []int{1, 7, 17} {
		s.by(gauge, first, fret, 0.1)
	}
	s.verdict(first, inspect.Rework, 0.3, 0.3)
	must(s.AppendRework(s.ctx, batch.ReworkAction{NeckID: first.NeckID, InspectionID: first.ID, By: "Ossian Reed", What: inspect.StepNut, String: 1}))(t)
	return s, gauge, first, s.start("QM-2611-0001")
}

// carriedResult is a result with what an inspection carries over.
func (s *shop) carriedResult(in batch.Inspection) *inspect.Result {
	s.Helper()
	return &inspect.Result{Serial: in.Serial, Spec: "QM Bolt 648", Revision: "B", Conforms: true, Disposition: inspect.Pass, Characteristics: must(s.CarriedOver(s.ctx, in.ID))(s)}
}

// What is carried over is kept with where it is from, sealed with its verdict, and counts in no statistic of first measurements.
func TestCarriedIsKept(t *testing.T) {
	s, gauge, first, second := reslotted(t)
	carried := must(s.CarriedOver(s.ctx, second.ID))(t)
	if len(carried) != 2 || carried[0].Name != inspect.Relief || carried[0].CarriedFrom.Attempt != 1 {
		t.Fatalf("%+v", carried)
	}
	before := must(s.Characteristics(s.ctx, batch.Scope{}, inspect.Relief, batch.SplitNone))(t)
	v := must(s.AppendVerdict(s.ctx, batch.Verdict{InspectionID: second.ID, Result: s.carriedResult(second)}))(t)
	var rows, from int
	s.ok(s.reader.QueryRow(`SELECT count(*), sum(c.carried_from) FROM characteristics c JOIN verdicts v ON v.ord = c.verdict_ord WHERE v.id = ?`, v.ID).Scan(&rows, &from))
	if rows != 2 || from != 2 {
		t.Errorf("%d rows, carried from %d in all, want 2 from attempt 1", rows, from)
	}
	var source, by string
	var after, upto, lowest, highest int64
	s.ok(s.reader.QueryRow(`SELECT inspection_id, gauge_id, after_reading, upto_reading FROM carried WHERE verdict_id = ?`, v.ID).Scan(&source, &by, &after, &upto))
	s.ok(s.reader.QueryRow(`SELECT min(ord), max(ord) FROM readings WHERE inspection_id = ?`, first.ID).Scan(&lowest, &highest))
	if source != first.ID || by != gauge || after != lowest-1 || upto != highest {
		t.Errorf("it rests on readings %d to %d of %s by %s, want %d to %d", after+1, upto, source, by, lowest, highest)
	}
	if now := must(s.Characteristics(s.ctx, batch.Scope{}, inspect.Relief, batch.SplitNone))(t); !slices.EqualFunc(now, before, func(a, b batch.CharacteristicRow) bool {
		return a.N == b.N && a.Moments == b.Moments
	}) {
		t.Errorf("first measurements are %+v, were %+v", now, before)
	}
	n, _, err := s.Reworked(s.ctx, s.batch.ID, batch.Named{Name: inspect.Relief, Track: "bass", Fret: 7, Unit: "mm"}, time.Time{})
	if err != nil || n != 0 {
		t.Errorf("%d values were measured after rework, %v; it was carried over", n, err)
	}
	points := 0
	for p, err := range s.Series(s.ctx, batch.SeriesFilter{Scope: batch.Scope{BatchID: s.batch.ID}, Named: batch.Named{Name: inspect.Relief, Track: "bass", Fret: 7}}) {
		s.ok(err)
		points++
		if p.Serial != "QM-2611-0001" {
			t.Errorf("%+v", p)
		}
	}
	if points != 1 {
		t.Errorf("a chart shows it %d times", points)
	}
	s.ok(s.VerifyAudit(s.ctx))
	s.tampered(t, "verdicts_not_changed", `UPDATE verdicts SET result = replace(result, '"attempt":1', '"attempt":9') WHERE id = '`+v.ID+`'`, "a verdict")
}

// A verdict may carry over only what stands when it is kept; a person's decision on it after that may.
func TestOnlyWhatMayBeCarriedIsKept(t *testing.T) {
	s, _, first, second := reslotted(t)
	res := s.carriedResult(second)
	other := *res
	other.Characteristics = slices.Clone(res.Characteristics)
	other.Characteristics[0].Value = new(0.31)
	_, err := s.AppendVerdict(s.ctx, batch.Verdict{InspectionID: second.ID, Result: &other})
	wantErr(t, err, ErrState, "relief", "cannot be carried over from attempt 1")
	must(s.AppendRework(s.ctx, batch.ReworkAction{NeckID: first.NeckID, InspectionID: first.ID, By: "Ossian Reed", What: inspect.StepLevel}))(t)
	_, err = s.AppendVerdict(s.ctx, batch.Verdict{InspectionID: second.ID, Result: res})
	wantErr(t, err, ErrState, "work was recorded")
	if left := must(s.CarriedOver(s.ctx, second.ID))(t); len(left) != 0 {
		t.Errorf("after levelling %d are carried", len(left))
	}
	s, _, first, second = reslotted(t)
	res = s.carriedResult(second)
	must(s.AppendVerdict(s.ctx, batch.Verdict{InspectionID: second.ID, Result: res, Disposition: inspect.Remeasure}))(t)
	must(s.AppendRework(s.ctx, batch.ReworkAction{NeckID: first.NeckID, InspectionID: second.ID, By: "Ossian Reed", What: inspect.StepLevel}))(t)
	_, err = s.AppendVerdict(s.ctx, batch.Verdict{InspectionID: second.ID, Result: res})
	wantErr(t, err, ErrState, "work was recorded") // between one measurement and the next
	s, gauge, _, second := reslotted(t)
	res = s.carriedResult(second)
	must(s.AppendVerdict(s.ctx, batch.Verdict{InspectionID: second.ID, Result: res}))(t)
	s.check(gauge, false)
	must(s.AppendVerdict(s.ctx, batch.Verdict{InspectionID: second.ID, Result: res, Disposition: inspect.Scrap, DecidedBy: "Mara Quill", Reason: "a crack"}))(t)
}

// Whether anything is carried over: not from a verdict in doubt, of another hand, too old, from other air, or where somebody had everything measured.
func TestNothingIsCarried(t *testing.T) {
	for name, change := range map[string]func(s *shop, gauge string, first, second batch.Inspection){
		"in doubt": func(s *shop, gauge string, _, _ batch.Inspection) { s.check(gauge, false) },
		"measured whole": func(s *shop, _ string, _, second batch.Inspection) {
			s.ok(s.MeasureWhole(s.ctx, "Ossian Reed", second.ID))
		},
		"for the other hand": func(s *shop, _ string, _, second batch.Inspection) { s.ok(s.SetHanded(s.ctx, "x", second.ID, "left")) },
		"other air": func(s *shop, _ string, first, second batch.Inspection) {
			s.ok(s.SetClimate(s.ctx, "x", first.ID, inspect.Climate{HumidityPercent: new(45.0)}))
			s.ok(s.SetClimate(s.ctx, "x", second.ID, inspect.Climate{HumidityPercent: new(51.0)}))
		},
		"too old": func(s *shop, _ string, first, _ batch.Inspection) {
			must(s.writer.Exec(`DROP TRIGGER verdicts_not_changed`))(s)
			must(s.writer.Exec(`UPDATE verdicts SET at = at - ? WHERE inspection_id = ?`, int64(8*24*time.Hour), first.ID))(s)
		},
		"parked until it is too old": func(s *shop, _ string, _, second batch.Inspection) {
			s.now = func() time.Time { return second.StartedAt.Add(8 * 24 * time.Hour) }
		},
		"levelled in an attempt given up, by a clock that was put back": func(s *shop, _ string, first, second batch.Inspection) {
			must(s.AppendRework(s.ctx, batch.ReworkAction{NeckID: second.NeckID, InspectionID: second.ID, By: "x", What: inspect.StepLevel, At: first.StartedAt.Add(-time.Hour)}))(s)
		},
		"nothing was done": func(s *shop, _ string, first, _ batch.Inspection) {
			must(s.writer.Exec(`DROP TRIGGER rework_actions_not_removed`))(s)
			must(s.writer.Exec(`DELETE FROM rework_actions`))(s)
		},
	} {
		s, gauge, first, second := reslotted(t)
		if n := len(must(s.CarriedOver(s.ctx, second.ID))(t)); n != 2 {
			t.Fatalf("%d are carried before", n)
		}
		change(s, gauge, first, second)
		if n := len(must(s.CarriedOver(s.ctx, second.ID))(t)); n != 0 {
			t.Errorf("%s: %d are carried", name, n)
		}
	}
}
