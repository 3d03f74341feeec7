package necks

import (
	"bytes"
	"errors"
	"io"
	"net/http"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/export/sheet"
	"sagitta/station/web/site"
)

// sheetFile sends the sheet for the instrument's case as a file. It is made as a whole first: an error on the way becomes a page.
func (s *server) sheetFile(kind, content string, write func(io.Writer, *sheet.Sheet) error) func(c *site.Request) error {
	return func(c *site.Request) error {
		serial := c.Param("serial")
		t, err := sheet.ReadTemplate(s.opt.Folder)
		if err != nil {
			return batch.Conflict.Errorf("the sheet's template is not in order: %v", err)
		}
		made, err := sheet.Of(c.Request.Context(), s.opt.Record, t, serial)
		if errors.Is(err, record.ErrUnknownSerial) {
			return s.unknownNeck(c, serial)
		}
		if err != nil {
			return err
		}
		var out bytes.Buffer
		if err := write(&out, made); err != nil {
			return err
		}
		c.Attachment(batch.FileName(made.Serial) + "." + kind)
		c.Data(http.StatusOK, content, out.Bytes())
		return nil
	}
}
