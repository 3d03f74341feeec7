// Package app is the whole station: record, bench, gauges and pages. Commands and tests open it, run it and close it.
package app

import (
	"cmp"
	"context"
	"crypto/x509"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"filippo.io/age"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/inspect"
	"sagitta/station/alarm"
	"sagitta/station/anchors"
	"sagitta/station/bench"
	"sagitta/station/binding"
	"sagitta/station/copies"
	"sagitta/station/doctor"
	"sagitta/station/signon"
	"sagitta/station/web"
)

// App is an open station.
type App struct {
	Name   string // the station's
	Record *record.DB
	Bench  *bench.Bench
	SignOn *signon.Service

	shifts   []time.Duration // when shifts begin
	decoders string          // folder of the decoders that are made of what gauges send
	server   *http.Server
	listen   net.Listener
	reach    *reach

	keeper     *copies.Keeper
	signer     *anchors.Signer
	signing    sync.WaitGroup
	endSigning context.CancelFunc
	free       func(dir string) (int64, error)
	dir        string

	lines openLines
	light atomic.Int32  // a devices.Light: what lamps show
	retry time.Duration // first wait before a lost gauge is looked for again; 0: the default

	openPort devices.Opener // nil: the default
}

// Options say where the station keeps its record and where it listens.
type Options struct {
	Dir    string // folder of the record; made when missing
	Name   string // the station's name, beside every key in the record
	Listen string // host:port; empty: no pages
	Network
	Demo   bool
	Retry  time.Duration
	Shifts []time.Duration // after midnight, when gauges that are checked each shift are due; none: at midnight
	Copies copies.Plan     // when copies of the record are made, and where to
	For    []age.Recipient // who may read the daily copies; none: anybody
	// Key is the file of the key that checkpoints of the record are signed with, station.key in Dir unless given; Witness a folder to which they
	// are written too.
	Key, Witness string
	// OpenPort opens a gauge's, foot switch's or lamp's port; serial.Open unless given.
	OpenPort devices.Opener
	// Reworked is told of recorded rework; see bench.Options.
	Reworked func(serial string, done batch.ReworkAction, advice []inspect.Advice) error
}

// Open opens the record, resumes the bench and binds the port. Nothing runs yet: Watch opens the gauges' lines, Serve runs
// the pages, Close ends it all.
func Open(ctx context.Context, opt Options) (*App, error) {
	if err := os.MkdirAll(opt.Dir, 0o750); err != nil {
		return nil, fmt.Errorf("the folder %s for the record cannot be made: %w", opt.Dir, err)
	}
	db, err := record.Open(filepath.Join(opt.Dir, "record.db"), record.Options{Station: opt.Name})
	if err != nil {
		return nil, err
	}
	if err := dropLines(opt.Dir); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	a := &App{Name: opt.Name, Record: db, dir: opt.Dir, free: doctor.ThisMachine().Free, retry: opt.Retry, shifts: opt.Shifts, openPort: opt.OpenPort, decoders: filepath.Join(opt.Dir, "decoders")}
	a.signer = anchors.New(anchors.Options{Record: db, Dir: opt.Dir, Station: opt.Name, Key: opt.Key, Witness: opt.Witness})
	if err := a.signer.Start(ctx); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	a.keeper = &copies.Keeper{Record: db, Plan: opt.Copies, Making: copies.Making{Dir: opt.Dir, Station: opt.Name, Program: ThisVersion().String(), Recipients: opt.For, Now: time.Now, Sign: a.signer.Sign}}
	a.SignOn = signon.New(signon.Options{Record: db, Sessions: db.Sessions(), Shop: opt.Name})
	a.lines.health.show = func(h devices.Health) { a.Bench.Health(h) }
	a.Bench, err = bench.New(ctx, bench.Options{Record: db, Demo: opt.Demo, Reworked: opt.Reworked, Shifts: opt.Shifts, Ask: a.lines.ask})
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	if opt.Listen != "" {
		a.listen, err = net.Listen("tcp", opt.Listen)
		if err != nil {
			return nil, errors.Join(listenError(opt.Listen, err), db.Close())
		}
		if err := a.open(ctx, opt); err != nil {
			return nil, errors.Join(err, a.listen.Close(), db.Close())
		}
	}
	running, end := context.WithCancel(context.Background())
	a.endSigning = end
	a.signing.Go(func() { a.signer.Run(running) })
	return a, nil
}

// SimulatedLines is the folder, beside the record, of the symlinks to the demo's pseudo-terminals.
const SimulatedLines = "gauges"

// dropLines takes away the symlinks that a demo left which was killed: the terminals that they name may be another
// program's by now. The record is this program's alone, so no demo runs in its folder.
func dropLines(dir string) error {
	links, err := fs.Glob(os.DirFS(dir), SimulatedLines+"/*") // the folder's own name may hold a pattern's signs
	if err != nil {
		return err
	}
	for _, link := range links {
		link = filepath.Join(dir, link)
		if info, err := os.Lstat(link); err != nil || info.Mode()&os.ModeSymlink == 0 {
			continue
		}
		if err := os.Remove(link); err != nil && !errors.Is(err, os.ErrNotExist) {
			return fmt.Errorf("the link %s to a simulated gauge of an earlier demo cannot be removed; remove it by hand: %w", link, err)
		}
	}
	return nil
}

// listenError says what to do about an address that cannot be used.
func listenError(address string, err error) error {
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return fmt.Errorf("the address %s is in use by another program: end that one, or give another with --listen, e.g. --listen 127.0.0.1:0 for any free port", address)
	case errors.Is(err, syscall.EACCES):
		return fmt.Errorf("the address %s may not be used: ports below 1024 need special rights; give another with --listen", address)
	}
	return fmt.Errorf("the address %s cannot be used (expected host:port): %w", address, err)
}

// open decides how the pages are reached.
func (a *App) open(ctx context.Context, opt Options) (err error) {
	a.reach, err = reachOf(ctx, a.listen.Addr(), opt.Dir, opt.Network, a.Record.PeopleSignOn)
	return err
}

// URL is where the pages are.
func (a *App) URL() string { return a.reach.address + "/" }

// ReachedByOthers says whether other machines reach the pages at URL.
func (a *App) ReachedByOthers() bool { return a.reach.others }

// Certificate is what the pages show to browsers to prove which station it is, nil where they do not come by TLS of its own.
func (a *App) Certificate() *x509.Certificate {
	if a.reach.keeper == nil {
		return nil
	}
	return a.reach.keeper.Leaf()
}

// gaugeFits says why the lines of all gauges could not be opened with an entry in place of the one with its ID, or beside
// them: batch.Conflict.
func (a *App) gaugeFits(ctx context.Context, entry batch.Gauge) error {
	if entry.ByEye() {
		return nil
	}
	entries, err := a.Record.Gauges(ctx)
	if err != nil {
		return err
	}
	entries = append(slices.DeleteFunc(entries, func(g batch.Gauge) bool {
		return g.ID == entry.ID || !g.RetiredAt.IsZero() || g.ByEye()
	}), entry)
	var lines []devices.Gauge
	for _, g := range entries {
		line, err := gaugeLine(g)
		if err != nil {
			return batch.Conflict.Of(err)
		}
		for line.ID = g.Name; slices.ContainsFunc(lines, func(l devices.Gauge) bool { return l.ID == line.ID }); { // for people
			line.ID += "'"
		}
		lines = append(lines, line)
	}
	_, err = devices.New(lines, devices.Options{})
	return batch.Conflict.Of(err)
}

// gaugeLine makes the line of a gauge's entry.
func gaugeLine(g batch.Gauge) (devices.Gauge, error) {
	var d *decode.Decoder
	if !g.NoGauge() {
		var err error
		if d, err = findDecoder(g.Decoder); err != nil {
			return devices.Gauge{}, fmt.Errorf("gauge %s: %w", g.Name, err)
		}
	}
	line := devices.Gauge{
		ID: g.ID, Name: g.Name, Path: g.Path, Decoder: d, Channel: g.Channel, KeyChannel: g.KeyChannel, Capture: cmp.Or(g.Capture, devices.CaptureKey),
		FootSwitch: g.FootSwitch, ResolutionMM: g.ResolutionMM, Sense: g.Sense, Prefix: g.Prefix,
		Identity: binding.Identity(g),
		Socket:   g.USBSocket,
	}
	if g.Streams() {
		line.SilentAfter = 2 * time.Second
	}
	return line, nil
}

// findDecoder takes a built-in decoder's name or a decoder's own TOML.
func findDecoder(nameOrText string) (*decode.Decoder, error) {
	if d, err := decode.Find(nameOrText); err == nil {
		return d, nil
	} else if !isTOML(nameOrText) {
		return nil, err
	}
	return decode.Load("the gauge's decoder", []byte(nameOrText))
}

// isTOML tells a decoder's text from a name: a decoder has more than one line.
func isTOML(s string) bool {
	for _, c := range s {
		if c == '\n' {
			return true
		}
	}
	return false
}

// Serve runs the pages until ctx ends, then lets requests finish, for a few seconds at most.
func (a *App) Serve(ctx context.Context, demo web.Demo) error {
	watching, stop := context.WithCancel(ctx)
	var watch sync.WaitGroup
	defer func() { stop(); watch.Wait() }()
	handler, err := web.New(web.Options{
		Bench: a.Bench, Record: a.Record, SignOn: a.SignOn, Demo: demo, Ports: devices.ListPorts, Lines: freeLines{watching, &watch}, Folder: a.dir, DecoderDir: a.decoders,
		GaugesChanged: a.Watch, GaugeFits: a.gaugeFits, Typed: a.lines.typed, Shifts: a.shifts, Care: care{a}, Station: a.Name, Version: ThisVersion().String(),
		Address: a.reach.toOthers(), Hosts: a.reach.hosts, Certificate: a.Certificate,
	})
	if err != nil {
		return err
	}
	a.server = newServer(ctx, a.reach.handler(handler))
	watch.Go(func() { alarm.Watch(watching, a.Record, a.Bench) })
	watch.Go(func() { a.refresh(watching) })
	a.keeper.Start()
	watch.Go(func() { a.careFor(watching) })
	watch.Go(func() { a.keeper.Run(watching) })
	watch.Go(func() { a.keeper.RunVerify(watching) })
	watch.Go(func() { a.shine(watching) })
	failed := make(chan error, 1)
	go func() { failed <- a.reach.serve(a.server, a.listen) }()
	select {
	case err := <-failed:
		return fmt.Errorf("the pages stopped: %w", err)
	case <-ctx.Done():
	}
	end, cancel := context.WithTimeout(context.Background(), 3*time.Second)
	defer cancel()
	err = a.server.Shutdown(end)
	if errors.Is(err, context.DeadlineExceeded) {
		return a.server.Close() // a page that has stopped reading must not keep the station from ending
	}
	return err
}

// refreshEvery is how soon the pages show what time alone has changed.
const refreshEvery = 10 * time.Second

// refresh lets the bench look at the clock until ctx ends.
func (a *App) refresh(ctx context.Context) {
	every := time.NewTicker(refreshEvery)
	defer every.Stop()
	for {
		select {
		case <-every.C:
			a.Bench.Refresh()
		case <-ctx.Done():
			return
		}
	}
}

// Close ends the lines, notes since when no gauge is watched, signs what is not signed yet and closes the record.
func (a *App) Close() error {
	a.lines.close()
	if a.listen != nil {
		_ = a.listen.Close() // already closed where the pages ran
	}
	stopped := a.Record.Stopped(context.Background())
	a.endSigning()
	a.signing.Wait()
	_ = a.signer.Sign(context.Background()) // logged
	return errors.Join(stopped, a.Record.Close())
}
