package draw

import (
	"fmt"
	"html/template"
	"strings"

	"sagitta/export/symbol"
)

// BarCode draws a text as Code 128 (ISO/IEC 15417), one unit of the drawing a module; "" where it cannot be written as one: it is empty, longer than 80
// characters, or has others than those of ASCII.
func BarCode(text string) template.HTML {
	row, err := symbol.Bars(text)
	if err != nil {
		return ""
	}
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="barcode" viewBox="0 0 %d 40" width="%.1fmm" height="12mm" preserveAspectRatio="none" role="img" aria-label="Bar code of %s"><rect width="%d" height="40" fill="#fff"/>`,
		len(row), 0.33*float64(len(row)), template.HTMLEscapeString(text), len(row))
	symbol.Runs(row, func(at, modules int) {
		fmt.Fprintf(&b, `<rect x="%d" width="%d" height="40" fill="#000"/>`, at, modules)
	})
	b.WriteString("</svg>")
	return template.HTML(b.String())
}

// QRCode draws a text as QR code (ISO/IEC 18004); "" where it is too long for one.
func QRCode(text string) template.HTML {
	rows, err := symbol.QR(text, symbol.M)
	if err != nil {
		return ""
	}
	return template.HTML(fmt.Sprintf(`<svg class="qr" viewBox="0 0 %d %d" width="60mm" height="60mm" role="img" aria-label="QR code of the address"><rect width="%d" height="%d" fill="#fff"/><path fill="#000" d="%s"/></svg>`,
		len(rows), len(rows), len(rows), len(rows), symbol.Path(rows)))
}
