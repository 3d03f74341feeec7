package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/schollz/progressbar/v3"
	"github.com/spf13/cobra"

	"sagitta/batch"
	"sagitta/batch/history"
	"sagitta/devices"
	"sagitta/devices/simulate"
	"sagitta/inspect"
)

// The people of the demo's invented shop.
const (
	demoInspector = "Wren Halloway"
	demoManager   = "Ilse Marchetti-Roe"
	demoRepairer  = "Tobias Fennimore"
)

func demoCommand() *cobra.Command {
	opt := appOptions{Name: "Quillmere bench 1", Demo: true, Retry: 50 * time.Millisecond}
	var unattended bool
	var seed uint64
	var past history.Options
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "The whole job with simulated gauges and an invented batch",
		Args:  exactly(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if opt.Dir == "" {
				dir, err := os.MkdirTemp("", "sagitta-demo-")
				if err != nil {
					return err
				}
				opt.Dir = dir
			}
			if past.Necks != 0 {
				past.Seed = seed
				return writeHistory(cmd, opt, past)
			}
			if unattended {
				opt.Listen = ""
			}
			d, err := openDemo(cmd.Context(), opt, seed)
			if err != nil {
				return err
			}
			defer func() { _ = d.close() }()
			if unattended {
				return d.unattended(cmd)
			}
			fmt.Fprintf(cmd.OutOrStdout(), "Quillmere's bench is at %s (simulated gauges; record and truth in %s). Ctrl-C ends it.\n", d.url(), opt.Dir)
			return d.serve(cmd.Context(), d.hand)
		},
	}
	cmd.Flags().StringVar(&opt.Dir, "out", "", "folder for the record and the results (default: a new temporary folder)")
	cmd.Flags().StringVar(&opt.Listen, "listen", defaultListen, "address of the pages, host:port")
	cmd.Flags().BoolVar(&unattended, "unattended", false, "inspect every batch without a browser and write the workbooks")
	cmd.Flags().IntVar(&past.Necks, "history", 0, "write a record of so many invented necks over two years into --out, and end; verdicts and characteristics, no readings")
	cmd.Flags().IntVar(&past.Batch, "batch-size", 0, "necks of each batch of the history (0: 300 to 2500)")
	cmd.Flags().Uint64Var(&seed, "seed", 1, "seed of the simulated gauges' noise and of the history")
	return cmd
}

// demoStation is a station whose gauges and necks are simulated.
type demoStation struct {
	*app
	sim  *simulate.Bench
	hand *hand
	dir  string

	scenarios []*simulate.Scenario
}

// openDemo opens the station, starts the simulated gauges, fills the record on its first start and checks the gauges as
// an inspector would before a shift.
func openDemo(ctx context.Context, opt appOptions, seed uint64) (_ *demoStation, err error) {
	d := &demoStation{dir: opt.Dir}
	defer func() {
		if err != nil {
			_ = d.close()
		}
	}()
	if err := os.MkdirAll(opt.Dir, 0o750); err != nil {
		return nil, fmt.Errorf("the folder %s cannot be made: %w", opt.Dir, err)
	}
	if d.scenarios, err = demoScenarios(); err != nil {
		return nil, err
	}
	opt.Reworked = d.obey
	if d.app, err = openApp(ctx, opt); err != nil { // before the gauges: another demo may run in this folder
		return nil, err
	}
	lines := filepath.Join(opt.Dir, simulatedLines)
	if err := os.MkdirAll(lines, 0o750); err != nil {
		return nil, err
	}
	if d.sim, err = simulate.New(simulate.Options{Dir: lines, Seed: seed, Scenarios: d.scenarios}); err != nil {
		return nil, err
	}
	if err := d.furnish(ctx); err != nil {
		return nil, err
	}
	if err := d.writeTruth(); err != nil {
		return nil, err
	}
	if err := d.watchGauges(ctx); err != nil {
		return nil, err
	}
	d.hand = &hand{bench: d.bench, sim: d.sim, necks: map[string][]string{}}
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
func (d *demoStation) waitForGauges(ctx context.Context) error {
	changed, stop := d.bench.Watch()
	defer stop()
	ctx, cancel := context.WithTimeout(ctx, answerIn)
	defer cancel()
	for {
		closed := ""
		for _, g := range d.bench.Snapshot().Gauges {
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
func (d *demoStation) signOn(ctx context.Context, number string) error {
	if d.bench.Snapshot().Inspector == "" {
		if err := d.bench.SetInspector(ctx, demoInspector); err != nil {
			return err
		}
	}
	temperature, humidity := 21.0, 47.0
	if err := d.bench.SetClimate(ctx, inspect.Climate{TemperatureC: &temperature, HumidityPercent: &humidity}); err != nil {
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
	if d.bench.Snapshot().Batch == nil {
		return d.bench.OpenBatch(ctx, number)
	}
	return nil
}

// close ends the simulated inspector's work, the station, then the simulated gauges.
func (d *demoStation) close() error {
	var errs []error
	if d.hand != nil {
		d.hand.end()
	}
	if d.app != nil {
		errs = append(errs, d.app.close())
	}
	if d.sim != nil {
		errs = append(errs, d.sim.Close())
	}
	return errors.Join(errs...)
}

// unattended inspects every batch, writes the workbooks and prints a summary.
func (d *demoStation) unattended(cmd *cobra.Command) error {
	ctx, out := cmd.Context(), cmd.OutOrStdout()
	for _, sc := range d.scenarios {
		if err := d.bench.OpenBatch(ctx, sc.Batch); err != nil {
			return err
		}
		bar := progressbar.NewOptions(sc.Necks, progressbar.OptionSetWriter(cmd.ErrOrStderr()),
			progressbar.OptionSetDescription(sc.Batch), progressbar.OptionShowCount(), progressbar.OptionSetWidth(30),
			progressbar.OptionOnCompletion(func() { fmt.Fprintln(cmd.ErrOrStderr()) }))
		if err := d.hand.inspectBatch(ctx, sc.Batch, func(done, _ int) { _ = bar.Set(done) }); err != nil {
			return err
		}
		path := filepath.Join(d.dir, sc.Batch+".xlsx")
		if err := writeWorkbook(cmd, d.record, d.name, sc.Batch, path, "mm"); err != nil {
			return err
		}
		if err := d.summary(ctx, cmd, sc.Batch); err != nil {
			return err
		}
		fmt.Fprintf(out, "  workbook %s\n", path)
	}
	fmt.Fprintf(out, "record %s\ntruth  %s\n", filepath.Join(d.dir, "record.db"), filepath.Join(d.dir, "truth.txt"))
	return nil
}

// summary prints a batch's counts.
func (d *demoStation) summary(ctx context.Context, cmd *cobra.Command, number string) error {
	b, err := d.record.Batch(ctx, number)
	if err != nil {
		return err
	}
	c, err := d.record.Counts(ctx, b.ID)
	if err != nil {
		return err
	}
	out := cmd.OutOrStdout()
	through := c.Passed + c.Concession
	lo, hi := batch.Wilson(c.FirstPass, c.Inspected, 0.95)
	fmt.Fprintf(out, "%s, %s revision %s: %d of %d necks may ship after %d inspections\n", b.Number, b.Spec.Name, b.Spec.Revision, through, c.Registered, c.Inspections)
	fmt.Fprintf(out, "  first-pass yield %d of %d = %.0f %% (95 %% interval %.0f to %.0f %%)\n", c.FirstPass, c.Inspected, 100*float64(c.FirstPass)/float64(max(c.Inspected, 1)), 100*lo, 100*hi)
	for _, r := range c.Reasons {
		fmt.Fprintf(out, "  %d failed first on %s\n", r.Necks, r.Name)
	}
	return nil
}
