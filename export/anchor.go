package export

import (
	"bytes"
	"image"
	"image/color"
	"image/png"

	"github.com/xuri/excelize/v2"

	"sagitta/batch/tell"
	"sagitta/export/symbol"
)

// anchor sets the record's newest checkpoint under the signatures, in small print and as QR code.
func (s *summary) anchor() {
	c := s.book.anchor
	if c == nil {
		return
	}
	s.section("Checkpoint of the record")
	s.across(0, tell.AnchorCarried, look{color: faint, size: 8}, whole)
	s.row++
	s.keep(s.code(c.Note))
	s.across(1, c.Note, look{color: faint, size: 7, top: true}, whole)
	s.height(96)
	s.row++
}

// code puts a text as QR code into the first column of the current row.
func (s *summary) code(text string) error {
	rows, err := symbol.QR(text, symbol.M)
	if err != nil {
		return err
	}
	const dots, wide = 3, 120 // to a module; pixels as it is shown
	img := image.NewGray(image.Rect(0, 0, dots*len(rows), dots*len(rows)))
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			if !rows[y/dots][x/dots] {
				img.SetGray(x, y, color.Gray{Y: 0xff})
			}
		}
	}
	var picture bytes.Buffer
	if err := png.Encode(&picture, img); err != nil {
		return err
	}
	at, err := excelize.CoordinatesToCellName(1, s.row)
	if err != nil {
		return err
	}
	scale := wide / float64(img.Rect.Dx())
	return s.file.AddPictureFromBytes("Summary", at, &excelize.Picture{Extension: ".png", File: picture.Bytes(), Format: &excelize.GraphicOptions{
		AltText: "QR code of the checkpoint", Positioning: "oneCell", OffsetX: 4, OffsetY: 3, ScaleX: scale, ScaleY: scale}})
}
