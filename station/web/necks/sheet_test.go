package necks

import (
	"strings"
	"testing"

	"sagitta/station/web/webtest"
)

// TestSheetIsOffered: the neck's page leads to the sheet as PDF and as a file for a phone, which tells the newest attempt and no verdict.
func TestSheetIsOffered(t *testing.T) {
	s := shop(t).Fill()
	webtest.Wants(t, s.Get("/necks/QM-2611-0001", 200), `/necks/QM-2611-0001/sheet.pdf"`, `/necks/QM-2611-0001/sheet.html"`)
	page := s.Get("/necks/QM-2611-0001/sheet.html", 200)
	webtest.Wants(t, page, "QM-2611-0001", "0.29", "tighten 1/4 turn")
	if strings.Contains(page, "pass") || strings.Contains(page, "rework") {
		t.Error("the sheet judges")
	}
	if pdf := s.Get("/necks/QM-2611-0001/sheet.pdf", 200); !strings.HasPrefix(pdf, "%PDF-") {
		t.Error("the PDF is none")
	}
	webtest.Wants(t, s.Get("/necks/none/sheet.pdf", 404), "No neck with the serial number")
}
