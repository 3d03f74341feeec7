package bench

import (
	"net/http"
	"strings"
	"testing"

	"sagitta/inspect"
	"sagitta/station/web/webtest"
)

// The clock has the time that the specification allows a neck, and while none is on the bench the page says it with what was judged in this hour.
func TestTakt(t *testing.T) {
	b, s := storybook(t)
	snap := idle(s)
	spec := *snap.Batch.Spec.Spec
	routine := inspect.Routine{}
	if spec.Routine != nil {
		routine = *spec.Routine
	}
	routine.TaktS = new(90.0)
	spec.Routine = &routine
	taken := *snap.Batch
	taken.Spec.Spec = &spec
	snap.Batch, snap.JudgedInHour = &taken, 14
	b.show(snap)
	webtest.Wants(t, s.Get("/", http.StatusOK), "14 judged in this hour, a neck may take 90 s.")
	mid := measuring(s, crowned{relief: 0.3}, 12)
	mid.Batch = &taken
	b.show(mid)
	webtest.Wants(t, s.Get("/", http.StatusOK), `data-takt="90"`)
	b.show(measuring(s, crowned{relief: 0.3}, 12))
	if strings.Contains(s.Get("/", http.StatusOK), "data-takt") {
		t.Error("a specification without a time has one on the page")
	}
}
