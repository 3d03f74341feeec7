package export

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"strings"

	"github.com/xuri/excelize/v2"
)

// The house sign: an arc over its chord, with the height between. Its box is 48 by 24; y grows downwards.
const (
	signWide, signHigh   = 48, 24
	signLeft, signRight  = 3, 45
	signChord, signDepth = 6, 14 // where the chord lies; how far the arc goes below it
	signStroke           = 2.5
	signDots             = 4 // to a unit of the box
)

// signPicture draws the house sign as a PNG picture on nothing: chord and arc in ink, the height in the accent.
func signPicture() ([]byte, error) {
	img := image.NewNRGBA(image.Rect(0, 0, signWide*signDots, signHigh*signDots))
	middle := float64(signLeft+signRight) / 2
	for py := range signHigh * signDots {
		for px := range signWide * signDots {
			x, y := (float64(px)+0.5)/signDots, (float64(py)+0.5)/signDots
			height := covered(math.Hypot(x-middle, y-min(max(y, signChord), signChord+signDepth)))
			line := covered(math.Hypot(x-min(max(x, signLeft), signRight), y-signChord))
			line = max(line, covered(fromArc(x, y)))
			switch {
			case height > 0 && height >= line:
				img.Set(px, py, shade(blue, height))
			case line > 0:
				img.Set(px, py, shade(ink, line))
			}
		}
	}
	var w bytes.Buffer
	err := png.Encode(&w, img)
	return w.Bytes(), err
}

// fromArc is the distance of a point to the arc, a parabola, drawn as short chords.
func fromArc(x, y float64) float64 {
	const pieces = 64
	at := func(i int) (float64, float64) {
		t := float64(i) / pieces
		return signLeft + (signRight-signLeft)*t, signChord + 4*signDepth*t*(1-t)
	}
	nearest := math.Inf(1)
	for i := range pieces {
		x0, y0 := at(i)
		x1, y1 := at(i + 1)
		dx, dy := x1-x0, y1-y0
		t := min(max(((x-x0)*dx+(y-y0)*dy)/(dx*dx+dy*dy), 0), 1)
		nearest = min(nearest, math.Hypot(x-x0-t*dx, y-y0-t*dy))
	}
	return nearest
}

// covered is the share of a dot that a stroke covers whose middle is so far away.
func covered(distance float64) float64 {
	return min(max((signStroke/2-distance)*signDots+0.5, 0), 1)
}

// shade is a colour, RRGGBB, that covers a share of what lies beneath.
func shade(rgb string, share float64) color.NRGBA {
	c := color.NRGBA{A: uint8(math.Round(255 * share))}
	_, _ = fmt.Sscanf(rgb, "%02x%02x%02x", &c.R, &c.G, &c.B) // a constant of style.go
	return c
}

// sign puts the house sign at the left end of the Summary's first row.
func (s *summary) sign() {
	const wide = 44 // pixels, as on the pages
	s.keep(s.file.AddPictureFromBytes("Summary", "A1", &excelize.Picture{Extension: ".png", File: s.picture, Format: &excelize.GraphicOptions{
		AltText: "sagitta: an arc over its chord, the height between", Positioning: "oneCell", OffsetX: 4, OffsetY: 8,
		ScaleX: wide / float64(signWide*signDots), ScaleY: wide / float64(signWide*signDots)}}))
}

// running gives a sheet its running head and foot on paper, as the pages have them: the house sign and the shop, the batch and the
// sheet's name above, the page's number of all below.
func (b *book) running(sheet string) error {
	if err := b.file.AddHeaderFooterImage(sheet, &excelize.HeaderFooterImageOptions{Position: excelize.HeaderFooterImagePositionLeft,
		File: b.picture, Extension: ".png", Width: "32pt", Height: "16pt"}); err != nil {
		return err
	}
	head := "&L&G  sagitta"
	if b.opt.Station != "" {
		head += " · " + onPaper(b.opt.Station)
	}
	about := "&R"
	if b.batch.Number != "" {
		about += "Batch " + onPaper(b.batch.Number) + " · "
	}
	return b.file.SetHeaderFooter(sheet, &excelize.HeaderFooterOptions{OddHeader: head + about + "&A", OddFooter: "&Rpage &P of &N"})
}

// onPaper makes a text fit for a running head, which has room for 255 characters and begins a code with &.
func onPaper(text string) string {
	const most = 80
	if runes := []rune(text); len(runes) > most {
		text = string(runes[:most])
	}
	return strings.ReplaceAll(text, "&", "&&")
}
