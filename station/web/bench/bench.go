// Package bench is the page at the bench: what is asked for, the neck as it is measured, the verdict and what to do, kept up to date
// by a live stream.
package bench

import (
	"context"
	"embed"
	"math"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/inspect"
	"sagitta/station/bench"
	"sagitta/station/web/site"
)

// Bench is the routine in progress as its page sees it. Every command's error is a sentence; it is also shown as the
// snapshot's notice.
type Bench interface {
	Snapshot() *bench.Snapshot
	Holds(ctx context.Context) error // what the context's command saw; every command asks it by itself
	Watch() (changed <-chan struct{}, stop func())
	OpenBatch(ctx context.Context, number string) error
	SetInspector(ctx context.Context, name string) error
	SetClimate(ctx context.Context, c inspect.Climate) error
	Entry(ctx context.Context, text, unit string) error // a serial number, or a value for the point asked for
	Leaf(ctx context.Context, rung int) error           // of those that the snapshot shows
	SetFeet(ctx context.Context, at bench.Feet) error   // of the beam asked for
	Take(ctx context.Context) error                     // the live reading, or confirm what is declared
	FootPress(ctx context.Context, long bool) error     // the foot switch that types a key
	SetHanded(ctx context.Context, handed string) error
	Undo(ctx context.Context) error
	Moved(ctx context.Context) error // the neck or the carriage
	MeasureWhole(ctx context.Context) error
	Skip(ctx context.Context) error
	Choose(ctx context.Context, key string) error
	Answer(ctx context.Context, use bool) error
	Park(ctx context.Context, reason string) error
	Abandon(ctx context.Context, reason string) error
	Again(ctx context.Context) error
	Decide(ctx context.Context, d inspect.Disposition, by, reason string) error
	RecordRework(ctx context.Context, a batch.ReworkAction) error
	TakeBackRework(ctx context.Context, id string) error
	Clear(ctx context.Context) error
	CheckGauge(ctx context.Context, gaugeID string) error
	CheckGauges(ctx context.Context) error // all that need it, one after another
	CancelCheck(ctx context.Context) error
	LeaveStudy(ctx context.Context) error
}

// Demo is the simulated inspector and the cables of the simulated gauges.
type Demo interface {
	Press(ctx context.Context) error       // the data key of the gauge asked for, on the point asked for
	MeasureNeck(ctx context.Context) error // what is left of the neck on the bench
	Unattended(ctx context.Context) error  // the batch's remaining necks
	Stop(ctx context.Context) error
	Pull(ctx context.Context, gaugeID string) error
	Plug(ctx context.Context, gaugeID string) error
}

// Record is what the page asks of the station's record; the bench keeps it.
type Record interface {
	Batches(ctx context.Context) ([]batch.BatchRow, error)
	People(ctx context.Context) ([]batch.Person, error)
	Notes(ctx context.Context, most int) ([]batch.ShiftNote, error)
}

// Options are what the page shows and acts on.
type Options struct {
	Bench  Bench
	Record Record
	Demo   Demo                       // nil outside the demo
	Typed  func(devices.Burst) string // a burst of keys goes to the gauge that typed it: its ID, "" when none did
	Now    func() time.Time
	Lead   func(context.Context) (string, error) // the page that leads where nothing can be measured yet, "" where something can; nil: none does
}

//go:embed templates
var files embed.FS

type server struct {
	opt     Options
	group   *site.Group
	windows windows
	turn    sync.Mutex // of the windows' live streams: one after another is made, so that hundreds of them never stand between a reading and the processor
	drawn   map[drawnAs]*drawn
	run     string // when it was started: it tells what it knows of commands from another run's
}

// Mount puts the bench page, its live stream and its commands on the site.
func Mount(k *site.Site, opt Options) error {
	g, err := k.Group("Bench", files, templateFuncs())
	if err != nil {
		return err
	}
	s := &server{opt: opt, group: g, drawn: map[drawnAs]*drawn{}, run: strconv.FormatInt(opt.Now().UnixNano(), 10), windows: windows{now: opt.Now, known: map[string]*window{}, wakes: map[chan struct{}]bool{}}}
	g.GET("/", s.benchPage)
	g.GET("/bench", func(c *site.Request) error { return c.To("/") })
	g.GET("/events", s.events)
	b := s.opt.Bench
	do := func(name string, f func(c *site.Request) error) {
		g.POST("/bench/"+name, func(c *site.Request) error {
			seen, err := seenOf(c)
			if err != nil {
				return err
			}
			bare := c.Request
			c.Request = bare.WithContext(bench.Saw(bare.Context(), seen))
			err = s.numbered(c, f)
			c.Request = bare
			return s.command(c, err)
		})
	}
	// simulated has the simulated inspector do something where the page still shows the bench as it is; what he does then is held to what
	// he sees himself. While he works alone the bench changes faster than anybody looks: then he himself refuses, or stops.
	simulated := func(name string, f func(ctx context.Context, c *site.Request) error) {
		do("demo/"+name, func(c *site.Request) error {
			if b.Snapshot().Working == "" {
				if err := b.Holds(c.Request.Context()); err != nil {
					return err
				}
			}
			return f(bench.Saw(c.Request.Context(), bench.Seen{}), c)
		})
	}
	for key, form := range map[string]string{"show-rework": "rework-form", "show-decide": "decide-form", "show-hand": "hand-form"} { // without scripts
		g.POST("/bench/"+key, func(c *site.Request) error { return c.To("/#" + form) })
	}
	do("batch", func(c *site.Request) error { return b.OpenBatch(c.Request.Context(), c.PostForm("number")) })
	do("inspector", func(c *site.Request) error {
		name, err := c.AtBench()
		if err != nil {
			return err
		}
		return b.SetInspector(c.Request.Context(), name)
	})
	do("climate", func(c *site.Request) error {
		climate, err := climateOf(c)
		if err != nil {
			return err
		}
		return b.SetClimate(c.Request.Context(), climate)
	})
	do("entry", func(c *site.Request) error {
		return b.Entry(c.Request.Context(), strings.TrimSpace(c.PostForm("text")), c.Unit().String())
	})
	do("leaf", func(c *site.Request) error {
		rung, err := strconv.Atoi(c.PostForm("rung"))
		if err != nil {
			return batch.Mendable.Errorf("the leaf %q is none of those on the page", c.PostForm("rung"))
		}
		return b.Leaf(c.Request.Context(), rung)
	})
	do("feet", func(c *site.Request) error {
		at, err := feetOf(c, b.Snapshot())
		if err != nil {
			return err
		}
		return b.SetFeet(c.Request.Context(), at)
	})
	do("take", func(c *site.Request) error { return b.Take(c.Request.Context()) })
	do("foot", func(c *site.Request) error { return b.FootPress(c.Request.Context(), c.PostForm("long") != "") })
	do("handed", func(c *site.Request) error { return b.SetHanded(c.Request.Context(), c.PostForm("handed")) })
	g.POST("/bench/typed", s.typed)
	do("undo", func(c *site.Request) error { return b.Undo(c.Request.Context()) })
	do("moved", func(c *site.Request) error { return b.Moved(c.Request.Context()) })
	do("whole", func(c *site.Request) error { return b.MeasureWhole(c.Request.Context()) })
	do("skip", func(c *site.Request) error { return b.Skip(c.Request.Context()) })
	do("choose", func(c *site.Request) error { return b.Choose(c.Request.Context(), c.PostForm("key")) })
	do("use", func(c *site.Request) error { return b.Answer(c.Request.Context(), true) })
	do("discard", func(c *site.Request) error { return b.Answer(c.Request.Context(), false) })
	do("park", func(c *site.Request) error { return b.Park(c.Request.Context(), c.PostForm("reason")) })
	do("abandon", func(c *site.Request) error { return b.Abandon(c.Request.Context(), c.PostForm("reason")) })
	do("again", func(c *site.Request) error { return b.Again(c.Request.Context()) })
	do("next", func(c *site.Request) error { return b.Clear(c.Request.Context()) })
	do("decide", func(c *site.Request) error {
		by, err := c.Decider()
		if err != nil {
			return err
		}
		return b.Decide(c.Request.Context(), inspect.Disposition(c.PostForm("disposition")), by, c.PostForm("reason"))
	})
	do("rework", func(c *site.Request) error {
		a, err := reworkOf(c)
		if err != nil {
			return err
		}
		return b.RecordRework(c.Request.Context(), a)
	})
	do("rework-back", func(c *site.Request) error { return b.TakeBackRework(c.Request.Context(), c.PostForm("id")) })
	do("check", func(c *site.Request) error { return b.CheckGauge(c.Request.Context(), c.PostForm("gauge")) })
	do("check-all", func(c *site.Request) error { return b.CheckGauges(c.Request.Context()) })
	do("cancel-check", func(c *site.Request) error { return b.CancelCheck(c.Request.Context()) })
	do("leave-study", func(c *site.Request) error { return b.LeaveStudy(c.Request.Context()) })
	if d := s.opt.Demo; d != nil {
		simulated("press", func(ctx context.Context, _ *site.Request) error { return d.Press(ctx) })
		simulated("neck", func(ctx context.Context, _ *site.Request) error { return d.MeasureNeck(ctx) })
		simulated("unattended", func(ctx context.Context, _ *site.Request) error { return d.Unattended(ctx) })
		simulated("stop", func(ctx context.Context, _ *site.Request) error { return d.Stop(ctx) })
		simulated("pull", func(ctx context.Context, c *site.Request) error { return d.Pull(ctx, c.PostForm("gauge")) })
		simulated("plug", func(ctx context.Context, c *site.Request) error { return d.Plug(ctx, c.PostForm("gauge")) })
	}
	return nil
}

// numbered carries a command out, and keeps what became of it where a window numbered it; other programs' commands have no number. A
// number that came before, as a line sends again what it was not heard to take, is answered as it was.
func (s *server) numbered(c *site.Request, f func(c *site.Request) error) error {
	window := c.PostForm("window")
	press, err := strconv.ParseUint(c.PostForm("press"), 10, 64)
	if window == "" || len(window) > longestName || err != nil {
		return f(c)
	}
	switch before, again := s.windows.came(window, press); {
	case !again:
	case !before.Done:
		return batch.Conflict.Errorf("this press is being carried out; the page shows it when it is done")
	case before.Refused != "":
		return batch.Conflict.Errorf("%s", before.Refused)
	default:
		return nil
	}
	err = f(c)
	s.windows.became(window, press, err)
	return err
}

// command answers a command: nothing more to say to the page's module, which hears of the change by the live stream; a
// plain form goes back to the bench. A refusal is a sentence.
func (s *server) command(c *site.Request, err error) error {
	switch {
	case err != nil:
		return err
	case c.FromModule():
		c.Status(http.StatusNoContent)
	default:
		return c.To("/")
	}
	return nil
}

// maySee says whether the bench is shown: to whoever is signed on, and on the station's own machine to whoever stands before it.
func maySee(c *site.Request) bool {
	return !c.SignsOn() || c.Session().Person.ID != "" || c.Here()
}

// benchPage shows the whole bench as it is now; its module keeps it so.
func (s *server) benchPage(c *site.Request) error {
	if s.opt.Lead != nil {
		switch path, err := s.opt.Lead(c.Request.Context()); {
		case err != nil:
			return err
		case path != "":
			return c.To(path)
		}
	}
	if !maySee(c) {
		return c.To(site.SignOnPath + "?to=/")
	}
	v, err := s.benchView(c.Request.Context(), s.opt.Bench.Snapshot(), c.Unit(), c.Session().Person.Name)
	if err != nil {
		return err
	}
	return c.Show(http.StatusOK, "bench", "Bench", v)
}

// numberField reads a number that may be left out.
func numberField(c *site.Request, name, label string) (*float64, error) {
	text := strings.TrimSpace(c.PostForm(name))
	if text == "" {
		return nil, nil
	}
	v, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return nil, batch.Mendable.Errorf("%s %q is not a number", label, text)
	}
	return &v, nil
}

// seenOf reads what the page showed that a command comes from: the inspection, the scene, and when the key was pressed by the station's
// clock, ms. Other programs' commands come without.
func seenOf(c *site.Request) (seen bench.Seen, err error) {
	seen.Inspection = c.PostForm("inspection")
	if text := c.PostForm("scene"); text != "" {
		if seen.Scene, err = strconv.ParseUint(text, 10, 64); err != nil {
			return seen, batch.Mendable.Errorf("the scene %q is none of the bench's", text)
		}
	}
	if text := c.PostForm("at"); text != "" {
		ms, err := strconv.ParseInt(text, 10, 64)
		if err != nil {
			return seen, batch.Mendable.Errorf("the time %q is not in milliseconds", text)
		}
		seen.At = time.UnixMilli(ms)
	}
	return seen, nil
}

func climateOf(c *site.Request) (climate inspect.Climate, err error) {
	if climate.TemperatureC, err = numberField(c, "temperature", "temperature"); err != nil {
		return climate, err
	}
	climate.HumidityPercent, err = numberField(c, "humidity", "humidity")
	return climate, err
}

// reworkOf reads the form of what was done. Turns come in sixteenths; the amount is in the page's unit.
func reworkOf(c *site.Request) (batch.ReworkAction, error) {
	a := batch.ReworkAction{What: c.PostForm("what"), Track: c.PostForm("track"), Note: strings.TrimSpace(c.PostForm("note"))}
	if a.What == inspect.StepRod {
		a.Direction = c.PostForm("direction")
		n, err := strconv.Atoi(c.PostForm("sixteenths"))
		if err != nil {
			return a, batch.Mendable.Errorf("truss rod: how far it was turned is missing; choose from 1/16 to 1/4 turn")
		}
		a.Turns = float64(n) / 16
	}
	amount, err := numberField(c, "amount", "amount")
	if err != nil {
		return a, err
	}
	if amount != nil {
		a.AmountMM = c.Unit().To(*amount)
	}
	for _, f := range []struct {
		name string
		to   *int
	}{{"string", &a.String}, {"fret", &a.Fret}} {
		if text := strings.TrimSpace(c.PostForm(f.name)); text != "" {
			if *f.to, err = strconv.Atoi(text); err != nil || *f.to < 0 {
				return a, batch.Mendable.Errorf("%s %q is not a whole number", f.name, text)
			}
		}
	}
	return a, nil
}
