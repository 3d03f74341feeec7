package bench

import (
	"html"
	"net/http"
	"strings"
	"testing"
	"time"

	"sagitta/batch/tell"
	"sagitta/station/bench"
	"sagitta/station/bench/benchtest"
)

// TestPageOfEveryState shows what a bench publishes in each of its states: the page says what is on the bench, what is asked and
// what was answered.
func TestPageOfEveryState(t *testing.T) {
	b, s := storybook(t)
	for _, state := range benchtest.States {
		snap := state.Snapshot(t)
		b.show(*snap)
		page := html.UnescapeString(strings.NewReplacer(`<span class="rest">`, "", "</span>", "").Replace(s.Get("/", http.StatusOK)))
		for _, said := range sentences(snap) {
			if !strings.Contains(page, said) {
				t.Errorf("%s: the page does not say %q", state.Name, said)
			}
		}
	}
}

// TestCarriedValuesShowTheirState: from the beginning on, before pitch is read, and in the verdict, carried reliefs stand with the state they were judged
// in and the attempt they are from; what is said of it once is not said in the message line too.
func TestCarriedValuesShowTheirState(t *testing.T) {
	b, s := storybook(t)
	seen := 0
	for _, state := range benchtest.States {
		if !strings.HasSuffix(state.Name, "carried over") {
			continue
		}
		seen++
		snap := state.Snapshot(t)
		b.show(*snap)
		page := s.Get("/", http.StatusOK)
		list := page[strings.Index(page, `<table class="front`):]
		list = list[:strings.Index(list, "</table>")]
		reliefs := 0
		for _, row := range strings.Split(list, "<tr")[1:] {
			if !strings.Contains(row, "relief") {
				continue
			}
			reliefs++
			if !strings.Contains(row, `class="conforming`) || !strings.Contains(row, `<span class="quiet">measured by `+snap.Carried[0].CarriedFrom.At.Local().Format("2006-01-02 15:04")+`</span>`) {
				t.Errorf("%s: a carried relief stands as %s", state.Name, row)
			}
		}
		if reliefs == 0 {
			t.Errorf("%s: no relief is listed: %s", state.Name, list)
		}
		if snap.Stage == bench.Measuring && strings.Count(page, "measures everything") != 1 {
			t.Errorf("%s: the page says %d times that the rest is carried", state.Name, strings.Count(page, "measures everything"))
		}
	}
	if seen != 3 {
		t.Errorf("%d states carry values over, looked for 3", seen)
	}
}

// sentences are what a snapshot has its page say.
func sentences(s *bench.Snapshot) []string {
	says := []string{s.Serial, s.Doubt, s.Working}
	if s.Notice != nil {
		says = append(says, s.Notice.Text)
	}
	switch { // what stands in front
	case s.Check != nil:
		says = append(says, s.Check.Words)
	case s.Study != nil:
		says = append(says, s.Study.Appraiser, s.Study.Seen)
	case s.Question != nil:
		says = append(says, s.Question.Asks)
	case s.Sweep != nil:
		says = append(says, s.Sweep.Words())
	}
	for _, a := range s.Alarms {
		says = append(says, a.Words, a.LookAt)
	}
	if s.Stage == bench.Idle {
		for _, n := range append(s.Waiting.InDoubt.Necks, s.Waiting.Held.Necks...) {
			says = append(says, n.Serial)
		}
	}
	if s.Check == nil && s.Question == nil {
		says = append(says, s.Because)
	}
	if carried := tell.CarriedOver(s.Carried, time.Now()); carried != "" { // under the point asked for or in the verdict's sentence
		if s.Stage == bench.Measuring {
			carried = "The rest was measured by " + s.Carried[0].CarriedFrom.At.Local().Format("2006-01-02 15:04") + " and is still true; <kbd>F6</kbd> measures everything."
		}
		says = append(says, carried, tell.CarriedFrom(s.Carried[0], time.Now()))
	}
	for _, n := range s.Waiting.Parked {
		says = append(says, n.Serial, n.Reason)
	}
	return says
}
