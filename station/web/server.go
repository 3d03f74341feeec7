// Package web serves the station's pages: server-rendered HTML with small ES modules, live parts by server-sent events,
// every asset embedded. Here the groups of pages are put together.
package web

import (
	"context"
	"crypto/x509"
	"errors"
	"fmt"
	"net/http"
	"time"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/station/signon"
	"sagitta/station/web/about"
	"sagitta/station/web/alarms"
	"sagitta/station/web/batches"
	benchpage "sagitta/station/web/bench"
	"sagitta/station/web/gauges"
	"sagitta/station/web/help"
	"sagitta/station/web/instruments"
	"sagitta/station/web/necks"
	"sagitta/station/web/outgoing"
	"sagitta/station/web/people"
	"sagitta/station/web/share"
	"sagitta/station/web/shift"
	"sagitta/station/web/show"
	signonpages "sagitta/station/web/signon"
	"sagitta/station/web/site"
	"sagitta/station/web/specs"
	"sagitta/station/web/start"
	"sagitta/station/web/studies"
	"sagitta/station/web/trail"
	"sagitta/station/web/trend"
)

// Record is what the pages ask of the station's record.
type Record interface {
	alarms.Record
	batches.Record
	benchpage.Record
	gauges.Record
	instruments.Record
	necks.Record
	outgoing.Record
	people.Record
	shift.Record
	specs.Record
	start.Record
	studies.Record
	trail.Record
	trend.Record
	House(ctx context.Context) (batch.House, error)
}

// Bench is the routine in progress, as the pages see it and act on it.
type Bench interface {
	alarms.Bench
	benchpage.Bench
	gauges.Bench
	instruments.Bench
	necks.Bench
	outgoing.Bench
	shift.Bench
	signonpages.Bench
	start.Bench
	studies.Bench
}

// Demo is the simulated inspector and the cables of the simulated gauges.
type Demo = benchpage.Demo

// Options are what the pages show and act on.
type Options struct {
	Bench         Bench // needed: every page says how it stands
	Record        Record
	SignOn        *signon.Service                                // nil: nobody ever signs on
	Demo          Demo                                           // nil outside the demo
	Ports         func() ([]devices.PortInfo, error)             // that can be seen now; nil: none
	Lines         gauges.Lines                                   // nil: ports cannot be listened to
	Folder        string                                         // of the record, in which the sheet's template lies
	DecoderDir    string                                         // of decoders that are made of what gauges send
	GaugesChanged func(ctx context.Context) error                // told when a gauge's entry was added, changed or retired
	GaugeFits     func(ctx context.Context, g batch.Gauge) error // whether the station could open all lines with this entry; nil: not asked
	Typed         func(devices.Burst) string                     // a burst of keys goes to the gauge that typed it: its ID, "" when none did
	Shifts        []time.Duration                                // after midnight, when shifts begin
	Care          trail.Care                                     // of the record; nil: nothing cares for it
	Station       string
	Version       string                   // of the program, one line
	Address       string                   // scheme and host by which other machines reach the pages; "": none does
	Hosts         []string                 // names by which the pages are reached, beside the machine's own
	Certificate   func() *x509.Certificate // by which browsers know the station; nil, or nil of it: none
	Now           func() time.Time         // time.Now unless given
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
	if opt.Bench == nil {
		return nil, errors.New("the pages need a bench, whose state they show")
	}
	if opt.Now == nil {
		opt.Now = time.Now
	}
	kernel := site.Options{Station: opt.Station, People: opt.Record.People, SignOn: opt.SignOn, House: opt.Record.House, Rights: rights, Demo: opt.Demo != nil, Hosts: opt.Hosts, Now: opt.Now, Snapshot: opt.Bench.Snapshot}
	k, err := site.New(kernel)
	if err != nil {
		return nil, err
	}
	changed := gaugesChanged(opt.GaugesChanged)
	lead := func(ctx context.Context) (string, error) {
		leads, err := start.Leads(ctx, opt.Record, opt.Bench.Snapshot())
		return show.Pick(leads && opt.Demo == nil, start.Path, ""), err
	}
	return k, errors.Join(
		about.Mount(k, about.Options{Version: opt.Version, Station: opt.Station, Certificate: opt.Certificate}),
		alarms.Mount(k, alarms.Options{Record: opt.Record, Bench: opt.Bench, Now: opt.Now}),
		batches.Mount(k, batches.Options{Record: opt.Record, Bench: opt.Bench, Station: opt.Station, Now: opt.Now}),
		benchpage.Mount(k, benchpage.Options{Bench: opt.Bench, Record: opt.Record, Demo: opt.Demo, Typed: opt.Typed, Now: opt.Now, Lead: lead}),
		gauges.Mount(k, gauges.Options{Record: opt.Record, Bench: opt.Bench, Ports: opt.Ports, Lines: opt.Lines, DecoderDir: opt.DecoderDir, GaugesChanged: changed, GaugeFits: opt.GaugeFits, Now: opt.Now}),
		help.Mount(k),
		instruments.Mount(k, instruments.Options{Record: opt.Record, Bench: opt.Bench, Folder: opt.Folder, GaugesChanged: changed, Now: opt.Now}),
		necks.Mount(k, necks.Options{Record: opt.Record, Bench: opt.Bench, Folder: opt.Folder, Now: opt.Now}),
		outgoing.Mount(k, outgoing.Options{Record: opt.Record, Bench: opt.Bench}),
		peoplePage(k, opt),
		share.Mount(k, share.Options{SignOn: opt.SignOn, Address: opt.Address, Shifts: opt.Shifts, Now: opt.Now}),
		shift.Mount(k, shift.Options{Record: opt.Record, Bench: opt.Bench, Now: opt.Now}),
		signOnPages(k, opt),
		specs.Mount(k, specs.Options{Record: opt.Record, Now: opt.Now}),
		start.Mount(k, start.Options{Record: opt.Record, Bench: opt.Bench, Ports: opt.Ports, GaugesChanged: changed, Now: opt.Now}),
		trail.Mount(k, trail.Options{Record: opt.Record, Care: opt.Care, Station: opt.Station, Now: opt.Now}),
		studies.Mount(k, studies.Options{Record: opt.Record, Bench: opt.Bench, GaugesChanged: changed}),
		trend.Mount(k, trend.Options{Record: opt.Record, Shifts: opt.Shifts, Now: opt.Now}),
	)
}

// peoplePage is that of people, who have one-time codes where anybody ever signs on.
func peoplePage(k *site.Site, opt Options) error {
	of := people.Options{Record: opt.Record, Bench: opt.Bench}
	if opt.SignOn != nil {
		of.Codes = opt.SignOn
	}
	return people.Mount(k, of)
}

// signOnPages are those of signing on, where anybody ever does.
func signOnPages(k *site.Site, opt Options) error {
	if opt.SignOn == nil {
		return nil
	}
	return signonpages.Mount(k, signonpages.Options{SignOn: opt.SignOn, Bench: opt.Bench})
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
