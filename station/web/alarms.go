package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"github.com/gin-gonic/gin"

	"sagitta/batch"
	"sagitta/station/bench"
)

// alarmRoutes registers the alarms' page and their acknowledging.
func (s *server) alarmRoutes(r gin.IRoutes) {
	r.GET("/alarms", func(c *gin.Context) { s.showAlarms(c, http.StatusOK, acknowledgement{}) })
	r.POST("/alarms/:id/acknowledge", s.acknowledge)
}

// mostAlarms is how many alarms the page lists at once.
const mostAlarms = 100

// alarmsPage lists what asks to be looked at.
type alarmsPage struct {
	Alarms  []batch.Alarm // open ones, newest first
	All     int           // how many are open
	People  []batch.Person
	Refused acknowledgement // that was not taken, with what was typed
}

// More is how many open alarms are not listed.
func (p alarmsPage) More() int { return p.All - len(p.Alarms) }

// acknowledgement is what was typed about an alarm, and why it was not taken.
type acknowledgement struct {
	ID, By, Note string
	Error        string
	Gone         bool // the alarm is not open any more
}

// For is what was typed about one alarm.
func (a acknowledgement) For(id string) acknowledgement {
	if a.ID != id {
		return acknowledgement{}
	}
	return a
}

func (s *server) showAlarms(c *gin.Context, status int, refused acknowledgement) {
	p := alarmsPage{Refused: refused}
	var err error
	if p.Alarms, err = s.opt.Record.OpenAlarms(c.Request.Context()); err != nil {
		s.fail(c, err)
		return
	}
	p.All = len(p.Alarms)
	at := slices.IndexFunc(p.Alarms, func(a batch.Alarm) bool { return a.ID == refused.ID })
	if at > 0 { // what was typed stands first, however old the alarm
		a := p.Alarms[at]
		p.Alarms = slices.Insert(slices.Delete(p.Alarms, at, at+1), 0, a)
	}
	p.Refused.Gone = at < 0
	p.Alarms = p.Alarms[:min(len(p.Alarms), mostAlarms)]
	if p.People, err = s.opt.Record.People(c.Request.Context()); err != nil {
		s.fail(c, err)
		return
	}
	s.render(c, status, "alarms", "Alarms", p)
}

// acknowledge notes who looked at an alarm and what was found.
func (s *server) acknowledge(c *gin.Context) {
	typed := acknowledgement{ID: c.Param("id"), By: s.by(c), Note: strings.TrimSpace(c.PostForm("note"))}
	if err := s.opt.Record.AcknowledgeAlarm(c.Request.Context(), typed.By, typed.ID, typed.Note); err != nil {
		typed.Error = bench.Sentence(err)
		s.showAlarms(c, http.StatusUnprocessableEntity, typed)
		return
	}
	if err := s.opt.Bench.ReloadAlarms(c.Request.Context()); err != nil {
		s.fail(c, err)
		return
	}
	c.Redirect(http.StatusSeeOther, backTo(c))
}

// alarmCount says how many alarms are open, "" for none.
func alarmCount(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("%d open", n)
}

// alarmsNow is alarmCount of this moment.
func (s *server) alarmsNow() string {
	if s.opt.Bench == nil {
		return ""
	}
	return alarmCount(s.opt.Bench.Snapshot().AllAlarms)
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
