package trend

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/history"
	"sagitta/batch/tell"
	"sagitta/station/web/webtest"
)

// invented is a shop with an invented past of two years, and what was planted in it.
func invented(t *testing.T, necks int, seed uint64) (*webtest.Shop, *history.Shop) {
	t.Helper()
	s, ctx := shop(t), t.Context()
	plan := webtest.Must[*history.Shop](s)(history.New(history.Options{Necks: necks, End: time.Date(2026, 11, 29, 16, 0, 0, 0, time.Local), Seed: seed}))
	gauges := map[string]*batch.Gauge{}
	for i := range plan.Gauges {
		gauges[plan.Gauges[i].ID] = &plan.Gauges[i]
		webtest.Must[batch.Gauge](s)(s.Rec.SaveGauge(ctx, history.Manager, plan.Gauges[i]))
	}
	for _, c := range plan.Checks() {
		if !c.Good || c.GaugeID == plan.Gauges[0].ID {
			c.Why = tell.CheckFound(gauges[c.GaugeID], c, c.After == batch.CheckFirstUse)
			webtest.Must[batch.GaugeCheck](s)(s.Rec.AppendGaugeCheck(ctx, c))
		}
	}
	specs := map[string]batch.SpecRevision{}
	for _, text := range plan.Specs {
		spec := webtest.Must[batch.SpecRevision](s)(s.Rec.AddSpec(ctx, history.Manager, "", "history.toml", text))
		specs[spec.Name+spec.Revision] = spec
	}
	for _, p := range plan.Batches {
		spec := specs[p.SpecName+p.Revision]
		b := webtest.Must[batch.Batch](s)(s.Rec.OpenBatch(ctx, history.Manager, batch.Batch{Number: p.Number, Spec: spec}, nil))
		webtest.Must[batch.Import](s)(s.Rec.AppendStories(ctx, history.Manager, batch.Import{BatchID: b.ID, Origin: batch.Invented, Source: p.Number}, plan.Stories(p, spec.Spec)))
	}
	return s, plan
}

// What was planted is what the pages tell: the days of the bad zero are named where a band of humidity would be blamed for them, and
// not blamed without the gauge; what humidity does to relief has each model's own sign, and the heavy hand is found, all like with like.
func TestPagesTellWhatWasPlanted(t *testing.T) {
	s, plan := invented(t, 12_000, 10)
	gauge, from, found := plan.BadZero()
	people := s.Get("/trend/people", http.StatusOK)
	blamed := ""
	for _, row := range webtest.RowsOf(t, people, "By humidity") {
		if strings.HasPrefix(row[0], "30 to 40 % RH") {
			blamed = row[0]
		}
	}
	if !strings.Contains(blamed, "put together it passes") || !strings.Contains(blamed, "less often") || !strings.Contains(blamed, "the same days had the bad zero of the "+gauge.Name) ||
		!strings.Contains(blamed, from.Format("2 January 2006")+" to "+found.Format("2 January 2006")) {
		t.Errorf("the band of the bad zero from %v to %v: %q", from, found, blamed)
	}

	told := 0
	for _, model := range []string{"QM Line 635", "QM Line 660", "QM Parlour 628"} {
		page := s.Get("/compare?"+url.Values{"what": {"humidity"}, "a": {"40"}, "b": {"50"}, "model": {model}}.Encode(), http.StatusOK)
		if strings.Contains(page, "measured nothing in common") {
			continue // this shop did not make it
		}
		for _, row := range webtest.RowsOf(t, page, "Characteristics") {
			if !strings.HasPrefix(row[1], "Relief, bass side") {
				continue
			}
			// Two bands lie ten percent apart, less where a month has days on both sides of the bound between them.
			planted := -10 * plan.Humidity(model)
			var value, low, high float64
			if _, err := fmt.Sscanf(strings.ReplaceAll(row[len(row)-1], "−", "-"), "%f (%f to %f)", &value, &low, &high); err != nil || low*high <= 0 || value*planted <= 0 || value/planted > 1.2 || !strings.HasPrefix(row[2], "mean") {
				t.Errorf("%s: drier less damper %q, planted %+.3f, %v", model, row, planted, err)
			}
			told++
		}
	}
	if told < 2 {
		t.Errorf("%d models were told", told)
	}

	heavy, off := plan.Heavy()
	other := plan.Inspectors[0]
	if other == heavy {
		other = plan.Inspectors[1]
	}
	page := s.Get("/compare?"+url.Values{"what": {"inspectors"}, "a": {heavy}, "b": {other}}.Encode(), http.StatusOK)
	for _, row := range webtest.RowsOf(t, page, "Characteristics")[1:] {
		var value, low, high float64
		if _, err := fmt.Sscanf(strings.ReplaceAll(row[len(row)-1], "−", "-"), "%f (%f to %f)", &value, &low, &high); err != nil {
			t.Fatalf("%q: %v", row, err)
		}
		action := strings.HasPrefix(row[1], "Action, string 1")
		if action && (low > off || high < off || !strings.HasPrefix(row[2], "mean")) {
			t.Errorf("%s less %s: %q, planted %+.3f", heavy, other, row, off)
		}
	}
	webtest.Wants(t, page, "Like with like (within the same batch and month, apart from days on which a gauge may have read wrong)")
	for what, sets := range map[string][2]string{"months": {"202601", "202602"}, "shifts": {"00-12", "12-00"}, "weekdays": {"1", "5"}, "revisions": {"QM Line 635\nA", "QM Line 635\nB"}} {
		page := s.Get("/compare?"+url.Values{"what": {what}, "a": {sets[0]}, "b": {sets[1]}}.Encode(), http.StatusOK)
		webtest.Wants(t, page, "First-pass yield is ", "standard deviations compared")
		if what == "shifts" || what == "weekdays" {
			webtest.Wants(t, page, "Like with like (within the same batch and month")
		}
	}
	webtest.Wants(t, s.Get("/compare?what=colours&a=red&b=blue", http.StatusOK), "Sets are not compared by &#34;colours&#34;")
	webtest.Wants(t, s.Get("/compare?what=inspectors&a=x&b=x", http.StatusOK), "Both are the same inspector")
}
