package command

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"sagitta/batch"
	"sagitta/batch/files"
	"sagitta/batch/intake"
	"sagitta/batch/record"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/station/app"
)

const importHelp = `Take old inspections in from a delimited file, all of it or nothing.

MAP.toml says what the file's columns mean; a row is one inspection, rows of one serial number are its attempts in order
of time. Limits come from the specification of the batch, which must be open. The necks are kept without readings and
marked as imported, with an entry in the record's trail. A file that was imported once is refused. With --dry-run nothing is
written and every bad row is listed; the station may run meanwhile.

A mapping:

  separator = ";"                # found in the file where this is left out: comma, semicolon or tab
  decimal = ","                  # found where this is left out
  serial = "Neck"                # the columns' names in the file's header
  date = "Date"
  date_format = "DD.MM.YYYY"     # of YYYY or YY, MM, DD, hh, mm, ss
  time = "Time"                  # where the time has a column of its own
  time_format = "hh:mm"
  inspector = "Who"
  disposition = "Result"         # left out: the values decide
  humidity = "RH %"              # may be left out, like temperature
  [words]                        # what the words of the column Result mean
  ok = "pass"
  [[measurement]]
  column = "Relief E"
  characteristic = "relief"
  track = "bass"
  unit = "in"                    # mm, in, thou, 64ths, deg or cents
  u = 0.0005                     # standard uncertainty of one value; may be left out`

func importCommand() *cobra.Command {
	var opt app.Options
	var number, by, password string
	var dry bool
	cmd := &cobra.Command{
		Use:   "import MAP.toml FILE.csv",
		Short: "Take old inspections in from a delimited file",
		Long:  importHelp,
		Example: `  sagitta import map.toml old.csv --batch QM-2610 --dry-run
  sagitta import map.toml old.csv --batch QM-2610 --by "Ilse Marchetti-Roe" --data shop`,
		Args: exactly("MAP.toml", "FILE.csv"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if number == "" || by == "" && !dry {
				return usageError{errors.New("--batch and --by are needed: the number of an open batch, and the quality manager who answers for the import (--by not with --dry-run)")}
			}
			end, err := (&logging{level: "error"}).start(io.Discard) // a refused commit is this command's error, and told once
			if err != nil {
				return err
			}
			defer end()
			return takeIn(cmd, opt, args[0], args[1], number, signer{by, password}, dry)
		},
	}
	recordFlags(cmd, &opt)
	cmd.Flags().StringVar(&number, "batch", "", "number of the batch, which must be open")
	offer(cmd, "batch", batchNumbers(&opt))
	cmd.Flags().StringVar(&by, "by", "", "quality manager who answers for the import")
	passwordFlag(cmd, &password)
	cmd.Flags().BoolVar(&dry, "dry-run", false, "write nothing; list every bad row")
	return cmd
}

// signer is who answers for a command's act, and the file of their password.
type signer struct{ by, password string }

// takeIn reads a file by its mapping and keeps it.
func takeIn(cmd *cobra.Command, opt app.Options, mapFile, file, number string, who signer, dry bool) error {
	ctx := cmd.Context()
	_, text, err := files.ReadDocument(mapFile, nil)
	if err != nil {
		return err
	}
	mapping, err := files.ReadMapping(mapFile, text)
	if err != nil {
		return err
	}
	if file, text, err = files.ReadText(file, cmd.InOrStdin()); err != nil {
		return err
	}
	sum := sha256.Sum256(text)
	db, err := record.Open(recordFile(opt.Dir), record.Options{Station: opt.Name, ReadOnly: dry, Existing: true})
	if err != nil {
		return err
	}
	defer func() { _ = db.Close() }()
	if _, err := knownBatch(ctx, db, number, opt.Dir); err != nil {
		return err
	}
	b, err := db.Batch(ctx, number)
	if err != nil {
		return err
	}
	if !b.ClosedAt.IsZero() {
		return fmt.Errorf("batch %s is closed since %s; import into an open batch", b.Number, b.ClosedAt.Local().Format("2006-01-02"))
	}
	if !dry {
		if ctx, err = who.answers(cmd, db, "import of "+filepath.Base(file)); err != nil {
			return err
		}
	}
	imp := batch.Import{BatchID: b.ID, Origin: batch.Imported, Source: filepath.Base(file), SHA256: hex.EncodeToString(sum[:])}
	before, err := db.ImportOf(ctx, imp.SHA256)
	if err != nil {
		return err
	}
	if before != nil {
		return fmt.Errorf("%s was imported as %s on %s by %s, %s; nothing was done", file, before.Source, before.At.Local().Format("2006-01-02 15:04"), before.By, tell.Count(before.Necks, "neck"))
	}
	var failed error
	stories, faults := intake.Read(mapping, text, intake.Options{
		File: imp.Source, Spec: b.Spec.Spec, Batch: b, Location: time.Local,
		Taken: func(serial string) (string, bool) {
			n, err := db.Neck(ctx, serial)
			if errors.Is(err, record.ErrUnknownSerial) {
				return "", false
			}
			failed = errors.Join(failed, err)
			return n.BatchNumber, err == nil
		},
	})
	if failed != nil {
		return failed
	}
	if len(faults) > 0 {
		for _, f := range faults {
			fmt.Fprintln(cmd.OutOrStdout(), f.Error())
		}
		return fmt.Errorf("%s: %s; nothing was imported", file, tell.Count(len(faults), "fault"))
	}
	summary := storiesWords(stories)
	if dry {
		fmt.Fprintf(cmd.OutOrStdout(), "%s can be imported into %s: %s. Nothing was written.\n", file, b.Number, summary)
		return nil
	}
	imp, err = db.AppendStories(ctx, who.by, imp, func(yield func(batch.Story, error) bool) {
		for _, s := range stories {
			if !yield(s, nil) {
				return
			}
		}
	})
	if err != nil {
		return err
	}
	fmt.Fprintf(cmd.OutOrStdout(), "%s imported into %s: %s, without readings; sha256 %s. %s\n", file, b.Number, summary, imp.SHA256, tell.ImportChecks(imp.Checks))
	return nil
}

// answers is the context of the act that the signer answers for.
func (s signer) answers(cmd *cobra.Command, db *record.DB, reason string) (context.Context, error) {
	if err := qualityManager(cmd, db, s.by); err != nil {
		return nil, err
	}
	return sealedBy(cmd, db, s.by, s.password, reason)
}

// qualityManager refuses a name that is not on file as a quality manager's.
func qualityManager(cmd *cobra.Command, db *record.DB, by string) error {
	people, err := db.People(cmd.Context())
	if err != nil {
		return err
	}
	var managers []string
	for _, p := range people {
		if p.May(batch.OpenBatch) {
			if p.Name == by {
				return nil
			}
			managers = append(managers, p.Name)
		}
	}
	return usageError{fmt.Errorf("--by %q: allowed are the quality managers on file: %s", by, strings.Join(managers, ", "))}
}

// storiesWords counts what a file holds.
func storiesWords(stories []batch.Story) string {
	inspections, now := 0, map[inspect.Disposition]int{}
	for _, s := range stories {
		inspections += len(s.Attempts)
		verdicts := s.Attempts[len(s.Attempts)-1].Verdicts
		now[verdicts[len(verdicts)-1].Disposition]++
	}
	words := []string{fmt.Sprintf("%s with %s", tell.Count(len(stories), "neck"), tell.Count(inspections, "inspection"))}
	for _, d := range []inspect.Disposition{inspect.Pass, inspect.Concession, inspect.Rework, inspect.Repair, inspect.Scrap} {
		if now[d] > 0 {
			words = append(words, fmt.Sprintf("%d %s", now[d], d))
		}
	}
	return strings.Join(words, ", ")
}
