package bench

import (
	"context"
	"html"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"

	"sagitta/inspect"
)

// TestNamesStandBehind: in no state does a name of the handbook that is not the trade's own stand in front; behind More each value that
// is listed in front has its name.
func TestNamesStandBehind(t *testing.T) {
	b, s := storybook(t)
	srv := httptest.NewServer(s.Handler)
	defer srv.Close()
	tag := regexp.MustCompile(`<[^>]*>`)
	words := func(part string) string {
		return strings.ToLower(html.UnescapeString(tag.ReplaceAllString(part, " ")))
	}
	behind := map[string]bool{}
	for _, st := range append(stories(s), troubled(s)...) {
		b.show(st.snap)
		ctx, leave := context.WithCancel(t.Context())
		parts := next(t, listen(t, ctx, srv.URL, "")).Parts
		leave()
		front := words(parts["stage"] + parts["next"] + parts["sofar"] + parts["said"] + parts["notice"])
		for _, name := range []string{inspect.SideDifference, inspect.LevelZone, inspect.LevelDeviation, inspect.Rocker, inspect.Hump, inspect.FallAway, inspect.LeastClearance, inspect.ClearanceMargin, inspect.NutHeight} {
			name = inspect.Name(name)
			if regexp.MustCompile(`\b` + name + `\b`).MatchString(front) {
				t.Errorf("%s: %q stands in front: %s", st.name, name, front)
			}
			behind[name] = behind[name] || strings.Contains(words(parts["characteristics"]), name)
		}
		if strings.Contains(parts["sofar"]+parts["next"], `<table class="front`) && !strings.Contains(parts["sofar"]+parts["next"], " data-more ") {
			t.Errorf("%s: a tap on a value does not lead to its name", st.name)
		}
	}
	for _, of := range []string{inspect.Rocker, inspect.Hump, inspect.NutHeight} {
		if !behind[inspect.Name(of)] {
			t.Errorf("%q stands nowhere behind More", inspect.Name(of))
		}
	}
}
