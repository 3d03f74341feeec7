package web

import (
	"net/url"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/station/web/webtest"
)

// What a form refuses comes back as it was typed, with the sentence that says what is wrong: no form loses anything.
func TestRefusedFormsKeepWhatWasTyped(t *testing.T) {
	s := openShop(t).fill()
	webtest.Must[batch.GaugeCheck](s)(s.Rec.AppendGaugeCheck(t.Context(), batch.GaugeCheck{GaugeID: s.Gauge.ID, By: "Mara Quill", Why: "+0.030 mm on the 1 mm master", After: batch.CheckDue}))
	study := webtest.Must[batch.GaugeStudy](s)(s.Rec.StartStudy(t.Context(), "Tove Aske", s.Gauge.ID, batch.StudyPlan{
		Kind: batch.TypeOneStudy, About: "steel block", Appraisers: []string{"Mara Quill"}, Trials: 25, References: []float64{1}, ToleranceMM: 0.1,
	}))
	gauge := "/gauges/" + s.Gauge.ID
	for _, c := range []struct {
		path   string
		typed  url.Values
		status int
		says   string // the sentence under the field
		kept   []string
	}{
		{"/batches", url.Values{"number": {"QM/26"}, "planned": {"many"}, "serials": {"X-1"}, "note": {"for the fair"}}, 422, "&#34;many&#34; is not a number", []string{`value="QM/26"`, `value="many"`, "X-1</textarea>", `value="for the fair"`}},
		{"/batches/QM-2611/necks", url.Values{"serials": {"X-9..X-1"}, "by": {"Tove Aske"}}, 422, "add-serials-error", []string{"X-9..X-1</textarea>", `value="Tove Aske" selected`}},
		{"/batches/QM-2611/close", url.Values{"by": {"Nobody Known"}}, 422, "&#34;Nobody Known&#34; is not offered", nil},
		{"/batches/QM-2611/base?of=relief/treble//7", url.Values{"first": {"two"}, "last": {"9"}, "reason": {"after the saw was set"}, "by": {"Tove Aske"}}, 422, "&#34;two&#34; is not a number", []string{`value="two"`, `value="9"`, `value="after the saw was set"`, `value="Tove Aske" selected`, `id="base" open`, "<option value=\"relief/treble//7\" selected>"}},
		{"/batches/QM-2611/base", url.Values{"first": {"9"}, "last": {"9"}, "reason": {"a try"}, "by": {"Tove Aske"}}, 422, "at least two", []string{`value="9"`, `value="a try"`}},
		{"/specs", url.Values{"text": {"name = 7"}, "by": {"Tove Aske"}}, 422, "text-error", []string{"name = 7</textarea>"}},
		{"/specs", url.Values{"edit": {s.Spec.ID}, "text": {"name = 7"}, "by": {"Tove Aske"}}, 422, "text-error", []string{"name = 7</textarea>", s.Spec.Name + ", revision " + s.Spec.Revision + " is frozen"}},
		{"/people", url.Values{"name": {strings.Repeat("Q", 81)}, "role": {"repairer"}}, 422, "81 characters; at most 80", []string{strings.Repeat("Q", 81), `value="repairer" selected`}},
		{"/gauges", url.Values{"name": {"leaf set"}, "travel": {"900"}, "masters": {"1"}}, 422, "900 mm is outside", []string{`value="leaf set"`, `value="900"`, "1</textarea>"}},
		{gauge, url.Values{"name": {"carriage"}, "resolution": {"fine"}}, 422, "&#34;fine&#34; is not a length", []string{`value="carriage"`, `value="fine"`}},
		{gauge + "/retire", url.Values{"name": {"half a new name"}, "by": {"Nobody Known"}}, 422, "&#34;Nobody Known&#34; is not offered", []string{`value="half a new name"`}},
		{gauge + "/certificates", url.Values{"cert_number": {"QL-9"}, "cert_issued": {"soon"}, "cert_u": {"9"}, "cert_correction": {"1 2 3"}}, 422, "&#34;soon&#34; is not a day", []string{`value="QL-9"`, `value="9"`, "1 2 3</textarea>", "9 mm is outside"}},
		{gauge + "/studies", url.Values{"kind": {"type1"}, "about": {"flat"}, "trials": {"few"}, "references": {"one"}}, 422, "&#34;few&#34; is not a number", []string{`value="flat"`, `value="few"`, "one</textarea>"}},
		{"/studies/" + study.ID + "/give-up", url.Values{"reason": {"the block was lost"}}, 422, "Nothing is chosen", []string{`value="the block was lost"`}},
		{"/studies/" + study.ID + "/use", url.Values{}, 422, "gives no repeatability", nil},
		{"/necks/QM-2611-0002/clear-doubt", url.Values{"reason": {"measured with the beam"}}, 422, "Nothing is chosen", []string{`value="measured with the beam"`}},
		{"/gauges/identify", url.Values{"port": {strings.Repeat("p", 251)}}, 422, "251 characters; at most 250", []string{strings.Repeat("p", 251)}},
	} {
		page := s.Post(c.path, c.typed, c.status)
		webtest.Wants(t, page, append(c.kept, c.says)...)
		if strings.Contains(page, "<h1>Not done</h1>") {
			t.Errorf("%s: the error page loses what was typed", c.path)
		}
		if t.Failed() {
			t.Fatalf("%s %v", c.path, c.typed)
		}
	}
}

// No two parts of a page have the same name, or a label would lead to another form's field.
func TestNamesOfAPageAreUnique(t *testing.T) {
	s := openShop(t).fill()
	webtest.Must[batch.GaugeCheck](s)(s.Rec.AppendGaugeCheck(t.Context(), batch.GaugeCheck{GaugeID: s.Gauge.ID, By: "Mara Quill", Why: "+0.030 mm on the 1 mm master", After: batch.CheckDue}))
	for _, path := range []string{"/", "/batches", "/batches/QM-2611", "/batches/QM-2611/necks", "/batches/QM-2611/reasons", "/batches/QM-2611/characteristics", "/batches/QM-2611/charts", "/batches/QM-2611/limits", "/batches/QM-2611/people", "/batches/QM-2611/rework", "/batches/QM-2611/doubt",
		"/necks", "/necks/QM-2611-0001", "/specs", "/specs/" + s.Spec.ID, "/specs/" + s.Spec.ID + "/edit", "/specs/" + s.Spec.ID + "/form", "/specs/new", "/gauges", "/gauges/" + s.Gauge.ID,
		"/gauges/new", "/gauges/" + s.Gauge.ID + "/studies/new", "/people", "/trend", "/trend/reasons", "/trend/characteristics", "/trend/people", "/compare", "/callback", "/alarms", "/necks/QM-2611-0001/story"} {
		seen := map[string]bool{}
		for _, part := range strings.Split(s.Get(path, 200), ` id="`)[1:] {
			id, _, _ := strings.Cut(part, `"`)
			if seen[id] {
				t.Errorf("%s: two parts are named %q", path, id)
			}
			seen[id] = true
		}
	}
}
