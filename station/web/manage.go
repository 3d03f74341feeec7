package web

import (
	"sagitta/station/web/site"
)

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

// batchRoutes registers a group of pages.
func (s *server) batchRoutes(g *site.Group) {
	g.GET("/batches", s.batches)
	g.POST("/batches", s.openBatch)
	g.GET("/batches/:number", s.batchPage)
	g.GET("/batches/:number/what-if", s.whatIfPart)
	g.POST("/batches/:number/base", s.freezeBase)
	g.POST("/batches/:number/necks", s.addNecks)
	g.POST("/batches/:number/close", s.closeBatch)
	g.GET("/batches/:number/workbook.xlsx", s.workbook)
}

// gaugeRoutes registers a group of pages.
func (s *server) gaugeRoutes(g *site.Group) {
	g.GET("/gauges", s.gauges)
	g.POST("/gauges", s.saveNewGauge)
	g.GET("/gauges/new", s.newGauge)
	g.GET("/gauges/identify", s.identify)
	g.POST("/gauges/identify", s.startIdentify)
	g.POST("/gauges/identify/stop", s.stopIdentify)
	g.POST("/gauges/:id/which", s.whichTwin)
	g.GET("/gauges/:id", s.gauge)
	g.POST("/gauges/:id", s.saveOldGauge)
	g.POST("/gauges/:id/check", s.checkGauge)
	g.POST("/gauges/:id/drop", s.dropGauge)
	g.POST("/gauges/:id/certificates", s.addCertificate)
	g.GET("/gauges/:id/certificates/:certificate", s.certificateFile)
	g.POST("/gauges/:id/retire", s.retireGauge)
}
