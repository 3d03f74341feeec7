package specs

import (
	"net/http"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/files"
	"sagitta/batch/instrument"
	"sagitta/batch/record/recordtest"
	"sagitta/inspect/unit"
	"sagitta/station/web/webtest"
)

// Fitted to leaves and a ruler, the form's specification has no limit that its routine never measures, and says what it left out.
func TestFitLeavesOutWhatIsNotMeasured(t *testing.T) {
	s := shop(t)
	for _, k := range []batch.GaugeKind{batch.LeavesGauge, batch.RulerGauge} {
		recordtest.Must(s.Rec.SaveGauge(t.Context(), "Tove Aske", batch.Ordinary(k, unit.Millimetre)))(t)
	}
	tmpl := instrument.Templates()[0]
	page := s.Get("/specs/new?template="+tmpl.Name, http.StatusOK)
	webtest.Wants(t, page, "Fit the routine to the gauges there are", "leaves out limits of ")
	page = s.Post("/specs/form", with(formOn(t, page, "/specs/form"), actFit), http.StatusOK)
	webtest.Wants(t, page, "Left out, because no gauge measures it well enough: ", "nut height", "rocker")
	if strings.Contains(page, "No neck can pass") || strings.Contains(page, "Fit the routine to the gauges there are") {
		t.Error("fitted, and it warns or offers to fit it again")
	}
	review := s.Post("/specs/form", with(formOn(t, page, "/specs/form"), actReview), http.StatusOK)
	spec := recordtest.Must(files.ReadSpec("", []byte(formOn(t, review, "/specs").Get("text"))))(t)
	if len(spec.Unmeasurable()) > 0 || len(spec.Limits) == 0 || spec.Routine.Profile != "leaves" || len(spec.Routine.Strings.Numbers) != 2 {
		t.Errorf("%d limits, never measured %v, routine %+v", len(spec.Limits), spec.Unmeasurable(), spec.Routine)
	}
}
