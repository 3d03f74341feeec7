package demo

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/tell"
	"sagitta/export"
	"sagitta/inspect"
)

// Unattended inspects every batch, writes the workbooks, prints a summary to out, and its progress to errs where that is a terminal.
func (d *Station) Unattended(ctx context.Context, out, errs io.Writer) error {
	if err := d.takeBench(ctx); err != nil {
		return err
	}
	for _, sc := range d.scenarios {
		if err := d.Bench.OpenBatch(ctx, sc.Batch); err != nil {
			return err
		}
		bar := progress(errs, sc.Necks, sc.Batch)
		if err := d.hand.inspectBatch(ctx, sc.Batch, func(done, _ int) { _ = bar.Set(done) }); err != nil {
			return err
		}
		path := filepath.Join(d.dir, sc.Batch+".xlsx")
		if err := export.WorkbookFile(ctx, path, d.Record, sc.Batch, export.Options{Unit: "mm", Location: time.Local, Now: time.Now(), Station: d.Name}); err != nil {
			return err
		}
		fmt.Fprintf(out, "workbook %s\n", path)
		if err := Summary(ctx, out, d.Record, sc.Batch); err != nil {
			return err
		}
	}
	fmt.Fprintf(out, "record %s\ntruth  %s\n", filepath.Join(d.dir, "record.db"), filepath.Join(d.dir, "truth.txt"))
	return nil
}

// Summary prints a batch's counts, and in its last line how the batch stands.
func Summary(ctx context.Context, out io.Writer, rec *record.DB, number string) error {
	b, err := rec.Batch(ctx, number)
	if err != nil {
		return err
	}
	c, err := rec.Counts(ctx, b.ID)
	if err != nil {
		return err
	}
	lo, hi := batch.Wilson(c.FirstPass, c.Inspected, 0.95)
	fmt.Fprintf(out, "%s, %s revision %s, %s\n", b.Number, b.Spec.Name, b.Spec.Revision, tell.Count(c.Inspections, "inspection"))
	fmt.Fprintf(out, "  first-pass yield %d of %d = %.0f %% (95 %% interval %.0f to %.0f %%)\n", c.FirstPass, c.Inspected, 100*float64(c.FirstPass)/float64(max(c.Inspected, 1)), 100*lo, 100*hi)
	for _, r := range tell.Commonest(c.Reasons) {
		fmt.Fprintf(out, "  %d failed first on %s\n", r.Necks, inspect.Name(r.Name))
	}
	fmt.Fprintf(out, "  %s\n", tell.Batch(c))
	return nil
}
