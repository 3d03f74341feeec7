package web

import (
	"net/url"
	"strings"
	"testing"
)

// TestLimitsThatAreNeverMeasured: a specification whose own routine leaves a limit out is taken, with a warning wherever it
// is imported, read or chosen for a batch; one that is whole gets none.
func TestLimitsThatAreNeverMeasured(t *testing.T) {
	s := openShop(t).fill()
	const warning = "No neck can pass"
	for _, path := range []string{"/specs", "/specs/" + s.spec.ID, "/batches", "/batches/QM-2611"} {
		if strings.Contains(s.get(path, 200), warning) {
			t.Errorf("%s warns of a sound specification", path)
		}
	}
	text := strings.Replace(specText(t), `profile = "each fret"`, `profile = "leaves"`, 1)
	text = strings.Replace(text, `revision = "B"`, `revision = "C"`, 1)
	to := s.post("/specs", url.Values{"text": {text}, "by": {"Tove Aske"}}, 303)
	wants(t, s.get(to, 200), warning, "is never measured, because the routine&#39;s profile is &#34;leaves&#34;", "give it profile &#34;each fret&#34; or &#34;sweep&#34;")
	wants(t, s.get("/specs", 200), ", revision C. "+warning)
	wants(t, s.get("/batches", 200), ", revision C. "+warning)
	opened := s.post("/batches", url.Values{"number": {"QM-2613"}, "spec": {strings.TrimPrefix(to, "/specs/")}, "serials": {"QM-2613-0001"}, "by": {"Tove Aske"}}, 303)
	wants(t, s.get(opened, 200), warning)
}
