package web

import (
	"fmt"
	"slices"
	"strings"

	"github.com/gin-gonic/gin"

	"sagitta/batch"
)

// by is who acts on the managing pages: whoever the form names, else the inspector on the bench, else nobody.
func (s *server) by(c *gin.Context) string {
	if name := strings.TrimSpace(c.PostForm("by")); name != "" {
		return name
	}
	if s.opt.Bench == nil {
		return ""
	}
	return s.opt.Bench.Snapshot().Inspector
}

// byField offers the people of the given roles (any, when none is given); the inspector on the bench, or the only one,
// is chosen beforehand.
func (s *server) byField(c *gin.Context, roles ...batch.Role) (field, error) {
	fd := field{Name: "by", Label: "By", Kind: "select", Needed: true, Options: []option{{"", "choose who you are", false}}}
	if len(roles) > 0 {
		fd.Allowed = "a " + string(roles[0])
	}
	all, err := s.opt.Record.People(c.Request.Context())
	if err != nil {
		return fd, err
	}
	now := s.by(c)
	for _, p := range all {
		if len(roles) == 0 || slices.Contains(roles, p.Role) {
			fd.Options = append(fd.Options, option{p.Name, p.Name, p.Name == now})
			if p.Name == now {
				fd.Value = now
			}
		}
	}
	if len(fd.Options) == 1 {
		fd.Missing = "Nobody is on file yet."
		if len(roles) > 0 {
			fd.Missing = "No " + string(roles[0]) + " is on file yet."
		}
	}
	if len(fd.Options) == 2 {
		fd.Options[1].On, fd.Value = true, fd.Options[1].Value
	}
	return fd, nil
}

// onBench is the number of the batch that the bench works on, "" when none.
func (s *server) onBench() string {
	if s.opt.Bench == nil {
		return ""
	}
	if b := s.opt.Bench.Snapshot().Batch; b != nil {
		return b.Number
	}
	return ""
}

// counted is a number with the word that fits it.
func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// managingRoutes registers the pages for reading and managing.
func (s *server) managingRoutes(r gin.IRoutes) {
	r.GET("/batches", s.batches)
	r.POST("/batches", s.openBatch)
	r.GET("/batches/:number", s.batch)
	r.GET("/batches/:number/what-if", s.whatIfPart)
	r.POST("/batches/:number/base", s.freezeBase)
	r.POST("/batches/:number/necks", s.addNecks)
	r.POST("/batches/:number/close", s.closeBatch)
	r.GET("/batches/:number/workbook.xlsx", s.workbook)

	r.GET("/necks", s.necks)
	r.GET("/necks/:serial", s.neck)
	r.GET("/necks/:serial/explain", s.explain)
	r.POST("/necks/:serial/clear-doubt", s.clearDoubt)
	r.GET("/callback", s.callbackList)
	r.GET("/callback.csv", s.callbackFile)

	r.GET("/specs", s.specs)
	r.POST("/specs", s.addSpec)
	r.GET("/specs/compare", s.compareSpecs)
	r.GET("/specs/:id", s.spec)
	r.GET("/specs/:id/edit", s.editSpec)
	r.GET("/specs/:id/file.toml", s.exportSpec)

	r.GET("/gauges", s.gauges)
	r.POST("/gauges", s.saveNewGauge)
	r.GET("/gauges/new", s.newGauge)
	r.GET("/gauges/identify", s.identify)
	r.POST("/gauges/identify", s.startIdentify)
	r.POST("/gauges/identify/stop", s.stopIdentify)
	r.POST("/gauges/:id/which", s.whichTwin)
	r.GET("/gauges/:id", s.gauge)
	r.POST("/gauges/:id", s.saveOldGauge)
	r.POST("/gauges/:id/check", s.checkGauge)
	r.POST("/gauges/:id/drop", s.dropGauge)
	r.POST("/gauges/:id/certificates", s.addCertificate)
	r.GET("/gauges/:id/certificates/:certificate", s.certificateFile)
	r.POST("/gauges/:id/retire", s.retireGauge)

	r.GET("/people", s.people)
	r.POST("/people", s.addPerson)
}
