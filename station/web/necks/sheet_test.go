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

// TestLabelsAreOffered: the neck's page asks for a label; a serial number gives one page and a batch's number one for each neck, in the size that was asked for.
func TestLabelsAreOffered(t *testing.T) {
	s := shop(t).Fill()
	webtest.Wants(t, s.Get("/necks/QM-2611-0001", 200), `action="/labels.pdf"`, `name="number" value="QM-2611-0001"`, "<option>50x25</option>")
	for query, box := range map[string]string{"number=QM-2611-0001&kind=set-up&size=62x29": "[0 0 175.75 82.20]", "number=QM-2611&size=100x50": "[0 0 283.46 141.73]"} {
		pdf := s.Get("/labels.pdf?"+query, 200)
		if !strings.HasPrefix(pdf, "%PDF-") || !strings.Contains(pdf, "/MediaBox "+box) {
			t.Errorf("%s is no PDF of that size", query)
		}
	}
	webtest.Wants(t, s.Get("/labels.pdf?number=none", 404), "either a neck nor a batch has the number")
	webtest.Wants(t, s.Get("/labels.pdf?number=QM-2611-0001&kind=x", 422), "allowed: set-up and traveller")
	webtest.Wants(t, s.Get("/labels.pdf?number=QM-2611-0001&size=0x0", 422), "allowed: width and height in mm")
	webtest.Wants(t, s.Get("/labels.pdf?number=QM-2611-0001&size=20x20", 409), "take a larger one")
}
