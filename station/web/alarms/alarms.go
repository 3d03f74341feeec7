// Package alarms is the page of what asks to be looked at and of what waits, and where it is answered.
package alarms

import (
	"context"
	"embed"
	"html/template"
	"net/http"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/station/bench"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

//go:embed templates
var files embed.FS

// Record is what the page asks of the station's record.
type Record interface {
	OpenAlarms(ctx context.Context) ([]batch.Alarm, error)
	AcknowledgeAlarm(ctx context.Context, by, id, note string) error
	People(ctx context.Context) ([]batch.Person, error)
	NeckPage(ctx context.Context, f batch.NeckFilter) (batch.NeckPage, error)
}

// Bench knows what waits, and is told of an alarm that was answered.
type Bench interface {
	Snapshot() *bench.Snapshot
	ReloadAlarms(ctx context.Context) error
}

// Options are what the page reads and acts on.
type Options struct {
	Record Record
	Bench  Bench
	Now    func() time.Time
}

type server struct{ opt Options }

// Mount puts the page on the site.
func Mount(k *site.Site, opt Options) error {
	g, err := k.Group("Alarms", files, template.FuncMap{"usualBase": func() int { return batch.UsualBase }})
	if err != nil {
		return err
	}
	s := &server{opt: opt}
	g.GET("/alarms", func(c *site.Request) error { return s.showAlarms(c, http.StatusOK, acknowledgement{}) })
	g.POST("/alarms/:id/acknowledge", s.acknowledge)
	return nil
}

// mostAlarms is how many alarms the page lists at once.
const mostAlarms = 100

// alarmsPage lists what asks to be looked at.
type alarmsPage struct {
	Alarms  []batch.Alarm // open ones, newest first
	All     int           // how many are open
	Waits   []show.WaitGroup
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

func (s *server) showAlarms(c *site.Request, status int, refused acknowledgement) error {
	p := alarmsPage{Refused: refused}
	var err error
	if p.Alarms, err = s.opt.Record.OpenAlarms(c.Request.Context()); err != nil {
		return err
	}
	p.All = len(p.Alarms)
	at := slices.IndexFunc(p.Alarms, func(a batch.Alarm) bool { return a.ID == refused.ID })
	if at > 0 { // what was typed stands first, however old the alarm
		a := p.Alarms[at]
		p.Alarms = slices.Insert(slices.Delete(p.Alarms, at, at+1), 0, a)
	}
	p.Refused.Gone = at < 0
	p.Alarms = p.Alarms[:min(len(p.Alarms), mostAlarms)]
	waiting, here := bench.Waiting{}, (*batch.Batch)(nil)
	if s.opt.Bench != nil {
		snap := s.opt.Bench.Snapshot()
		waiting, here = snap.Waiting, snap.Batch
	}
	if err = waiting.ReadNecks(c.Request.Context(), s.opt.Record, ""); err != nil {
		return err
	}
	p.Waits = show.Waiting(&waiting, here, "", s.opt.Now())
	if p.People, err = s.opt.Record.People(c.Request.Context()); err != nil {
		return err
	}
	return c.Show(status, "alarms", "Alarms", p)
}

// acknowledge notes who looked at an alarm and what was found.
func (s *server) acknowledge(c *site.Request) error {
	typed := acknowledgement{ID: c.Param("id"), By: c.By(), Note: strings.TrimSpace(c.PostForm("note"))}
	if err := s.opt.Record.AcknowledgeAlarm(c.Request.Context(), typed.By, typed.ID, typed.Note); err != nil {
		typed.Error = form.Sentence(err)
		return s.showAlarms(c, c.StatusOf(err), typed)
	}
	if err := s.opt.Bench.ReloadAlarms(c.Request.Context()); err != nil {
		return err
	}
	return c.To(c.Back())
}
