package command

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/tell"
	"sagitta/export"
	"sagitta/inspect/unit"
	"sagitta/station/app"
)

func reportCommand() *cobra.Command {
	var opt app.Options
	var out, lengths string
	cmd := &cobra.Command{
		Use:   "report BATCH",
		Short: "Write the batch's workbook",
		Args:  exactly("BATCH"),
		Example: `  sagitta report QM-2611
  sagitta report QM-2611 --data shop -o /srv/reports/QM-2611.xlsx --unit in`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if out == "" {
				out = args[0] + ".xlsx"
			}
			answer := ""
			err := withRecord(opt, func(db *record.DB) error {
				b, err := knownBatch(cmd.Context(), db, args[0], opt.Dir)
				if err != nil {
					return err
				}
				c, err := db.Counts(cmd.Context(), b.ID)
				if err != nil {
					return err
				}
				f, err := batch.FirstsOf(cmd.Context(), db, b.ID)
				if err != nil {
					return err
				}
				if answer = tell.Batch(c); f.All.InDoubt > 0 {
					answer += "\n" + tell.InStatistics(f.All.InDoubt, f.All.Inspected, false)
				}
				return export.WorkbookFile(cmd.Context(), out, db, args[0], export.Options{Unit: lengths, Location: time.Local, Now: time.Now(), Station: opt.Name})
			})
			if err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%s\n%s\n", answer, out)
			return nil
		},
	}
	recordFlags(cmd, &opt)
	cmd.Flags().StringVarP(&out, "out", "o", "", "file to write (default BATCH.xlsx)")
	choiceFlag(cmd, &lengths, "unit", unit.Millimetre.String(), "unit of lengths", unit.Millimetre.String(), unit.Inch.String())
	cmd.ValidArgsFunction = first(batchNumbers(&opt))
	return cmd
}

// knownBatch is the batch of a number; the error says which batches the record has when it has none of it.
func knownBatch(ctx context.Context, db *record.DB, number, dir string) (batch.Batch, error) {
	b, err := db.Batch(ctx, number)
	if !errors.Is(err, record.ErrUnknown) {
		return b, err
	}
	visits, err := db.Visits(ctx, number)
	if err != nil {
		return b, err
	}
	if n := len(visits); n > 0 {
		return b, fmt.Errorf("%s is a serial number, not a batch: give the name of what it was measured in, which was %q last; sagitta sheet %s writes its sheet, sagitta instrument %s tells its life",
			number, visits[n-1].Batch.Number, number, number)
	}
	rows, err := db.Batches(ctx)
	if err != nil {
		return b, err
	}
	if len(rows) == 0 {
		return b, fmt.Errorf("batch %q is not in the record %s; it has no batch yet", number, dir)
	}
	numbers := make([]string, 0, batchesNamed+1)
	for _, r := range rows[:min(len(rows), batchesNamed)] {
		numbers = append(numbers, r.Number)
	}
	if more := len(rows) - batchesNamed; more > 0 {
		numbers = append(numbers, fmt.Sprintf("and %d more", more))
	}
	return b, fmt.Errorf("batch %q is not in the record %s; it has %s", number, dir, strings.Join(numbers, ", "))
}

// batchesNamed is how many batches, the newest, an error names at most.
const batchesNamed = 20
