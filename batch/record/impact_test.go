package record

import (
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
)

// nutSpec limits the nut height of one string and nothing else.
const nutSpec = `name = "QM Nut 648"
revision = "A"
[neck]
scale_mm = 648.0
frets = 22
joint_fret = 17
nut_radius_mm = 305.0
last_fret_radius_mm = 305.0
rod = "none"
[[string]]
number = 1
name = "E4"
pitch_hz = 329.6276
y_nut_mm = 17.5
y_saddle_mm = 26.0
diameter_mm = 0.254
plain = true
[[limit]]
characteristic = "nut_height"
string = 1
lower_mm = 0.4
upper_mm = 0.6
`

// nuts is a shop whose necks, measured at one point each, are in doubt by a zero that moved: the heights, mm, by serial number.
func nuts(t *testing.T, shift float64, heights ...float64) (*shop, batch.Gauge) {
	s := newShop(t)
	g := s.carriage()
	spec := must(s.AddSpec(s.ctx, "Mara Quill", "", "nut.toml", []byte(nutSpec)))(t)
	s.batch = must(s.OpenBatch(s.ctx, "Mara Quill", batch.Batch{Number: "QM-2612", Spec: spec}, serials(len(heights))))(t)
	for i, h := range heights {
		in := s.start(serials(len(heights))[i])
		r := must(s.AppendReading(s.ctx, batch.Reading{InspectionID: in.ID, Point: batch.Point{Kind: batch.NutHeight, String: 1}, Value: h, U: 0.002, GaugeID: g.ID, By: "Mara Quill"}))(t)
		b := must(s.Batch(s.ctx, "QM-2612"))(t)
		res, err := inspect.Evaluate(b.Spec.Spec.WithDefaults(), batch.Assemble(b.Spec.Spec.WithDefaults(), in, []batch.Reading{r}, nil), inspect.Options{})
		if err != nil {
			t.Fatal(err)
		}
		must(s.AppendVerdict(s.ctx, batch.Verdict{InspectionID: in.ID, Result: res, Disposition: res.Disposition}))(t)
	}
	must(s.AppendGaugeCheck(s.ctx, batch.GaugeCheck{GaugeID: g.ID, By: "Ossian Reed", Why: "the zero moved", After: batch.CheckShift, ShiftMM: shift, ZeroJudged: true}))(t)
	return s, g
}

// What a doubt means is worked out from the record's rows. A gauge that reads 0.03 mm too high leaves a nut of 0.50 alone; one of 0.42
// would be 0.39 after a jump, and more than 0.40 in the middle of a drift; one of 0.41, measured last, fails either way.
func TestImpactOfTheRecord(t *testing.T) {
	s, g := nuts(t, 0.03, 0.50, 0.42, 0.41)
	all := must(s.Doubts(s.ctx, batch.DoubtFilter{GaugeID: g.ID, Impact: true}))(t)
	if len(all) != 3 {
		t.Fatalf("%d in doubt, want 3", len(all))
	}
	for i, want := range []batch.ImpactOutcome{batch.StillConforms, batch.CannotBeTold, batch.WouldFail} {
		if got := all[i].Impact.Outcome; got != want {
			t.Errorf("%s: %s, want %s: %+v", all[i].Neck.Serial, got, want, all[i].Impact)
		}
	}
	if m := all[1].Impact.Moved; len(m) != 1 || m[0].Low > 0.3901 || m[0].High >= 0.42 || all[1].Impact.Moments != 2 || all[1].Impact.Fail != 1 {
		t.Errorf("the second: %+v, want 0.39 mm by a jump and a little less than 0.42 by a drift", all[1].Impact)
	}
	again := must(s.Doubts(s.ctx, batch.DoubtFilter{GaugeID: g.ID, Impact: true}))(t)
	if again[1].Impact.Fail != 1 || len(s.impacts.known) != 3 {
		t.Errorf("asked again: %+v, %d kept, want the same and 3", again[1].Impact, len(s.impacts.known))
	}
	if plain := must(s.Doubts(s.ctx, batch.DoubtFilter{GaugeID: g.ID}))(t); plain[0].Impact.Outcome != "" {
		t.Errorf("not asked for, and worked out: %+v", plain[0].Impact)
	}
}

// Several necks are cleared in one transaction, each for the doubts that were shown: all or none.
func TestClearDoubtsTogether(t *testing.T) {
	s, g := nuts(t, 0.03, 0.50, 0.51, 0.41)
	all := must(s.Doubts(s.ctx, batch.DoubtFilter{Impact: true}))(t)
	group := batch.StillConforming(all)
	if len(group) != 2 || group[0].NeckID != all[0].Neck.ID || group[1].NeckID != all[1].Neck.ID {
		t.Fatalf("still conforming: %+v, want the first two", group)
	}
	wantErr(t, s.ClearDoubts(s.ctx, "Mara Quill", " ", group), ErrInput, "a reason in words")
	wantErr(t, s.ClearDoubts(s.ctx, "Mara Quill", "they conform", nil), ErrInput, "no neck")
	wantErr(t, s.ClearDoubts(s.ctx, "Mara Quill", "they conform", append(group, batch.NeckDoubts{NeckID: "nobody"})), ErrUnknown)
	// One comes into another doubt after the page was shown.
	in := must(s.Inspections(s.ctx, group[1].NeckID))(t)[0]
	s.by(g.ID, in, 3, 0.1)
	must(s.AppendGaugeCheck(s.ctx, batch.GaugeCheck{GaugeID: g.ID, By: "Ossian Reed", Why: "the zero moved again", After: batch.CheckShift, ShiftMM: 0.02, ZeroJudged: true}))(t)
	wantErr(t, s.ClearDoubts(s.ctx, "Mara Quill", "they conform", group), ErrState, "has changed meanwhile; nothing was cleared")
	if standing := must(s.Doubts(s.ctx, batch.DoubtFilter{Standing: true}))(t); len(standing) != 4 {
		t.Fatalf("%d doubts stand after what was refused, want all 4", len(standing))
	}
	s.ok(s.ClearDoubts(s.ctx, "Mara Quill", "they conform", group[:1]))
	standing := must(s.Doubts(s.ctx, batch.DoubtFilter{Standing: true}))(t)
	if serialsOf(standing) != "232" {
		t.Errorf("standing: %s, want 232", serialsOf(standing))
	}
	wantErr(t, s.ClearDoubts(s.ctx, "Mara Quill", "they conform", group[:1]), ErrState)
	s.ok(s.VerifyAudit(s.ctx))
}

// Two doubts over the same value hide or double each other's errors: nothing is told of either.
func TestImpactOfTwoDoubts(t *testing.T) {
	s, g := nuts(t, 0.03, 0.50)
	in := must(s.Inspections(s.ctx, must(s.Neck(s.ctx, serials(1)[0]))(t).ID))(t)[0]
	must(s.AppendReading(s.ctx, batch.Reading{InspectionID: in.ID, Point: batch.Point{Kind: batch.NutHeight, String: 1}, Round: 2, Value: 0.5, U: 0.002, GaugeID: g.ID, By: "Mara Quill"}))(t)
	must(s.AppendGaugeCheck(s.ctx, batch.GaugeCheck{GaugeID: g.ID, By: "Ossian Reed", Why: "the zero moved again", After: batch.CheckShift, ShiftMM: 0.02, ZeroJudged: true}))(t)
	for _, d := range must(s.Doubts(s.ctx, batch.DoubtFilter{Impact: true}))(t) {
		if d.Impact.Outcome != batch.CannotBeTold || d.Impact.Unknown != batch.UnknownOther {
			t.Errorf("%+v; want what cannot be told", d.Impact)
		}
	}
}
