package signon_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/station/signon"
)

// The trail tells that somebody tries names, badges and codes that are nobody's: the first at once, all of them by their number, few entries however many
// they are, and nothing of what was typed.
func TestTrailTellsOfStrangers(t *testing.T) {
	s := open(t)
	s.first()
	const tries = 400
	for i := range tries {
		_, err := s.SignOn(t.Context(), fmt.Sprintf("my secret %d", i), "typed elsewhere")
		s.refused(err, batch.Unproven, "")
		_, err = s.SignOnBadge(signon.WithScanner(t.Context()), fmt.Sprintf("SECRET-%d", i))
		s.refused(err, batch.Unproven, "")
		_, err = s.Service.Code(t.Context(), fmt.Sprintf("SECRE-TTTTT-%d", i))
		s.refused(err, batch.Unproven, "")
		s.later(5 * time.Second)
	}
	told := map[string]int{}
	for e, err := range s.EachEntry(t.Context(), batch.TrailFilter{Matter: batch.OfSigningOn}) {
		s.ok(err)
		if !strings.HasSuffix(e.What, " tried") {
			continue
		}
		told[e.What]++
		if strings.Contains(strings.ToLower(e.By+e.About+e.Detail), "secre") {
			t.Errorf("the trail tells what was typed: %+v", e)
		}
	}
	for _, what := range []batch.Unknown{batch.UnknownName, batch.UnknownBadge, batch.UnknownCode} {
		if n := told[string(what)+" tried"]; n < 5 || n > 16 {
			t.Errorf("%d entries of %d tries of an %s", n, tries, what)
		}
	}
	s.later(time.Hour)
	_, err := s.SignOn(t.Context(), "once more", "typed elsewhere")
	s.refused(err, batch.Unproven, "")
	all, err := s.Trail(t.Context(), batch.TrailFilter{Matter: batch.OfSigningOn, Limit: 1})
	s.ok(err)
	sum := 0
	for e, err := range s.EachEntry(t.Context(), batch.TrailFilter{Matter: batch.OfSigningOn}) {
		s.ok(err)
		n := 1
		if _, scanned := fmt.Sscanf(e.Detail, "%d times since", &n); e.What == "unknown name tried" && (scanned == nil || e.Detail == "") {
			sum += n
		}
	}
	if all[0].What != "unknown name tried" || sum != tries+1 {
		t.Errorf("the newest entry is %q, and %d of %d tries are told", all[0].What, sum, tries+1)
	}
}
