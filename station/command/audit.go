package command

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/tell"
	"sagitta/export"
	"sagitta/station/app"
)

func auditCommand() *cobra.Command {
	var opt app.Options
	var f batch.TrailFilter
	var matter, out string
	var asCSV, asJSON bool
	var from, to day
	cmd := &cobra.Command{
		Use:   "audit",
		Short: "Who did what to what, when and why: the record's trail, in sentences",
		Long: `Prints the entries of the record's trail, the newest first, each as a sentence. The options pick out: several of them only what all hold for. A neck's entries hold
also what put it in doubt, a batch's also those of its necks, a gauge's also its studies and alarms.

--out writes a file, whole or not at all, in the form of its ending: .txt, .csv, .json (an object a line) or .xlsx.`,
		Example: `  sagitta audit --data shop --limit 20
  sagitta audit --data shop --neck QM-2611-0001
  sagitta audit --data shop --batch QM-2611 --matter alarms
  sagitta audit --data shop --by "Mara Quill" --from 2026-11-01 --out november.xlsx`,
		Args: exactly(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if f.Matter, f.From, f.To = batch.Matter(matter), time.Time(from), time.Time(to); !f.To.IsZero() {
				f.To = f.To.AddDate(0, 0, 1) // to its end
			}
			form := export.TrailText
			switch {
			case out != "" && (asCSV || asJSON), asCSV && asJSON:
				return usageError{errors.New("--csv, --json and --out exclude each other: a file's form is that of its ending")}
			case out != "":
				form = export.TrailForm(strings.TrimPrefix(filepath.Ext(out), "."))
			case asCSV:
				form = export.TrailCSV
			case asJSON:
				form = export.TrailJSON
			}
			return withRecord(opt, func(db *record.DB) error {
				house, err := db.House(cmd.Context())
				if err != nil {
					return err
				}
				write := func(w io.Writer) error {
					return export.Trail(cmd.Context(), w, form, db.EachEntry(cmd.Context(), f), export.Options{Location: time.Local, Station: opt.Name, Words: tell.WordsOf(house)})
				}
				if out == "" {
					return write(cmd.OutOrStdout())
				}
				if err := export.WriteFile(out, write); err != nil {
					return err
				}
				_, err = fmt.Fprintln(cmd.OutOrStdout(), out)
				return err
			})
		},
	}
	recordFlags(cmd, &opt)
	cmd.Flags().StringVar(&f.Person, "by", "", "who did it, or whom it is about")
	cmd.Flags().StringVar(&f.Serial, "neck", "", "serial number of a neck")
	cmd.Flags().StringVar(&f.Batch, "batch", "", "number of a batch")
	cmd.Flags().StringVar(&f.Gauge, "gauge", "", "name of a gauge")
	words := make([]string, len(batch.Matters))
	for i, m := range batch.Matters {
		words[i] = string(m)
	}
	choiceFlag(cmd, &matter, "matter", "", "what it is about", words...)
	cmd.Flags().Var(&from, "from", "first day, YYYY-MM-DD")
	cmd.Flags().Var(&to, "to", "last day, YYYY-MM-DD")
	cmd.Flags().IntVar(&f.Limit, "limit", 0, "at most so many entries, 0 for all")
	cmd.Flags().StringVarP(&out, "out", "o", "", "file to write")
	cmd.Flags().BoolVar(&asCSV, "csv", false, "print comma-separated values, with a header row")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON object a line")
	offer(cmd, "batch", batchNumbers(&opt))
	return cmd
}

// day is the value of an option that is a day: its beginning here.
type day time.Time

func (d *day) String() string {
	if time.Time(*d).IsZero() {
		return ""
	}
	return time.Time(*d).Format(time.DateOnly)
}

// Set reads the option.
func (d *day) Set(text string) error {
	at, err := time.ParseInLocation(time.DateOnly, text, time.Local)
	if err != nil {
		return fmt.Errorf("found %q; allowed: a day, such as 2026-11-30", text)
	}
	*d = day(at)
	return nil
}

// Type names the value in the command's help.
func (d *day) Type() string { return "day" }
