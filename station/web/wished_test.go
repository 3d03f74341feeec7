package web

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/life"
	"sagitta/batch/record/recordtest"
	"sagitta/batch/tell"
	"sagitta/inspect/unit"
	"sagitta/station/bench"
)

// calledAsWished says of an instrument that it is as wished.
var calledAsWished = regexp.MustCompile(`(?i)set up as wished|values that are limited are as wished`)

// options are what may be chosen or heard, and say nothing of the instrument.
var options = regexp.MustCompile(`(?s)<option.*?</option>|<button[^>]* data-sound.*?</li>`)

// TestNothingIsCalledAsWishedThatWasNotShown: what a player wished is read with a ruler; of what is outside the limits, and of what the ruler cannot tell,
// no page that links lead to, no sheet and no life says that it is as wished, and they say what it is; what is shown is called so.
func TestNothingIsCalledAsWishedThatWasNotShown(t *testing.T) {
	for _, c := range []struct {
		name, bass, treble string // action of strings 6 and 1, mm, wished 1.3 to 1.6 and 1.0 to 1.2
		bench, life        string
		shown              bool
	}{
		{"outside", "1.45", "1.9", "needs work", "Not as wished: action, string 1, fret 12, open is 1.90 mm, above 1.20 mm.", false},
		{"not to be told", "1.58", "1.1", "too close to a limit to decide", "Too near to a limit to say whether it was as wished: action, string 6, fret 12, open.", false},
		{"shown", "1.45", "1.1", "set up as wished", "", true},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := openHouse(t, batch.Builder)
			h.Post("/instruments/new", url.Values{"serial": {"A-7"}, "with": {"leaves-ruler"}, "by": {"Mara Quill"}, "kind": {"electric-bolt-on"}, "action": {"low"}}, http.StatusSeeOther)
			for n := 0; h.bench.Snapshot().Stage == bench.Measuring; n++ {
				snap := h.bench.Snapshot()
				if n > 40 || snap.Next < 0 {
					t.Fatalf("no verdict: %+v", snap)
				}
				switch at := snap.Points[snap.Next].Point; {
				case at.Kind == batch.ActionHeight && at.String == 6:
					h.pressed("entry", url.Values{"text": {c.bass}})
				case at.Kind == batch.ActionHeight:
					h.pressed("entry", url.Values{"text": {c.treble}})
				case at.Kind == batch.LeafPasses || at.Kind == batch.LeafStops:
					h.pressed("leaf", url.Values{"rung": {"9"}})
				default:
					h.pressed("take", nil)
				}
			}
			l := recordtest.Must(life.Read(t.Context(), h.Rec, "A-7"))(t)
			told := strings.Join(tell.StayTold(l.Stays[0], unit.Millimetre), "\n")
			pages := h.walk()
			pages["the sheet"] = h.Get("/necks/A-7/sheet.html", http.StatusOK)
			pages["its life at the terminal"] = told
			pages["/"] = options.ReplaceAllString(h.Get("/", http.StatusOK), "")
			for path, text := range pages {
				if words := calledAsWished.FindString(text); words != "" && !c.shown {
					t.Errorf("%s says %q", path, text[max(0, strings.Index(text, words)-150):strings.Index(text, words)+80])
				}
			}
			for _, path := range []string{"/", "/necks/A-7"} {
				if !strings.Contains(pages[path], c.bench) {
					t.Errorf("%s does not say %q:\n%s", path, c.bench, pages[path])
				}
			}
			if decides := h.bench.Snapshot().Stage == bench.PersonDecides; decides && (!strings.Contains(pages["/"], "you decide") || !strings.Contains(pages["/"], "too close to a limit to decide, after three rounds too.")) {
				t.Errorf("when nothing more can be read the bench does not say who decides:\n%s", pages["/"])
			}
			if !strings.Contains(told, c.life) || c.life == "" && strings.Contains(told, "wished") {
				t.Errorf("the life does not say %q:\n%s", c.life, told)
			}
		})
	}
}
