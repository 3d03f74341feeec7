package demo

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/history"
	"sagitta/batch/history/visits"
	"sagitta/batch/record"
	"sagitta/batch/tell"
	"sagitta/station/app"
)

// fillingGC is by how much the heap may grow while a history is written, in per cent, before it is collected.
const fillingGC = 400

// WriteHistory makes a record of an invented shop in a folder that has none. The record appears under its name only when it
// is whole. What was written is said on out, the progress on errs.
func WriteHistory(ctx context.Context, opt app.Options, shop *history.Shop, out, errs io.Writer) (err error) {
	if err := os.MkdirAll(opt.Dir, 0o750); err != nil {
		return fmt.Errorf("the folder %s cannot be made: %w", opt.Dir, err)
	}
	path := filepath.Join(opt.Dir, "record.db")
	if _, err := os.Stat(path); err == nil {
		return fmt.Errorf("the folder %s has a record already; a history is written into a folder without one", opt.Dir)
	}
	part := path + ".part"
	if err := os.Remove(part); err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	clock := shop.Start
	db, err := record.Open(part, record.Options{Station: opt.Name, Filling: true, Now: func() time.Time { return clock }})
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			_ = os.Remove(part)
		}
	}()
	began := time.Now()
	defer debug.SetGCPercent(debug.SetGCPercent(fillingGC)) // what is made lives for a moment: to collect it seldom costs little memory
	instrument, err := visits.New(shop.End, shop.Seed())
	if err != nil {
		return errors.Join(err, db.Close())
	}
	err = fillHistory(ctx, db, shop, instrument, &clock, errs)
	if err := errors.Join(err, db.Close()); err != nil {
		return err
	}
	if err := settle(part, path); err != nil {
		return err
	}
	took := time.Since(began)
	necks := 0
	for _, b := range shop.Batches {
		necks += b.Necks
	}
	truth := strings.Join(slices.Concat([]string{"What was planted in this invented history:"}, shop.Truth(), instrument.Truth()), "\n") + "\n"
	if err := os.WriteFile(filepath.Join(opt.Dir, "history.txt"), []byte(truth), 0o640); err != nil {
		return err
	}
	fmt.Fprintf(out, "%s in %s, %s to %s, written in %.1f s (%.0f necks a second); verdicts and characteristics without readings.\n",
		tell.Count(necks, "invented neck"), tell.Counted(len(shop.Batches), "batch", "batches"), shop.Start.Format("2006-01-02"), shop.End.Format("2006-01-02"), took.Seconds(), float64(necks)/took.Seconds())
	fmt.Fprintf(out, "What was planted is in %s. Look at it with: sagitta serve --data %s\n", filepath.Join(opt.Dir, "history.txt"), opt.Dir)
	return nil
}

// settle puts a finished file on the disk and then under its name.
func settle(part, path string) error {
	f, err := os.OpenFile(part, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	if err := errors.Join(f.Sync(), f.Close(), os.Rename(part, path)); err != nil {
		return err
	}
	if err := os.Remove(part + ".lock"); err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	return nil
}

// fillHistory writes the invented shop into an empty record. clock is what the record takes for the present.
func fillHistory(ctx context.Context, db *record.DB, shop *history.Shop, instrument *visits.Instrument, clock *time.Time, errs io.Writer) error {
	specs, err := furnishHistory(ctx, db, shop, clock)
	if err != nil {
		return err
	}
	bar := progress(errs, len(shop.Batches), "batches")
	for _, planned := range shop.Batches {
		*clock = planned.Opened
		spec := specs[planned.SpecName+"\n"+planned.Revision]
		b, err := db.OpenBatch(ctx, history.Manager, batch.Batch{Number: planned.Number, Spec: spec, Planned: planned.Necks,
			Note: "Invented data: the history of an invented shop, without readings."}, nil)
		if err != nil {
			return err
		}
		imp := batch.Import{BatchID: b.ID, Origin: batch.Invented, Source: fmt.Sprintf("invented history %s", planned.Number)}
		if _, err := db.AppendStories(ctx, history.Manager, imp, shop.Stories(planned, spec.Spec)); err != nil {
			return err
		}
		if ends := planned.Closes; !ends.After(shop.End) {
			*clock = ends
			if err := db.CloseBatch(ctx, history.Manager, b.Number); err != nil {
				return err
			}
		}
		_ = bar.Add(1)
	}
	if err := instrument.Write(ctx, db, manager, clock); err != nil {
		return err
	}
	*clock = shop.End
	return nil
}

// furnishHistory enters people, gauges with their checks, and specifications, the newest first use of each at the start.
func furnishHistory(ctx context.Context, db *record.DB, shop *history.Shop, clock *time.Time) (map[string]batch.SpecRevision, error) {
	people := map[string]batch.Role{manager: batch.QualityManager, repairer: batch.Repairer}
	for _, name := range shop.Inspectors {
		people[name] = batch.Inspector
	}
	for name, role := range people {
		if _, err := db.AddPerson(ctx, manager, name, role); err != nil {
			return nil, err
		}
	}
	for _, g := range shop.Gauges {
		if _, err := db.SaveGauge(ctx, manager, g); err != nil {
			return nil, err
		}
	}
	specs := map[string]batch.SpecRevision{}
	for _, text := range shop.Specs {
		spec, err := db.AddSpec(ctx, manager, "", "history.toml", text)
		if err != nil {
			return nil, err
		}
		specs[spec.Name+"\n"+spec.Revision] = spec
	}
	gauges := map[string]*batch.Gauge{}
	for i := range shop.Gauges {
		gauges[shop.Gauges[i].ID] = &shop.Gauges[i]
	}
	for _, c := range shop.Checks() {
		*clock = c.At
		c.Why = tell.CheckFound(gauges[c.GaugeID], c, c.After == batch.CheckFirstUse)
		if _, err := db.AppendGaugeCheck(ctx, c); err != nil {
			return nil, err
		}
	}
	for _, g := range shop.Gauges { // their lines are not there any more: the demo's own are
		*clock = shop.End
		if err := db.RetireGauge(ctx, manager, g.ID); err != nil {
			return nil, err
		}
	}
	return specs, nil
}
