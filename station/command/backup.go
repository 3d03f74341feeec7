package command

import (
	"fmt"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sagitta/batch/record"
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
				if !copies.Archive(path) {
					if err := db.Backup(cmd.Context(), path); err != nil {
						return err
					}
					fmt.Fprintln(cmd.OutOrStdout(), path)
					return nil
				}
				how := copies.Making{Station: opt.Name, Program: app.ThisVersion().String(), Now: time.Now}
				if recordFile(opt.Dir) != opt.Dir { // else it is the record alone
					how.Dir = opt.Dir
				}
				var err error
				if sealed {
					if how.Recipients, err = copies.Recipients(recipients); err != nil {
						return err
					}
				}
				if _, err := copies.Write(cmd.Context(), db, path, how); err != nil {
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

func restoreCommand() *cobra.Command {
	var opt app.Options
	var identity string
	var replace, drill bool
	cmd := &cobra.Command{
		Use:   "restore FILE",
		Short: "Bring a copy back, proved whole before it is taken; --drill proves the newest one of a folder and takes nothing",
		Long: `Unpacks and verifies the whole copy beside the place where it belongs, and takes it only then. Where there is or was a record nothing is
done, unless --replace is given: what is there is moved into a folder named replaced-TIME first. No station may run there.

With --drill the copy, or the newest scheduled one in the folder FILE, is unpacked and verified in a temporary folder, and compared with
the record in --data; when that was and what was found is shown on the station's strip and by sagitta doctor.`,
		Example: `  sagitta restore copies/sagitta-bench-20261201-020000.zip --data shop
  sagitta restore shop.zip.age --identity quality.key --data shop --replace
  sagitta restore --drill copies --data shop`,
		Args: exactly("FILE"),
		RunE: func(cmd *cobra.Command, args []string) error {
			how := copies.Restoring{Dir: opt.Dir, Replace: replace, Now: time.Now()}
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
			return nil
		},
	}
	recordFlags(cmd, &opt)
	cmd.Flags().BoolVar(&replace, "replace", false, "move the record that is there, and what belongs to it, aside first")
	cmd.Flags().BoolVar(&drill, "drill", false, "prove the copy, or the newest in the folder, and take nothing")
	cmd.Flags().StringVar(&identity, "identity", "", "file of the age identity that an encrypted copy is for")
	return cmd
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
