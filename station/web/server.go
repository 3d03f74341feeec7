// Package web serves the station's pages: server-rendered HTML with small ES modules, live parts by server-sent events,
// every asset embedded. Here the groups of pages are put together.
package web

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"time"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/station/web/alarms"
	"sagitta/station/web/batches"
	benchpage "sagitta/station/web/bench"
	"sagitta/station/web/necks"
	"sagitta/station/web/outgoing"
	"sagitta/station/web/people"
	"sagitta/station/web/site"
	"sagitta/station/web/specs"
	"sagitta/station/web/studies"
	"sagitta/station/web/trend"
)

//go:embed templates
var files embed.FS

// Bench is the routine in progress, as the pages see it and act on it.
type Bench interface {
	benchpage.Bench
	alarms.Bench
	necks.Bench
	outgoing.Bench
	studies.Bench

	CheckGauge(ctx context.Context, gaugeID string) error
	ReportDrop(ctx context.Context, by, gaugeID string) error
}

// Demo is the simulated inspector and the cables of the simulated gauges.
type Demo = benchpage.Demo

// Options are what the pages show and act on.
type Options struct {
	Bench         Bench
	Record        Record
	Demo          Demo // nil outside the demo
	Ports         Ports
	Lines         Lines                                          // nil: ports cannot be listened to
	GaugesChanged func(ctx context.Context) error                // told when a gauge's entry was added, changed or retired
	GaugeFits     func(ctx context.Context, g batch.Gauge) error // whether the station could open all lines with this entry; nil: not asked
	Typed         func(devices.Burst) string                     // a burst of keys goes to the gauge that typed it: its ID, "" when none did
	Station       string
	Version       string           // of the program, one line
	Now           func() time.Time // time.Now unless given
}

type server struct {
	search search // of an unknown gauge's decoder
	opt    Options
}

// New parses every template, so that a mistake in one stops the program at its start, and returns the pages' handler.
func New(opt Options) (http.Handler, error) {
	k, err := compose(opt)
	if err != nil {
		return nil, err
	}
	return k.Handler(), nil
}

// compose puts the groups of pages together.
func compose(opt Options) (*site.Site, error) {
	if opt.Now == nil {
		opt.Now = time.Now
	}
	opt.GaugesChanged = gaugesChanged(opt.GaugesChanged)
	kernel := site.Options{People: opt.Record.People, Demo: opt.Demo != nil, Now: opt.Now}
	if opt.Bench != nil {
		kernel.Snapshot = opt.Bench.Snapshot
	}
	k, err := site.New(kernel)
	if err != nil {
		return nil, err
	}
	s := &server{opt: opt}
	for _, g := range []struct {
		place, templates string
		routes           func(*site.Group)
	}{
		{"Gauges", "gauges", s.gaugeRoutes},
	} {
		own, err := fs.Sub(files, "templates/"+g.templates)
		if err != nil {
			return nil, err
		}
		group, err := k.Group(g.place, own, pageFuncs())
		if err != nil {
			return nil, err
		}
		g.routes(group)
	}
	return k, errors.Join(
		alarms.Mount(k, alarms.Options{Record: opt.Record, Bench: opt.Bench}),
		benchpage.Mount(k, benchpage.Options{Bench: opt.Bench, Record: opt.Record, Demo: opt.Demo, Typed: opt.Typed, Now: opt.Now}),
		batches.Mount(k, batches.Options{Record: opt.Record, Bench: opt.Bench, Station: opt.Station, Now: opt.Now}),
		necks.Mount(k, necks.Options{Record: opt.Record, Bench: opt.Bench, Now: opt.Now}),
		outgoing.Mount(k, outgoing.Options{Record: opt.Record, Bench: opt.Bench}),
		people.Mount(k, people.Options{Record: opt.Record}),
		specs.Mount(k, specs.Options{Record: opt.Record, Now: opt.Now}),
		studies.Mount(k, studies.Options{Record: opt.Record, Bench: opt.Bench, GaugesChanged: opt.GaugesChanged}),
		trend.Mount(k, trend.Options{Record: opt.Record, Now: opt.Now}),
	)
}

// gaugesChanged tells the station of a gauge that was saved; without anybody to tell, nothing is to be done.
func gaugesChanged(tell func(context.Context) error) func(context.Context) error {
	return func(ctx context.Context) error {
		if tell == nil {
			return nil
		}
		if err := tell(ctx); err != nil {
			return fmt.Errorf("the gauge is saved, but its line could not be opened: %w", err)
		}
		return nil
	}
}
