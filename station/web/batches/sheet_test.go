package batches

import (
	"strings"
	"testing"

	"sagitta/station/web/draw"
)

// TestSheetCarriesItsCode: the batch's printed page has its number as a bar code, by which the bench opens it.
func TestSheetCarriesItsCode(t *testing.T) {
	page := shop(t).Get("/batches/QM-2611", 200)
	if want := `<div class="print-only sheet-code">` + string(draw.BarCode("QM-2611")) + `</div>`; !strings.Contains(page, want) {
		t.Error("the page has no bar code of its number")
	}
}
