package batches

import (
	"net/http"
	"os"

	"sagitta/batch"
	"sagitta/export"
	"sagitta/station/web/site"
)

// workbook sends the batch's spreadsheet. It is written to a temporary file first: an error on the way becomes an
// error page, never half a workbook.
func (s *server) workbook(c *site.Request) error {
	number := c.Param("number")
	unit := c.DefaultQuery("unit", c.Unit().String())
	if unit != "mm" && unit != "in" {
		return batch.Mendable.Errorf("The unit %q is not known; allowed are mm and in.", unit)
	}
	file, err := os.CreateTemp("", "workbook-*.xlsx")
	if err != nil {
		return export.NoRoom(batch.InTheMaking(err, export.TemporaryFile))
	}
	defer os.Remove(file.Name())
	defer file.Close()
	now := s.opt.Now()
	err = export.Workbook(c.Request.Context(), file, s.opt.Record, number, export.Options{Unit: unit, Location: now.Location(), Now: now, Station: s.opt.Station})
	if err != nil {
		return export.NoRoom(batch.InTheMaking(err, export.TemporaryFile, file.Name()))
	}
	if unit == "in" {
		unit = "inch"
	}
	c.Attachment(number + " " + unit + ".xlsx")
	c.Header("Content-Type", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet")
	http.ServeContent(c.Writer, c.Request, "", now, file)
	return nil
}
