package web

import (
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"strings"

	"github.com/gin-gonic/gin"

	"sagitta/export"
)

// workbook sends the batch's spreadsheet. It is written to a temporary file first: an error on the way becomes an
// error page, never half a workbook.
func (s *server) workbook(c *gin.Context) {
	number := c.Param("number")
	unit := c.DefaultQuery("unit", unitOf(c).String())
	if unit != "mm" && unit != "in" {
		s.refuse(c, http.StatusBadRequest, fmt.Sprintf("The unit %q is not known; allowed are mm and in.", unit))
		return
	}
	file, err := os.CreateTemp("", "workbook-*.xlsx")
	if err != nil {
		s.fail(c, err)
		return
	}
	defer os.Remove(file.Name())
	defer file.Close()
	now := s.opt.Now()
	err = export.Workbook(c.Request.Context(), file, s.opt.Record, number, export.Options{Unit: unit, Location: now.Location(), Now: now, Station: s.opt.Station})
	if err != nil {
		s.fail(c, err)
		return
	}
	if unit == "in" {
		unit = "inch"
	}
	c.Header("Content-Disposition", contentDisposition(number+" "+unit+".xlsx"))
	c.Header("Content-Type", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet")
	http.ServeContent(c.Writer, c.Request, "", now, file)
}

// contentDisposition names a download (RFC 6266): an ASCII name for old programs, the true one beside it.
func contentDisposition(name string) string {
	var ascii bytes.Buffer
	for _, r := range name {
		if r < ' ' || r > '~' || r == '"' || r == '\\' || r == '/' {
			r = '_'
		}
		ascii.WriteRune(r)
	}
	return fmt.Sprintf(`attachment; filename="%s"; filename*=UTF-8''%s`, ascii.String(), strings.ReplaceAll(url.QueryEscape(name), "+", "%20"))
}
