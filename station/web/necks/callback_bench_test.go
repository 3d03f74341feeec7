package necks

import (
	"fmt"
	"net/http"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/history"
	"sagitta/station/web/webtest"
)

// BenchmarkCallBack opens the first page of the call-back list: of some five thousand necks taken in without readings, on which doubt was
// cast by hand, and of necks measured here with a gauge whose zero then moved, each with the error taken off at every moment.
func BenchmarkCallBack(b *testing.B) {
	opened := func(b *testing.B, s *webtest.Shop) {
		size := len(s.Get("/callback", http.StatusOK))
		for b.Loop() {
			s.Get("/callback", http.StatusOK)
		}
		b.ReportMetric(float64(size)/1024, "KiB")
	}
	b.Run("taken in", func(b *testing.B) {
		s := shop(b)
		ctx := b.Context()
		plan := webtest.Must[*history.Shop](b)(history.New(history.Options{Necks: 5400, End: time.Now().Add(-time.Hour), Seed: 7}))
		specs := map[string]batch.SpecRevision{}
		for _, text := range plan.Specs {
			spec := webtest.Must[batch.SpecRevision](b)(s.Rec.AddSpec(ctx, history.Manager, "", "history.toml", text))
			specs[spec.Name+spec.Revision] = spec
		}
		for _, p := range plan.Batches {
			spec := specs[p.SpecName+p.Revision]
			in := webtest.Must[batch.Batch](b)(s.Rec.OpenBatch(ctx, history.Manager, batch.Batch{Number: p.Number, Spec: spec}, nil))
			webtest.Must[batch.Import](b)(s.Rec.AppendStories(ctx, history.Manager, batch.Import{BatchID: in.ID, Origin: batch.Invented, Source: p.Number}, plan.Stories(p, spec.Spec)))
		}
		over := batch.DoubtRange{From: time.Unix(0, 0)}
		marked := webtest.Must[batch.Marked](b)(s.Rec.DoubtReach(ctx, over))
		webtest.Must[batch.Marked](b)(s.Rec.CastDoubt(ctx, history.Manager, "the flat was scratched", over, marked))
		opened(b, s)
		b.ReportMetric(float64(marked.Necks), "necks")
	})
	b.Run("measured", func(b *testing.B) {
		s := shop(b).Fill()
		for i := range 27 {
			s.Inspect(fmt.Sprintf("QM-2611-%04d", i+4), 0.28, 0)
		}
		webtest.Must[batch.GaugeCheck](b)(s.Rec.AppendGaugeCheck(b.Context(), batch.GaugeCheck{GaugeID: s.Gauge.ID, By: "Mara Quill", Why: "the zero moved", ShiftMM: 0.034, ZeroJudged: true, After: batch.CheckDue}))
		opened(b, s)
		b.ReportMetric(30, "necks")
	})
}
