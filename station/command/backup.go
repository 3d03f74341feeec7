package command

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sagitta/batch/record"
	"sagitta/batch/tell"
	"sagitta/station/app"
	"sagitta/station/copies"
)

func backupCommand() *cobra.Command {
	var opt app.Options
	var recipients string
	cmd := &cobra.Command{
		Use:   "backup FILE",
		Short: "Write a copy of the record, also while the station runs; a .zip holds what belongs to it too",
		Long: `Writes a consistent copy, also while the station runs: of the record alone (FILE.db), or an archive of it and what belongs to it (FILE.zip),
encrypted where recipients are named (FILE.zip.age). An archive is read back and its record verified before it gets its name. The file must
not exist yet; it is there whole or not at all. sagitta restore brings it back.`,
		Example: `  sagitta backup copy.db --data shop
  sagitta backup shop.zip --data shop
  sagitta backup shop.zip.age --recipients quality.txt --data shop`,
		Args: exactly("FILE"),
		RunE: func(cmd *cobra.Command, args []string) error {
			path := args[0]
			sealed := filepath.Ext(path) == ".age"
			if sealed != (recipients != "") || sealed && !copies.Archive(path) {
				return usageError{fmt.Errorf("found %s and --recipients %q; allowed: an encrypted copy is named FILE.zip.age and has recipients, any other has none", path, recipients)}
			}
			return withRecordAsItIs(opt, func(db *record.DB) error {
				if copies.Archive(path) {
					return archive(cmd, db, path, opt, recipients)
				}
				if err := db.Backup(cmd.Context(), path); err != nil {
					return err
				}
				fmt.Fprintln(cmd.OutOrStdout(), path)
				return nil
			})
		},
	}
	recordFlags(cmd, &opt)
	cmd.Flags().StringVar(&recipients, "recipients", "", "file of the age recipients, one a line, that alone may read the copy")
	return cmd
}

// archive writes the record and what belongs to it into one file, encrypted for the recipients that a file names, if any.
func archive(cmd *cobra.Command, db *record.DB, path string, opt app.Options, recipients string) error {
	how := copies.Making{Station: opt.Name, Program: app.ThisVersion().String(), Now: time.Now}
	if recordFile(opt.Dir) != opt.Dir { // else it is the record alone
		how.Dir = opt.Dir
	}
	if recipients != "" {
		var err error
		if how.Recipients, err = copies.Recipients(recipients); err != nil {
			return err
		}
	}
	about, err := copies.Write(cmd.Context(), db, path, how)
	if err != nil {
		return err
	}
	fmt.Fprintln(cmd.OutOrStdout(), path)
	if about.Lacks != nil {
		return fmt.Errorf("the copy %s is made and whole, but %w", path, about.Lacks)
	}
	return nil
}

func restoreCommand() *cobra.Command {
	var opt app.Options
	var identity string
	var replace, drill bool
	cmd := &cobra.Command{
		Use:   "restore FILE",
		Short: "Bring a copy back, proved whole before it is taken; --drill proves the newest one of a folder and takes nothing",
		Long: `Unpacks and verifies the whole copy beside the place where it belongs, and takes it only then. Where there is or was a record nothing is
done, unless --replace is given: what is there is moved into a folder named replaced-TIME first; photographs stay where they are, and those of the
copy are added. No station may run there. Photographs that the record knows and that are then missing or changed are named, and it ends with an error.

With --drill the copy, or the newest scheduled one in the folder FILE, is unpacked and verified in a temporary folder, and compared with
the record in --data; when that was and what was found is shown on the station's strip and by sagitta doctor.`,
		Example: `  sagitta restore copies/sagitta-bench-20261201-020000.zip --data shop
  sagitta restore shop.zip.age --identity quality.key --data shop --replace
  sagitta restore --drill copies --data shop`,
		Args: exactly("FILE"),
		RunE: func(cmd *cobra.Command, args []string) error {
			how := copies.Restoring{Dir: opt.Dir, Station: opt.Name, Replace: replace, Now: time.Now()}
			if identity != "" {
				var err error
				if how.Identities, err = copies.Identities(identity); err != nil {
					return err
				}
			}
			if drill {
				return drillCopy(cmd, args[0], opt.Dir, how)
			}
			p, aside, err := copies.Restore(cmd.Context(), args[0], how)
			if aside != "" {
				fmt.Fprintf(cmd.OutOrStdout(), "What was there is in %s.\n", aside)
			}
			if err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "Restored into %s: the %s.\n", opt.Dir, p.Word())
			return withRecord(opt, func(db *record.DB) error { return tellPhotographs(cmd, db, opt.Dir) })
		},
	}
	recordFlags(cmd, &opt)
	cmd.Flags().BoolVar(&replace, "replace", false, "move the record that is there, and what belongs to it, aside first")
	cmd.Flags().BoolVar(&drill, "drill", false, "prove the copy, or the newest in the folder, and take nothing")
	cmd.Flags().StringVar(&identity, "identity", "", "file of the age identity that an encrypted copy is for")
	return cmd
}

func salvageCommand() *cobra.Command {
	var opt app.Options
	var replace bool
	cmd := &cobra.Command{
		Use:   "salvage FILE",
		Short: "Write what can be read of a damaged record into a new one, and say which necks are hurt",
		Long: `Copies what can be read of a damaged record, or of one whose log is lost, into a new record, works out anew what is derived, and lists the
necks of which something is missing or not as it was written. The damaged file is kept as it is. Bring the newest copy back instead where
one is at hand; a damaged trail stays damaged, and sagitta verify says so.`,
		Example: `  sagitta salvage damaged.db --data shop-salvaged
  sagitta salvage shop/record.db --data shop --replace`,
		Args: exactly("FILE"),
		RunE: func(cmd *cobra.Command, args []string) error {
			s, aside, err := copies.Salvage(cmd.Context(), recordFile(args[0]), opt.Name, copies.Restoring{Dir: opt.Dir, Replace: replace, Now: time.Now()})
			if aside != "" {
				fmt.Fprintf(cmd.OutOrStdout(), "What was there is in %s.\n", aside)
			}
			if err != nil {
				return err
			}
			tellSalvaged(cmd.OutOrStdout(), s, opt.Dir)
			return withRecord(opt, func(db *record.DB) error { return tellPhotographs(cmd, db, opt.Dir) })
		},
	}
	recordFlags(cmd, &opt)
	cmd.Flags().BoolVar(&replace, "replace", false, "move the record that is there, and what belongs to it, aside first")
	return cmd
}

// tellSalvaged says what was read and what is hurt.
func tellSalvaged(out io.Writer, s record.Salvaged, dir string) {
	fmt.Fprintf(out, "%s read into %s; the newest entry of its trail is %d, of %s.\n", tell.Counted(s.Rows, "row was", "rows were"), dir, s.Newest, s.At.Local().Format(time.DateTime))
	if s.Whole() {
		fmt.Fprintln(out, "Nothing of it is found to be missing. What came after that entry left no trace here.")
		return
	}
	for _, t := range s.Tables {
		if t.Gone {
			fmt.Fprintf(out, "Nothing of %s can be read.\n", t.Name)
		} else {
			fmt.Fprintf(out, "%s of %s cannot be read.\n", tell.Counted(t.Lost, "row", "rows"), t.Name)
		}
	}
	if s.Entries > 0 {
		fmt.Fprintf(out, "%s missing in the record's trail.\n", tell.Counted(int(s.Entries), "entry is", "entries are"))
	}
	if s.Nameless > 0 {
		fmt.Fprintf(out, "%s here of which it cannot be read of which neck.\n", tell.Counted(s.Nameless, "inspection is", "inspections are"))
	}
	if len(s.Necks) == 0 {
		fmt.Fprintln(out, "No neck whose serial number is there is found to be hurt.")
		return
	}
	fmt.Fprintf(out, "%s hurt, with something missing or not as it was written:\n  %s\n", tell.Counted(len(s.Necks), "neck is", "necks are"), strings.Join(s.Necks, "\n  "))
}

// drillCopy proves a copy, keeps what was found for the station's strip, and says it.
func drillCopy(cmd *cobra.Command, path, dir string, how copies.Restoring) error {
	file, err := copies.Newest(path)
	var p copies.Proven
	if err == nil {
		p, err = copies.Drill(cmd.Context(), file, how.Identities, dir)
	}
	if cmd.Context().Err() != nil {
		return cmd.Context().Err()
	}
	if noted := copies.NoteDrill(dir, file, how.Now, err); noted != nil {
		fmt.Fprintf(cmd.ErrOrStderr(), "sagitta: what the drill found is not kept for the station's strip: %v\n", noted)
	}
	if err != nil {
		return err
	}
	fmt.Fprintf(cmd.OutOrStdout(), "%s can be restored: the %s.\n", file, p.Word())
	return nil
}

// copyFlags are the options of a station's copies.
type copyFlags struct {
	at         shiftTimes
	recipients string
}

// flags adds them.
func (c *copyFlags) flags(f *pflag.FlagSet, plan *copies.Plan) {
	f.StringVar(&plan.To, "backup-to", "", "folder for a copy each day, proved when it is made; what becomes of it is shown on the strip")
	f.Var(&c.at, "backup-at", "when the copy is made (default 02:00); made up for at the next start")
	f.IntVar(&plan.Keep, "keep", 14, "how many of those copies are kept")
	f.StringVar(&c.recipients, "backup-recipients", "", "file of the age recipients, one a line, that alone may read those copies")
	f.StringVar(&plan.MirrorTo, "copy-to", "", "folder, on another disk or a stick, for a copy that follows the record: after each verdict, and every --copy-every")
	f.DurationVar(&plan.Every, "copy-every", 5*time.Minute, "how old that copy may become while the record grows")
}

// read fills in what the options say.
func (c *copyFlags) read(opt *app.Options) error {
	p := &opt.Copies
	switch {
	case len(c.at) > 1:
		return usageError{fmt.Errorf("--backup-at takes one time; %d given", len(c.at))}
	case p.To == "" && (len(c.at) > 0 || c.recipients != ""):
		return usageError{fmt.Errorf("--backup-at and --backup-recipients need --backup-to, the folder that copies go to")}
	case p.Keep < 1:
		return usageError{fmt.Errorf("--keep: found %d; allowed: 1 or more", p.Keep)}
	case p.Every < time.Second:
		return usageError{fmt.Errorf("--copy-every: found %v; allowed: 1s or more", p.Every)}
	}
	p.At = 2 * time.Hour
	if len(c.at) == 1 {
		p.At = c.at[0]
	}
	if c.recipients == "" {
		return nil
	}
	p.Encrypted = true
	var err error
	opt.For, err = copies.Recipients(c.recipients)
	return err
}
