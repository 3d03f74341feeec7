// Package demo is the whole job with simulated gauges and invented necks: the scenario, the record furnished for it, the
// simulated inspector, and the invented history of a shop.
package demo

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"sagitta/devices"
	"sagitta/devices/simulate"
	"sagitta/inspect"
	"sagitta/station/app"
	"sagitta/testdata/demo"
)

// The people of the demo's invented shop.
const (
	inspector = "Wren Halloway"
	second    = "Ossian Reed" // shares the bench with her, where people sign on
	manager   = "Ilse Marchetti-Roe"
	repairer  = "Tobias Fennimore"
)

// Station is a station whose gauges and necks are simulated.
type Station struct {
	*app.App
	sim  *simulate.Bench
	hand *hand
	dir  string

	signers []signer // where people sign on

	files     fs.FS // specifications and scenarios
	scenarios []*simulate.Scenario
}

// Open opens the station, starts the simulated gauges, fills the record on its first start and checks the gauges as
// an inspector would before a shift.
func Open(ctx context.Context, opt app.Options, seed uint64) (*Station, error) {
	return open(ctx, opt, seed, demo.Files)
}

// open is Open with the specifications and scenarios of a folder like the demo's.
func open(ctx context.Context, opt app.Options, seed uint64, files fs.FS) (_ *Station, err error) {
	d := &Station{dir: opt.Dir, files: files}
	defer func() {
		if err != nil {
			_ = d.Close()
		}
	}()
	if err := os.MkdirAll(opt.Dir, 0o750); err != nil {
		return nil, fmt.Errorf("the folder %s cannot be made: %w", opt.Dir, err)
	}
	if d.scenarios, err = scenariosOf(files); err != nil {
		return nil, err
	}
	opt.Reworked = d.obey
	if d.App, err = app.Open(ctx, opt); err != nil { // before the gauges: another demo may run in this folder
		return nil, err
	}
	lines := filepath.Join(opt.Dir, app.SimulatedLines)
	if err := os.MkdirAll(lines, 0o750); err != nil {
		return nil, err
	}
	if d.sim, err = simulate.New(simulate.Options{Dir: lines, Seed: seed, Scenarios: d.scenarios, Layings: true}); err != nil {
		return nil, err
	}
	if err := d.furnish(ctx); err != nil {
		return nil, err
	}
	if err := d.writeTruth(); err != nil {
		return nil, err
	}
	if err := d.Watch(ctx); err != nil {
		return nil, err
	}
	d.hand = &hand{bench: d.Bench, sim: d.sim, necks: map[string][]string{}}
	for _, sc := range d.scenarios {
		d.hand.necks[sc.Batch] = sc.Serials()
	}
	if err := d.waitForGauges(ctx); err != nil {
		return nil, err
	}
	return d, d.signOn(ctx, d.scenarios[0].Batch)
}

// quietAfterOpening is how long a line is listened to before its next byte is known to begin a frame.
const quietAfterOpening = 250 * time.Millisecond

// waitForGauges waits until every simulated gauge's line is open.
func (d *Station) waitForGauges(ctx context.Context) error {
	changed, stop := d.Bench.Watch()
	defer stop()
	ctx, cancel := context.WithTimeout(ctx, answerIn)
	defer cancel()
	for {
		closed := ""
		for _, g := range d.Bench.Snapshot().Gauges {
			if g.State == string(devices.StateMissing) || time.Since(g.Since) < quietAfterOpening {
				closed = g.Name
			}
		}
		if closed == "" {
			return nil
		}
		select {
		case <-changed:
		case <-time.After(quietAfterOpening):
		case <-ctx.Done():
			return fmt.Errorf("the line of the simulated %s did not open", closed)
		}
	}
}

// signOn checks the gauges, signs the inspector on and opens the batch, unless an interrupted inspection goes on.
func (d *Station) signOn(ctx context.Context, number string) error {
	if d.Bench.Snapshot().Inspector == "" {
		if err := d.Bench.SetInspector(ctx, inspector); err != nil {
			return err
		}
	}
	temperature, humidity := 21.0, 47.0
	if err := d.Bench.SetClimate(ctx, inspect.Climate{TemperatureC: &temperature, HumidityPercent: &humidity}); err != nil {
		return err
	}
	for _, g := range d.sim.Gauges() {
		if g.ID == simulate.PlaceID { // every pass finds its place from the frets
			continue
		}
		if err := d.hand.check(ctx, g.ID); err != nil {
			return err
		}
	}
	if d.Bench.Snapshot().Batch == nil {
		return d.Bench.OpenBatch(ctx, number)
	}
	return nil
}

// Serve runs the pages until ctx ends.
func (d *Station) Serve(ctx context.Context) error { return d.App.Serve(ctx, d.hand) }

// Knock shifts the zero of a simulated gauge by mm, as a fall or a knock does, and tells nobody.
func (d *Station) Knock(gaugeID string, mm float64) error {
	g, err := d.sim.Gauge(gaugeID)
	if err == nil {
		g.Knock(mm)
	}
	return err
}

// Close ends the simulated inspector's work, the station, then the simulated gauges.
func (d *Station) Close() error {
	var errs []error
	if d.hand != nil {
		d.hand.end()
	}
	if d.App != nil {
		errs = append(errs, d.App.Close())
	}
	if d.sim != nil {
		errs = append(errs, d.sim.Close())
	}
	return errors.Join(errs...)
}
