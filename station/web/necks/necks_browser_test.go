package necks

import (
	"testing"

	"sagitta/station/web/webtest"
)

// TestNecksInBrowser fits the pages on a phone.
func TestNecksInBrowser(t *testing.T) {
	t.Parallel()
	s := shop(t).Fill()
	webtest.FitsPhone(t, webtest.Browser(t), s.Serve(), "/necks?q=QM-2611", "/necks/QM-2611-0001", "/necks/QM-2611-0001/story")
}
