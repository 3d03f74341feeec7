package draw

import (
	"fmt"
	"html/template"
	"strings"

	"github.com/boombuler/barcode/code128"
)

// quietModules is the blank that a bar code needs on both sides, in modules (ISO/IEC 15417: at least ten).
const quietModules = 10

// BarCode draws a text as Code 128 (ISO/IEC 15417), one unit of the drawing a module; "" where it cannot be written as one: it is empty, longer than 80
// characters, or has others than those of ASCII.
func BarCode(text string) template.HTML {
	for _, r := range text {
		if r < ' ' || r > '~' {
			return ""
		}
	}
	code, err := code128.Encode(text)
	if err != nil {
		return ""
	}
	wide := code.Bounds().Dx()
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="barcode" viewBox="0 0 %d 40" width="%.1fmm" height="12mm" preserveAspectRatio="none" role="img" aria-label="Bar code of %s"><rect width="%d" height="40" fill="#fff"/>`,
		wide+2*quietModules, 0.33*float64(wide+2*quietModules), template.HTMLEscapeString(text), wide+2*quietModules)
	for x := 0; x < wide; {
		run := x
		for run < wide && black(code.At(run, 0).RGBA()) {
			run++
		}
		if run > x {
			fmt.Fprintf(&b, `<rect x="%d" width="%d" height="40" fill="#000"/>`, quietModules+x, run-x)
		}
		x = run + 1
	}
	b.WriteString("</svg>")
	return template.HTML(b.String())
}

func black(r, g, b, _ uint32) bool { return r+g+b < 3*0x8000 }
