package specs

import (
	"testing"

	"sagitta/station/web/webtest"
)

// TestSpecsInBrowser fits the pages on a phone.
func TestSpecsInBrowser(t *testing.T) {
	t.Parallel()
	s := shop(t).Fill()
	webtest.FitsPhone(t, webtest.Browser(t), s.Serve(), "/specs?example=yes", "/specs/"+s.Spec.ID, "/specs/"+s.Spec.ID+"/edit")
}
