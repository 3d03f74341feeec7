package instruments

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/station/web/webtest"
)

// TestWishedByRuler: action that was wished low and is read with a ruler is judged: what is well outside is found, what is well inside is as
// wished, and of what is near a limit the result says how probable it is.
func TestWishedByRuler(t *testing.T) {
	for _, c := range []struct {
		name         string
		bass, treble string // action of strings 6 and 1, mm, wished 1.3 to 1.6 and 1.0 to 1.2
		conforms     bool
		says         string
	}{
		{"well outside", "1.45", "1.9", false, "string 1"},
		{"near a limit", "1.58", "1.1", true, "action, string 6, fret 12, open with a probability of 65 % only"},
		{"in the middle", "1.45", "1.1", true, "limited values conform"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, b := opened(t)
			form := url.Values{"serial": {"A-7"}, "with": {"leaves-ruler"}, "by": {"Mara Quill"}, "kind": {"electric-bolt-on"}, "action": {"low"}}
			page := s.Post(Path+"/new", with(form, "act", actLook), http.StatusOK)
			webtest.Wants(t, page, "Judged, but your tool is coarse for it: action", "Not asked for, because no gauge of yours measures it well enough", "action of strings 2 to 5, nut height")
			s.Post(Path+"/new", form, http.StatusSeeOther)
			for n := 0; b.Snapshot().Verdict == nil; n++ {
				if n > 20 {
					t.Fatalf("no verdict: %+v", b.Snapshot())
				}
				var err error
				snap := b.Snapshot()
				if snap.Next < 0 {
					t.Fatalf("nothing is asked for: %+v", snap)
				}
				switch at := snap.Points[snap.Next].Point; {
				case at.Kind == batch.ActionHeight && at.String == 6:
					err = b.Entry(t.Context(), c.bass, "mm")
				case at.Kind == batch.ActionHeight:
					err = b.Entry(t.Context(), c.treble, "mm")
				case at.Kind == batch.LeafPasses || at.Kind == batch.LeafStops:
					err = b.Leaf(t.Context(), 9)
				default:
					err = b.Take(t.Context())
				}
				if err != nil {
					t.Fatal(err)
				}
			}
			snap := b.Snapshot()
			limited := 0
			for _, ch := range snap.Result.Characteristics {
				if ch.Name == inspect.Action && ch.Zone != inspect.NoLimit {
					limited++
				}
			}
			if limited != 2 || snap.Result.Conforms != c.conforms {
				t.Errorf("%d values of action are judged; conforms: %v, %s", limited, snap.Result.Conforms, snap.Result.Why)
			}
			if !strings.Contains(snap.Result.Why, c.says) || strings.Contains(c.says, "conform") && strings.Contains(snap.Result.Why, "probability") {
				t.Errorf("%s; want %q", snap.Result.Why, c.says)
			}
		})
	}
}
