package necks

import (
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/webtest"
)

// TestUOfARow checks the column U.
func TestUOfARow(t *testing.T) {
	s := shop(t).Fill()
	res := s.Inspect("QM-2611-0004", 0.46, 0).Result
	for _, lengths := range []unit.Unit{unit.Millimetre, unit.Inch} {
		seen := 0
		for _, c := range res.Characteristics {
			if c.Value != nil && c.U != nil && *c.U > 0 {
				seen++
				webtest.WantsU(t, c, rowOf(s.Spec.Spec.WithDefaults(), c, lengths).U, lengths)
			}
		}
		if seen < 5 {
			t.Errorf("only %d values have a U", seen)
		}
	}
}

// A value at its bound has no U of its own: its cell says so instead of standing empty.
func TestNoUIsADash(t *testing.T) {
	for u, want := range map[float64]string{0: "–", 0.01: "0.020"} {
		if got := rowOf(&inspect.Spec{}, inspect.Characteristic{Name: inspect.Hump, Track: "bass", Unit: "mm", Value: new(0.0), U: &u}, unit.Millimetre); got.U != want {
			t.Errorf("u %g: U %q, want %q", u, got.U, want)
		}
	}
}

// A value that was carried over says so with its attempt and time, on the neck's page and in its story, and leads to how it came about there.
func TestCarriedValuesOnTheNecksPage(t *testing.T) {
	s := shop(t).Fill()
	ctx := t.Context()
	first := s.Inspect("QM-2611-0005", 0.29, 0)
	neck := webtest.Must[batch.Neck](s)(s.Rec.Neck(ctx, "QM-2611-0005"))
	webtest.Must[batch.ReworkAction](s)(s.Rec.AppendRework(ctx, batch.ReworkAction{NeckID: neck.ID, InspectionID: first.InspectionID, By: "Mara Quill", What: inspect.StepNut, String: 1}))
	in := webtest.Must[batch.Inspection](s)(s.Rec.StartInspection(ctx, batch.Inspection{NeckID: neck.ID, Inspector: "Mara Quill", Posture: "playing"}))
	carried := webtest.Must[[]inspect.Characteristic](s)(s.Rec.CarriedOver(ctx, in.ID))
	if len(carried) == 0 {
		t.Fatal("nothing is carried over")
	}
	webtest.Must[batch.Verdict](s)(s.Rec.AppendVerdict(ctx, batch.Verdict{InspectionID: in.ID, Result: &inspect.Result{
		Serial: neck.Serial, Spec: first.Result.Spec, Revision: first.Result.Revision, Conforms: true, Disposition: inspect.Pass, Why: "all limited values conform", Characteristics: carried}}))
	from := "carried from attempt 1, " + first.At.Local().Format("2006-01-02 15:04")
	said := "carried from attempt 1 (" + first.At.Local().Format("2006-01-02 15:04") + ")"
	page := s.Get("/necks/QM-2611-0005", 200)
	webtest.Wants(t, page, from, said, "explain?attempt=1&amp;")
	if strings.Contains(page, "explain?attempt=2") {
		t.Error("a value that was carried over leads to the readings of the attempt that carried it")
	}
	webtest.Wants(t, s.Get("/necks/QM-2611-0005/story.txt", 200), said)
}
