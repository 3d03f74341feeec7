package command

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"sagitta/batch"
	"sagitta/batch/photograph"
	"sagitta/batch/record"
	"sagitta/batch/tell"
	"sagitta/station/app"
)

func verifyCommand() *cobra.Command {
	var opt app.Options
	var against bool
	var keys []string
	var rootsFile string
	cmd := &cobra.Command{
		Use:   "verify",
		Short: "Check the record: its trail, its verdicts and the file; --against compares it with what left the building",
		Long: `Checks the record: its trail, its verdicts, the evidence over every row, the signed checkpoints and the file. It prints how much there is, the root of
the evidence and the newest checkpoint with the public key: note them, or keep a file that has them.

Every workbook, sheet and copy carries the newest checkpoint in small print, and the folder of serve --witness has all. --against takes such files, one or
many: workbooks (.xlsx), sheets (.pdf, .html), copies (.zip, .db), a witness's files, or the small print itself as text (- reads standard input); of each it says whether what was recorded
until then is still there unchanged, or was rewritten or cut off. A signature counts by the keys that the record's trail names, or with --signed-by by those that
you noted. Where a file NAME.tsr with an authority's time stamp (see sagitta checkpoint) lies beside NAME.txt, it says when the authority had that checkpoint;
--stamp-roots names the certificates that you trust authorities by. Exit status: 0 all files agree with the record, 3 one of them at least does not, 1 some show
nothing (unreadable, without a checkpoint, or with one that was altered) and the others agree, or the record is not whole by itself. ` + tell.AnchorLimit,
		Args: func(cmd *cobra.Command, args []string) error {
			switch {
			case against && len(args) == 0:
				return usageError{errors.New("--against needs a FILE or more")}
			case !against && rootsFile != "":
				return usageError{errors.New("--stamp-roots needs --against: the time stamps beside FILE... are checked with it")}
			case !against && len(keys) > 0:
				return usageError{errors.New("--signed-by needs --against: by whom checkpoints in files should be signed")}
			case !against:
				return exactly()(cmd, args)
			}
			return nil
		},
		Example: `  sagitta verify --data shop
  sagitta verify --data copy.db       a copy that backup wrote, as it lies
  sagitta verify --data shop --against QM-2611.xlsx QM-2611-0001.pdf /media/stick/*.txt`,
		RunE: func(cmd *cobra.Command, args []string) error {
			return withRecordAsItIs(opt, func(db *record.DB) error {
				if err := db.VerifyAudit(cmd.Context()); err != nil {
					return err
				}
				last, err := db.Audit(cmd.Context(), 1)
				if err != nil {
					return err
				}
				for _, e := range last {
					fmt.Fprintf(cmd.OutOrStdout(), "The record is whole: its trail has %s, the newest hash is %s.\n", tell.Counted(int(e.Seq), "entry", "entries"), e.Hash)
				}
				if err := tellEvidence(cmd, db); err != nil {
					return err
				}
				hurt := tellPhotographs(cmd, db, opt.Dir)
				if !against {
					return hurt
				}
				roots, err := stampRoots(rootsFile)
				if err != nil {
					return err
				}
				return errors.Join(hurt, againstAnchors(cmd, db, args, keys), tellStamps(cmd.OutOrStdout(), args, roots))
			})
		},
	}
	recordFlags(cmd, &opt)
	cmd.Flags().BoolVar(&against, "against", false, "compare it with the checkpoints in FILE...")
	cmd.Flags().StringArrayVar(&keys, "signed-by", nil, "with --against: a public key that you noted, once for each")
	cmd.Flags().StringVar(&rootsFile, "stamp-roots", "", "with --against: file with the root certificates (PEM) of time stamping authorities that you trust")
	return cmd
}

// tellEvidence prints how much evidence there is and what of it is signed; an older record, as it lies, has none yet.
func tellEvidence(cmd *cobra.Command, db *record.DB) error {
	bare, err := db.WithoutEvidence(cmd.Context())
	if err != nil || bare {
		return err
	}
	size, root, err := db.TreeHead(cmd.Context())
	if err != nil {
		return err
	}
	newest, err := db.NewestCheckpoint(cmd.Context())
	if err != nil {
		return err
	}
	fmt.Fprintf(cmd.OutOrStdout(), "%s\n%s\n", tell.Evidence(size, root.String()), tell.NewestCheckpoint(newest, size))
	return nil
}

// tellPhotographs compares the photographs that a record knows with their files. Beside a record's file alone there are none to be looked at.
func tellPhotographs(cmd *cobra.Command, db *record.DB, data string) error {
	known, err := db.AllPhotographs(cmd.Context())
	if err != nil || len(known) == 0 {
		return err
	}
	if recordFile(data) == data {
		fmt.Fprintf(cmd.OutOrStdout(), "It knows %s in the folder %s of its station and of copies (.zip).\n",
			tell.Counted(len(known), "photograph, which is not looked at: it lies", "photographs, which are not looked at: they lie"), photograph.Folder)
		return nil
	}
	words, err := photograph.Missing(data, known)
	if err != nil {
		return err
	}
	if words != "" {
		return batch.Machine.Errorf("of the photographs that the record knows %s; put such files back from the folder %s of a copy (.zip) into that of %s", words, photograph.Folder, data)
	}
	fmt.Fprintf(cmd.OutOrStdout(), "%s.\n", tell.Counted(len(known), "photograph is there as it was kept", "photographs are there, each as it was kept"))
	return nil
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
