package instruments

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/station/bench"
	"sagitta/station/web/webtest"
)

// TestWishedByRuler: action that was wished low and is read with a ruler is as wished only where the ruler shows it: what is outside the limits is
// found, what is well inside is as wished, and what is neither is read three times and left to the builder. The screen says before which is which.
func TestWishedByRuler(t *testing.T) {
	for _, c := range []struct {
		name         string
		bass, treble string // action of strings 6 and 1, mm, wished 1.3 to 1.6 and 1.0 to 1.2
		becomes      inspect.Disposition
		says         string
	}{
		{"well outside", "1.45", "1.9", inspect.Rework, "string 1"},
		{"near a limit", "1.58", "1.1", inspect.Remeasure, "action, string 6, fret 12, open is too close to a limit to decide"},
		{"in the middle", "1.45", "1.1", inspect.Pass, "limited values conform"},
		{"as low as the screen says", "1.39", "1.09", inspect.Pass, "limited values conform"},
		{"as high as the screen says", "1.51", "1.11", inspect.Pass, "limited values conform"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, b := opened(t)
			if err := s.Rec.SetHouse(t.Context(), "Mara Quill", batch.Builder); err != nil {
				t.Fatal(err)
			}
			form := url.Values{"serial": {"A-7"}, "with": {"leaves-ruler"}, "by": {"Mara Quill"}, "kind": {"electric-bolt-on"}, "action": {"low"}}
			page := s.Post(Path+"/new", with(form, "act", actLook), http.StatusOK)
			webtest.Wants(t, page, "What the ruler can tell, ±0.1 mm: as wished is what it reads as action, string 6, fret 12, from 1.39 mm to 1.51 mm; action, string 1, fret 12, from 1.09 mm to 1.11 mm.",
				"Outside the limits it is not as wished.", "read up to three times", "Not asked for, because no gauge of yours measures it well enough", "action of strings 2 to 5, nut height")
			s.Post(Path+"/new", form, http.StatusSeeOther)
			measuredByHand(t, b, c.bass, c.treble)
			snap := b.Snapshot()
			limited := 0
			for _, ch := range snap.Result.Characteristics {
				if ch.Name == inspect.Action && ch.Zone != inspect.NoLimit {
					limited++
				}
			}
			if limited != 2 || snap.Result.Disposition != c.becomes || !strings.Contains(snap.Result.Why, c.says) {
				t.Errorf("%d values of action are judged: %s, %s; want %s, %q", limited, snap.Result.Disposition, snap.Result.Why, c.becomes, c.says)
			}
			if c.becomes != inspect.Remeasure {
				webtest.Wants(t, s.Get(Path+"/A-7", http.StatusOK), map[inspect.Disposition]string{inspect.Pass: "set up as wished", inspect.Rework: "needs work"}[c.becomes])
				return
			}
			if snap.Stage != bench.PersonDecides {
				t.Fatalf("stage %s: %s", snap.Stage, snap.Result.Why)
			}
			if page := s.Get(Path+"/A-7", http.StatusOK); strings.Contains(page, "set up as wished") {
				t.Error("an action that nobody could tell is called as wished")
			}
			// A person may say so; then it says who did.
			if err := b.Decide(t.Context(), inspect.Pass, "Mara Quill", "played and liked"); err != nil {
				t.Fatal(err)
			}
			webtest.Wants(t, s.Get(Path+"/A-7", http.StatusOK), "decided by Mara Quill: played and liked")
		})
	}
}

// measuredByHand measures what is asked for with leaves and a ruler until there is a verdict, action in mm.
func measuredByHand(t *testing.T, b *bench.Bench, bass, treble string) {
	t.Helper()
	for n := 0; b.Snapshot().Stage == bench.Measuring; n++ {
		snap := b.Snapshot()
		if n > 40 || snap.Next < 0 {
			t.Fatalf("no verdict: %+v", snap)
		}
		var err error
		switch at := snap.Points[snap.Next].Point; {
		case at.Kind == batch.ActionHeight && at.String == 6:
			err = b.Entry(t.Context(), bass, "mm")
		case at.Kind == batch.ActionHeight:
			err = b.Entry(t.Context(), treble, "mm")
		case at.Kind == batch.LeafPasses || at.Kind == batch.LeafStops:
			err = b.Leaf(t.Context(), 9)
		default:
			err = b.Take(t.Context())
		}
		if err != nil {
			t.Fatal(err)
		}
	}
}
