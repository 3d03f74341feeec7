// Package symbol makes the modules of the codes that scanners and telephones read, with the quiet zones that their standards ask for.
package symbol

import (
	"fmt"
	"image/color"
	"strings"

	"github.com/boombuler/barcode/code128"
	"github.com/boombuler/barcode/qr"
)

// Blank around a symbol, in modules: at both ends of a Code 128 (ISO/IEC 15417, 4.4), on all sides of a QR code (ISO/IEC 18004, 6.3.8).
const (
	quietBars = 10
	quietQR   = 4
)

// mostBars is how many characters are written as one row of bars.
const mostBars = 80

// Bars are the modules of a text as Code 128, true for black, with the blank at both ends. Its characters are those of ASCII that can be printed, 1 to 80 of them.
func Bars(text string) ([]bool, error) {
	for _, r := range text {
		if r < ' ' || r > '~' {
			return nil, fmt.Errorf("%q has the character %q, which Code 128 does not have: it writes those of ASCII", text, r)
		}
	}
	if text == "" || len(text) > mostBars {
		return nil, fmt.Errorf("%q has %d characters; Code 128 is written for 1 to %d", text, len(text), mostBars)
	}
	code, err := code128.Encode(text)
	if err != nil {
		return nil, err
	}
	row := make([]bool, code.Bounds().Dx()+2*quietBars)
	for x := range code.Bounds().Dx() {
		row[quietBars+x] = black(code.At(x, 0))
	}
	return row, nil
}

// Level is how much of a QR code may be spoilt: about 7 % at L, 15 % at M.
type Level = qr.ErrorCorrectionLevel

// Levels of error correction.
const (
	L = qr.L
	M = qr.M
)

// QR are the modules of a text as QR code, row by row, true for black, with the blank around them. The error says that the text is too long for one.
func QR(text string, level Level) ([][]bool, error) {
	code, err := qr.Encode(text, level, qr.Auto)
	if err != nil {
		return nil, fmt.Errorf("a text of %d bytes has no room in a QR code: %w", len(text), err)
	}
	size := code.Bounds().Dx()
	rows := make([][]bool, size+2*quietQR)
	for y := range rows {
		rows[y] = make([]bool, size+2*quietQR)
	}
	for y := range size {
		for x := range size {
			rows[quietQR+y][quietQR+x] = black(code.At(x, y))
		}
	}
	return rows, nil
}

func black(c color.Color) bool {
	r, g, b, _ := c.RGBA()
	return r+g+b < 3*0x8000
}

// Path is the black of a QR code as the path of a drawing (SVG 2, 9.3), one unit a module.
func Path(rows [][]bool) string {
	var path strings.Builder
	for y, row := range rows {
		Runs(row, func(at, modules int) { fmt.Fprintf(&path, "M%d %dh%dv1h-%dz", at, y, modules, modules) })
	}
	return path.String()
}

// Runs calls draw for every stretch of black in a row: where it begins and how many modules it has.
func Runs(row []bool, draw func(at, modules int)) {
	for x := 0; x < len(row); x++ {
		run := x
		for run < len(row) && row[run] {
			run++
		}
		if run > x {
			draw(x, run-x)
			x = run
		}
	}
}
