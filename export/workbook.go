// Package export writes what leaves the shop: a batch's workbook for spreadsheet programs (Office Open XML,
// ISO/IEC 29500-1), written as it is read from the record, so that its size does not set the memory needed.
package export

import (
	"archive/zip"
	"compress/flate"
	"context"
	"fmt"
	"io"
	"iter"
	"time"

	"sagitta/batch"
	"sagitta/batch/anchor"
	"sagitta/batch/tell"

	"github.com/xuri/excelize/v2"
)

// Source is what a report reads. The rows come one by one, necks and readings in the same order of necks, the readings
// of one inspection together.
type Source interface {
	Batch(ctx context.Context, number string) (batch.Batch, error)
	Counts(ctx context.Context, batchID string) (batch.Counts, error)
	EachNeck(ctx context.Context, batchID string) iter.Seq2[batch.NeckReport, error]
	EachReading(ctx context.Context, batchID string) iter.Seq2[batch.ReadingReport, error]
	EachRework(ctx context.Context, batchID string) iter.Seq2[batch.ReworkReport, error]
	BatchGauges(ctx context.Context, batchID string) ([]batch.GaugeReport, error)
	OutgoingAudits(ctx context.Context, batchID string) ([]batch.OutgoingAudit, error) // newest first, without their samples
	OutgoingAudit(ctx context.Context, id string) (batch.OutgoingAudit, error)
	Signatures(ctx context.Context, about string) ([]batch.Signature, error)
	NewestCheckpoint(ctx context.Context) (*anchor.Checkpoint, error)
	batch.Breaker
}

// Options say how a report is written.
type Options struct {
	Unit     string                // "mm" or "in"; empty is mm. Angles stay degrees and pitch stays cents.
	Location *time.Location        // of the times shown; nil is the computer's own
	Now      time.Time             // when the report is made, and what decides whether a certificate is overdue; zero is now
	Station  string                // who makes the report, on the Summary
	Words    tell.Words            // of the house, in the sentences of the record's trail
	Progress func(done, total int) // may be nil; called after each neck's rows, at most total times

	rowLimit int // rows of one sheet, the header counted; 0 is the format's own limit
}

// Workbook writes the workbook of the batch with the given number to w. Its sheets are Summary, Necks, Readings (continued
// on Readings 2 and so on where the format's 1,048,576 rows are not enough), Rework, Gauges, Audits
// where the batch had an outgoing audit, and First relief.
//
// Rows are streamed through temporary files of the system's temporary folder, which are removed before Workbook returns,
// and the archive goes straight to w. Errors are those of the source and of w, with the sheet they hit, or the context's.
// What has been written to w by then is not a workbook: see WriteFile.
func Workbook(ctx context.Context, w io.Writer, src Source, number string, opt Options) error {
	b, err := newBook(ctx, src, number, opt)
	if err != nil {
		return fmt.Errorf("workbook of batch %s: %w", number, err)
	}
	defer b.file.Close() // removes the temporary files
	if err := b.write(); err != nil {
		return fmt.Errorf("workbook of batch %s: %w", number, temporary(err))
	}
	b.file.SetZipWriter(func(io.Writer) excelize.ZipWriter {
		// The library's own buffer is passed over: the archive goes to w as it is made.
		z := zip.NewWriter(contextWriter{ctx, w})
		z.RegisterCompressor(zip.Deflate, func(out io.Writer) (io.WriteCloser, error) {
			return flate.NewWriter(out, flate.BestSpeed)
		})
		return z
	})
	if err := b.file.Write(w); err != nil {
		return fmt.Errorf("workbook of batch %s: %w", number, temporary(err))
	}
	return nil
}

// WorkbookFile writes the report of one batch to a file, whole or not at all; see WriteFile.
func WorkbookFile(ctx context.Context, path string, src Source, number string, opt Options) error {
	return WriteFile(path, func(w io.Writer) error { return Workbook(ctx, w, src, number, opt) })
}

// book is a workbook in the making.
type book struct {
	ctx      context.Context
	src      Source
	opt      Options
	unit     lengths
	file     *excelize.File
	styles   styles
	batch    batch.Batch
	counts   batch.Counts
	first    batch.Firsts // of all inspections and of those not in doubt
	gauges   []batch.GaugeReport
	decimals int                // of a characteristic in the unit chosen
	picture  []byte             // the house sign, PNG
	anchor   *anchor.Checkpoint // the record's newest; nil where none is signed

	tracks   []reliefTrack         // relief columns, for the run chart
	stations []string              // that inspected, in the order in which the necks first name them
	firsts   []firstRelief         // first relief of each neck
	reliefs  map[string][]*float64 // mean relief of each attempt, mm, by serial number of the necks inspected again
	done     int                   // necks reported to Progress
}

// newBook reads what the whole workbook needs and opens it.
func newBook(ctx context.Context, src Source, number string, opt Options) (*book, error) {
	u, err := newUnit(opt.Unit)
	if err != nil {
		return nil, err
	}
	if opt.Location == nil {
		opt.Location = time.Local
	}
	if opt.Now.IsZero() {
		opt.Now = time.Now()
	}
	if opt.rowLimit == 0 {
		opt.rowLimit = excelize.TotalRows
	}
	b := &book{ctx: ctx, src: src, opt: opt, unit: u, reliefs: map[string][]*float64{}}
	if b.batch, err = src.Batch(ctx, number); err != nil {
		return nil, err
	}
	if b.batch.Spec.Spec == nil {
		return nil, fmt.Errorf("specification %s revision %s: the record holds its name without its content; open the batch again with a specification file",
			b.batch.Spec.Name, b.batch.Spec.Revision)
	}
	if b.counts, err = src.Counts(ctx, b.batch.ID); err != nil {
		return nil, err
	}
	if b.first, err = batch.FirstsOf(ctx, src, b.batch.ID); err != nil {
		return nil, err
	}
	if b.gauges, err = src.BatchGauges(ctx, b.batch.ID); err != nil {
		return nil, err
	}
	if b.anchor, err = src.NewestCheckpoint(ctx); err != nil {
		return nil, err
	}
	if b.picture, err = signPicture(); err != nil {
		return nil, err
	}
	b.decimals = u.decimals(b.resolution())
	b.file = excelize.NewFile()
	b.styles = styles{file: b.file, known: map[look]int{}}
	return b, nil
}

// resolution is the finest of the batch's gauges, the specification's where none is known, mm.
func (b *book) resolution() float64 {
	finest := 0.0
	for _, g := range b.gauges {
		if r := g.ResolutionMM; r > 0 && (finest == 0 || r < finest) {
			finest = r
		}
	}
	if finest == 0 {
		finest = b.batch.Spec.Spec.Uncertainty.ResolutionMM
	}
	return finest
}

// write makes the sheets in the order they are shown. Summary comes first in the file and is filled last, because it
// draws on what the rows held.
func (b *book) write() error {
	if err := b.file.SetSheetName("Sheet1", "Summary"); err != nil {
		return err
	}
	for _, sheet := range []struct {
		name  string
		write func() error
	}{
		{"Necks", b.writeNecks},
		{"Readings", b.writeReadings},
		{"Rework", b.writeRework},
		{"Gauges", b.writeGauges},
		{"Audits", b.writeAudits},
		{"First relief", b.writeFirstRelief},
		{"Summary", b.writeSummary},
	} {
		if err := b.ctx.Err(); err != nil {
			return fmt.Errorf("stopped before sheet %s: %w", sheet.name, err)
		}
		if err := sheet.write(); err != nil {
			return fmt.Errorf("sheet %s: %w", sheet.name, err)
		}
	}
	if total := 2 * b.counts.Registered; b.opt.Progress != nil && b.done < total {
		b.opt.Progress(total, total) // necks without readings have no rows to report
	}
	made := b.opt.Now.UTC().Format(time.RFC3339)
	about := excelize.DocProperties{Title: "Batch " + b.batch.Number, Creator: b.opt.Station, Created: made, Modified: made}
	if b.anchor != nil {
		about.Description = b.anchor.Note
	}
	return b.file.SetDocProps(&about)
}

// progress reports one more neck's rows.
func (b *book) progress() {
	if total := 2 * b.counts.Registered; b.opt.Progress != nil && b.done < total {
		b.done++
		b.opt.Progress(b.done, total)
	}
}

// contextWriter writes until its context ends.
type contextWriter struct {
	ctx context.Context
	w   io.Writer
}

// Write passes p on, or gives the context's error.
func (c contextWriter) Write(p []byte) (int, error) {
	if err := c.ctx.Err(); err != nil {
		return 0, err
	}
	return c.w.Write(p)
}
