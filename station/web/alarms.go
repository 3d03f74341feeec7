package web

import (
	"net/http"
	"net/url"
	"strings"

	"github.com/gin-gonic/gin"

	"sagitta/batch"
	"sagitta/station/bench"
)

// alarmRoutes registers the alarms' page and their acknowledging.
func (s *server) alarmRoutes(r gin.IRoutes) {
	r.GET("/alarms", func(c *gin.Context) { s.showAlarms(c, http.StatusOK, "") })
	r.POST("/alarms/:id/acknowledge", s.acknowledge)
}

// alarmsPage lists what asks to be looked at.
type alarmsPage struct {
	Alarms []batch.Alarm // open ones, newest first
	People []batch.Person
	Error  string
}

func (s *server) showAlarms(c *gin.Context, status int, problem string) {
	p := alarmsPage{Error: problem}
	var err error
	if p.Alarms, err = s.opt.Record.OpenAlarms(c.Request.Context()); err != nil {
		s.fail(c, err)
		return
	}
	if p.People, err = s.opt.Record.People(c.Request.Context()); err != nil {
		s.fail(c, err)
		return
	}
	s.render(c, status, "alarms", "Alarms", p)
}

// acknowledge notes who looked at an alarm and what was found.
func (s *server) acknowledge(c *gin.Context) {
	note := strings.TrimSpace(c.PostForm("note"))
	if err := s.opt.Record.AcknowledgeAlarm(c.Request.Context(), s.by(c), c.Param("id"), note); err != nil {
		s.showAlarms(c, http.StatusUnprocessableEntity, bench.Sentence(err))
		return
	}
	if err := s.opt.Bench.ReloadAlarms(c.Request.Context()); err != nil {
		s.fail(c, err)
		return
	}
	c.Redirect(http.StatusSeeOther, backTo(c))
}

// alarmPath is the page that an alarm asks to look at.
func alarmPath(a batch.Alarm) string {
	switch {
	case a.GaugeID != "":
		return "/gauges/" + url.PathEscape(a.GaugeID)
	case a.About != "":
		return chartPath(a.BatchNumber, a.About)
	}
	return batchPath(a.BatchNumber)
}
