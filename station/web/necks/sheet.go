package necks

import (
	"bytes"
	"errors"
	"io"
	"net/http"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/export/label"
	"sagitta/export/sheet"
	"sagitta/station/web/site"
)

// sheetFile sends the sheet for the instrument's case as a file. It is made as a whole first: an error on the way becomes a page.
func (s *server) sheetFile(kind, content string, write func(io.Writer, *sheet.Sheet) error) func(c *site.Request) error {
	return func(c *site.Request) error {
		serial := c.Param("serial")
		t, err := s.template()
		if err != nil {
			return err
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

// labels sends the labels of a serial number or of a batch as one PDF.
func (s *server) labels(c *site.Request) error {
	number := c.Query("number")
	kind, err := label.ReadKind(c.Query("kind"))
	if err != nil {
		return err
	}
	size, err := label.ReadSize(c.DefaultQuery("size", label.Sizes[0]))
	if err != nil {
		return err
	}
	t, err := s.template()
	if err != nil {
		return err
	}
	all, err := label.Of(c.Request.Context(), s.opt.Record, t, kind, number)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	if err := label.PDF(&out, size, number, t.Heading, all); err != nil {
		return err
	}
	c.Attachment(batch.FileName(number) + "-label.pdf")
	c.Data(http.StatusOK, "application/pdf", out.Bytes())
	return nil
}

// template is the shop's template for sheet and labels.
func (s *server) template() (*sheet.Template, error) {
	t, err := sheet.ReadTemplate(s.opt.Folder)
	if err != nil {
		return nil, batch.Conflict.Errorf("the sheet's template is not in order: %v", err)
	}
	return t, nil
}
