package web

import (
	"sagitta/station/web/site"
)

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
