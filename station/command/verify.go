package command

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"sagitta/batch/record"
	"sagitta/batch/tell"
	"sagitta/station/app"
)

func verifyCommand() *cobra.Command {
	var opt app.Options
	cmd := &cobra.Command{
		Use:   "verify",
		Short: "Check the record: its trail, its verdicts and the file",
		Args:  exactly(),
		Example: `  sagitta verify --data shop
  sagitta verify --data copy.db       a copy that backup wrote, as it lies`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return withRecordAsItIs(opt, func(db *record.DB) error {
				if err := db.VerifyAudit(cmd.Context()); err != nil {
					return err
				}
				last, err := db.Audit(cmd.Context(), 1)
				if err != nil {
					return err
				}
				for _, e := range last {
					fmt.Fprintf(cmd.OutOrStdout(), "The record is whole: %s, the newest hash is %s.\n", tell.Counted(int(e.Seq), "entry", "entries"), e.Hash)
				}
				return nil
			})
		},
	}
	recordFlags(cmd, &opt)
	return cmd
}

// withRecord opens the record beside whatever else uses it, for reading only.
func withRecord(opt app.Options, do func(db *record.DB) error) error {
	return withOpened(opt, record.Options{ReadOnly: true}, do)
}

// withRecordAsItIs leaves the record of an older program as it is: what is verified or copied is the file itself.
func withRecordAsItIs(opt app.Options, do func(db *record.DB) error) error {
	return withOpened(opt, record.Options{ReadOnly: true, AsItIs: true}, do)
}

func withOpened(opt app.Options, how record.Options, do func(db *record.DB) error) error {
	db, err := record.Open(recordFile(opt.Dir), how)
	if err != nil {
		return err
	}
	defer func() { _ = db.Close() }()
	return do(db)
}

// recordFile is the record that --data names: the one in a station's folder, or the file itself, such as a copy that backup wrote.
func recordFile(data string) string {
	if info, err := os.Stat(data); err == nil && !info.IsDir() {
		return data
	}
	return filepath.Join(data, "record.db")
}
