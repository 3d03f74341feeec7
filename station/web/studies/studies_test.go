package studies

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/study"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

// shop is an empty shop with these pages alone; changed counts how often the gauges changed.
func shop(t testing.TB) (s *webtest.Shop, changed *int) {
	s, changed = webtest.Open(t), new(int)
	return s.Mount(func(k *site.Site) error {
		return Mount(k, Options{Record: s.Rec, GaugesChanged: func(context.Context) error { *changed++; return nil }})
	}), changed
}

// A study is planned on the gauge's page with its mistakes named, and refused as a whole until they are mended.
func TestPlanAStudy(t *testing.T) {
	s, _ := shop(t)
	s.Fill()
	path := "/gauges/" + s.Gauge.ID + "/studies"
	form := url.Values{"kind": {"crossed"}, "about": {"steel blocks"}, "appraisers": {"Mara Quill", "Tove Aske"}, "trials": {"2"}, "tolerance": {"0.16"}, "parts": {"P1..P5"}, "by": {"Tove Aske"}}
	for name, c := range map[string]struct{ key, value, want string }{
		"one trial":    {"trials", "1", "at least 2 parts, 1 appraiser and 2 trials"},
		"one part":     {"parts", "P1", "at least 2 parts"},
		"nobody":       {"by", "", "Nothing is chosen"},
		"not a number": {"trials", "many", "is not a number"},
		"no kind":      {"kind", "", "Nothing is chosen"},
	} {
		wrong := url.Values{}
		for k, v := range form {
			wrong[k] = v
		}
		wrong.Set(c.key, c.value)
		if page := s.Post(path, wrong, http.StatusUnprocessableEntity); !strings.Contains(page, c.want) || !strings.Contains(page, "steel blocks") {
			t.Errorf("%s: no %q, or what was typed is lost", name, c.want)
		}
	}
	to := s.Post(path, form, http.StatusSeeOther)
	webtest.Wants(t, s.Get(to, http.StatusOK), "0 of 20 readings taken", "Measure at the bench", "Steel blocks")
}

// The result page's numbers are those of the study computed from the same readings; its outcome becomes the gauge's
// repeatability when a person says so.
func TestStudyResult(t *testing.T) {
	s, changed := shop(t)
	s.Fill()
	ctx := context.Background()
	plan := batch.StudyPlan{Kind: batch.CrossedStudy, About: "steel blocks", Parts: []string{"1", "2", "3", "4"}, Appraisers: []string{"Mara Quill", "Tove Aske"}, Trials: 2, Seed: 5, ToleranceMM: 0.2}
	st := webtest.Must[batch.GaugeStudy](s)(s.Rec.StartStudy(ctx, "Tove Aske", s.Gauge.ID, plan))
	steps := webtest.Must[[]batch.StudyStep](s)(plan.Steps())
	var data []study.Measurement
	for i, step := range steps {
		v := 0.3*float64(step.Part[0]-'0') + 0.004*float64(i%3)
		webtest.Must[batch.StudyReading](s)(s.Rec.AppendStudyReading(ctx, batch.StudyReading{StudyID: st.ID, By: step.Appraiser, Part: step.Part, Appraiser: step.Appraiser, Trial: step.Trial, ValueMM: v}))
		data = append(data, study.Measurement{Part: step.Part, Appraiser: step.Appraiser, Trial: step.Trial, Value: v})
	}
	if err := s.Rec.EndStudy(ctx, "Tove Aske", st.ID, batch.StudyFinished, ""); err != nil {
		t.Fatal(err)
	}
	want, err := study.Crossed(data, study.Options{Tolerance: 0.2})
	if err != nil {
		t.Fatal(err)
	}
	page := s.Get("/studies/"+st.ID, http.StatusOK)
	webtest.Wants(t, page, fmt.Sprintf("it takes %.1f %% of the total variation", *want.PercentGRR), `id="by-part"`, `id="components"`, "Analysis of variance")
	if got := webtest.Cell(t, page, "gauge and appraisers", 0); got != fmt.Sprintf("%.4f", want.GRR) {
		t.Errorf("the page says %s, the study %.4f", got, want.GRR)
	}
	for by, want := range map[string]string{"": "Nothing is chosen. Choose one of the list", "Mara Quill": "&#34;Mara Quill&#34; is not offered"} { // Mara Quill is on the bench
		webtest.Wants(t, s.Post("/studies/"+st.ID+"/use", url.Values{"by": {by}}, http.StatusUnprocessableEntity), want)
	}
	if changed := webtest.Must[[]batch.Gauge](s)(s.Rec.Gauges(ctx))[0].RepeatabilityU; changed != s.Gauge.RepeatabilityU {
		t.Errorf("a refused person changed the repeatability to %v", changed)
	}
	s.Post("/studies/"+st.ID+"/use", url.Values{"by": {"Tove Aske"}}, http.StatusSeeOther)
	for _, g := range webtest.Must[[]batch.Gauge](s)(s.Rec.Gauges(ctx)) {
		if g.ID == s.Gauge.ID && g.RepeatabilityU != want.GRR {
			t.Errorf("the gauge's repeatability is %v, want %v", g.RepeatabilityU, want.GRR)
		}
	}
	if *changed == 0 {
		t.Error("the station was not told of the gauge's new entry")
	}
	webtest.Wants(t, s.Get("/studies/"+st.ID, http.StatusOK), "Tove Aske made")
	webtest.Wants(t, s.Post("/studies/"+st.ID+"/give-up", url.Values{"by": {"Tove Aske"}, "reason": {"late"}}, http.StatusConflict), "finished")
}

// A station without a bench plans and evaluates; what needs a gauge's line is refused.
func TestStudiesWithoutABench(t *testing.T) {
	s, _ := shop(t)
	s.Fill()
	st := webtest.Must[batch.GaugeStudy](s)(s.Rec.StartStudy(t.Context(), "Tove Aske", s.Gauge.ID, batch.StudyPlan{
		Kind: batch.CrossedStudy, About: "steel blocks", Parts: []string{"1", "2"}, Appraisers: []string{"Mara Quill"}, Trials: 2}))
	for _, what := range []string{"bench", "leave"} {
		webtest.Wants(t, s.Post("/studies/"+st.ID+"/"+what, nil, http.StatusConflict), "This station has no bench")
	}
}
