package web

import (
	"path/filepath"
	"strings"
	"testing"

	"sagitta/station/web/webtest"
)

// What cannot be made for want of a temporary file is told without its path.
func TestErrorsHoldNoTemporaryPath(t *testing.T) {
	s := openShop(t).fill()
	gone := filepath.Join(t.TempDir(), "gone")
	t.Setenv("TMPDIR", gone)
	page := s.Get("/batches/"+s.Batch.Number+"/workbook.xlsx", 500)
	webtest.Wants(t, page, "a temporary file in the system&#39;s folder for them")
	if strings.Contains(page, gone) {
		t.Errorf("the page tells the path:\n%.1500s", page)
	}
}
