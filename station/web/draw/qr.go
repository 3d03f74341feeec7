package draw

import (
	"fmt"
	"html/template"
	"strings"

	"github.com/boombuler/barcode/qr"
)

// QR are the modules of a text as QR code (ISO/IEC 18004) with error correction M, row by row, true for black, with the quiet zone of four around it.
func QR(text string) ([][]bool, error) {
	code, err := qr.Encode(text, qr.M, qr.Auto)
	if err != nil {
		return nil, err
	}
	const quiet = 4
	size := code.Bounds().Dx()
	rows := make([][]bool, size+2*quiet)
	for y := range rows {
		rows[y] = make([]bool, size+2*quiet)
		for x := range rows[y] {
			in := x >= quiet && y >= quiet && x < size+quiet && y < size+quiet
			rows[y][x] = in && black(code.At(x-quiet, y-quiet).RGBA())
		}
	}
	return rows, nil
}

// QRCode draws a text as QR code; "" where it is too long for one.
func QRCode(text string) template.HTML {
	rows, err := QR(text)
	if err != nil {
		return ""
	}
	var path strings.Builder
	for y, row := range rows {
		for x := 0; x < len(row); x++ {
			run := x
			for run < len(row) && row[run] {
				run++
			}
			if run > x {
				fmt.Fprintf(&path, "M%d %dh%dv1h-%dz", x, y, run-x, run-x)
				x = run
			}
		}
	}
	return template.HTML(fmt.Sprintf(`<svg class="qr" viewBox="0 0 %d %d" width="60mm" height="60mm" role="img" aria-label="QR code of the address"><rect width="%d" height="%d" fill="#fff"/><path fill="#000" d="%s"/></svg>`,
		len(rows), len(rows), len(rows), len(rows), path.String()))
}
