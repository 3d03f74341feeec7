package web

import (
	"net/url"
	"strings"
	"testing"

	"sagitta/station/web/webtest"
)

// TestLimitsThatAreNeverMeasured: a specification whose own routine leaves a limit out is taken, with a warning wherever it
// is imported, read or chosen for a batch; one that is whole gets none.
func TestLimitsThatAreNeverMeasured(t *testing.T) {
	s := openShop(t).fill()
	const warning = "No neck can pass"
	for _, path := range []string{"/specs", "/specs/" + s.Spec.ID, "/batches", "/batches/QM-2611"} {
		if strings.Contains(s.Get(path, 200), warning) {
			t.Errorf("%s warns of a sound specification", path)
		}
	}
	text := strings.Replace(webtest.SpecText, `profile = "each fret"`, `profile = "leaves"`, 1)
	text = strings.Replace(text, `revision = "B"`, `revision = "C"`, 1)
	to := s.Post("/specs", url.Values{"text": {text}, "by": {"Tove Aske"}, "reason": {"less to measure"}}, 303)
	webtest.Wants(t, s.Get(to, 200), warning, "is never measured, because the routine&#39;s profile is &#34;leaves&#34;", "give it profile &#34;each fret&#34; or &#34;sweep&#34;")
	webtest.Wants(t, s.Get("/specs", 200), ", revision C. "+warning)
	webtest.Wants(t, s.Get("/batches", 200), ", revision C. "+warning)
	opened := s.Post("/batches", url.Values{"number": {"QM-2613"}, "spec": {strings.TrimPrefix(to, "/specs/")}, "serials": {"QM-2613-0001"}, "by": {"Tove Aske"}}, 303)
	webtest.Wants(t, s.Get(opened, 200), warning)
}
