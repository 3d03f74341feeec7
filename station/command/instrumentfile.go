package command

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"sagitta/batch"
	"sagitta/batch/photograph"
	"sagitta/batch/record"
	"sagitta/batch/tell"
	"sagitta/export"
	"sagitta/station/app"
)

// lifeFile is the file's name in the folder of an instrument.
const lifeFile = "instrument.json"

// longestLife bounds the file of an instrument, bytes.
const longestLife = 256 << 20

func instrumentExport() *cobra.Command {
	var opt app.Options
	var out string
	cmd := &cobra.Command{
		Use: "export SERIAL", Short: "Write all that the record holds of an instrument into a folder", Args: exactly("SERIAL"),
		Long: `Write all that the record holds of an instrument into a folder: instrument.json, whose format README tells, and photographs/ beside it. What a record has
already stays as it is when it is taken in, so that an instrument may travel there and back.`,
		Example: "  sagitta instrument export 2026-014 -o 2026-014",
		RunE: func(cmd *cobra.Command, args []string) error {
			if out == "" {
				out = batch.FileName(args[0])
			}
			return withRecord(opt, func(db *record.DB) error {
				l, err := db.Life(cmd.Context(), args[0])
				if err != nil {
					return err
				}
				if err := otherLife(out, l.Serial); err != nil {
					return err
				}
				if err := writeLife(recordFolder(opt.Dir), out, &l); err != nil {
					return err
				}
				fmt.Fprintf(cmd.OutOrStdout(), "%s, and %s beside it\n", filepath.Join(out, lifeFile), tell.Count(len(l.Photographs()), "photograph"))
				return nil
			})
		},
	}
	recordFlags(cmd, &opt)
	cmd.Flags().StringVarP(&out, "out", "o", "", "folder to write into (default: the serial number)")
	return cmd
}

// otherLife refuses a folder in which the file of another instrument lies.
func otherLife(folder, serial string) error {
	l, err := readLife(folder)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("%s lies there already: give another folder with -o (%w)", filepath.Join(folder, lifeFile), err)
	case l.Serial != serial:
		return fmt.Errorf("%s is of %s: give another folder with -o", filepath.Join(folder, lifeFile), l.Serial)
	}
	return nil
}

// writeLife writes the file of an instrument and its photographs; the file comes last, so that a folder with one is whole.
func writeLife(from, folder string, l *record.Life) error {
	if err := os.MkdirAll(filepath.Join(folder, photograph.Folder), 0o750); err != nil {
		return err
	}
	pictures, err := picturesOf(from, l)
	if err != nil {
		return err
	}
	if err := photograph.Keep(folder, pictures, func() error { return nil }); err != nil {
		return err
	}
	text, err := l.Text()
	if err != nil {
		return err
	}
	return export.WriteFile(filepath.Join(folder, lifeFile), func(w io.Writer) error {
		_, err := w.Write(text)
		return err
	})
}

// picturesOf are the photographs of an instrument as they lie in a folder.
func picturesOf(folder string, l *record.Life) (pictures []photograph.Photograph, err error) {
	for _, digest := range l.Photographs() {
		picture, err := photograph.Read(folder, digest)
		if err != nil {
			return nil, fmt.Errorf("in %s: %w", folder, err)
		}
		pictures = append(pictures, photograph.Photograph{JPEG: picture, Digest: digest})
	}
	return pictures, nil
}

// readLife reads the file of an instrument in a folder.
func readLife(folder string) (record.Life, error) {
	name := filepath.Join(folder, lifeFile)
	f, err := os.Open(name)
	if err != nil {
		return record.Life{}, err
	}
	defer func() { _ = f.Close() }()
	text, err := io.ReadAll(io.LimitReader(f, longestLife+1))
	if err == nil && len(text) > longestLife {
		err = fmt.Errorf("%s: found more than %d bytes, which are allowed", name, longestLife)
	}
	if err != nil {
		return record.Life{}, err
	}
	l, err := record.ReadLife(text)
	if err != nil {
		return l, fmt.Errorf("%s: %w", name, err)
	}
	return l, nil
}

func instrumentImport() *cobra.Command {
	var opt app.Options
	var who signer
	cmd := &cobra.Command{
		Use: "import FOLDER", Short: "Take in what a folder holds of an instrument and the record does not have", Args: exactly("FOLDER"),
		Long: `Take in what a folder holds of an instrument and the record does not have, all of it or nothing. Where there is no record one is begun. The station must not run meanwhile.`,
		Example: `  sagitta instrument import 2026-014
  sagitta instrument import 2026-014 --data shop --by "Ilse Marchetti-Roe"`,
		RunE: func(cmd *cobra.Command, args []string) error {
			l, err := readLife(args[0])
			if err != nil {
				return err
			}
			dir := recordFolder(opt.Dir)
			if err := os.MkdirAll(dir, 0o750); err != nil {
				return err
			}
			db, err := record.Open(recordFile(opt.Dir), record.Options{Station: opt.Name})
			if err != nil {
				return err
			}
			return errors.Join(takeInLife(cmd, db, dir, args[0], l, who), db.Close())
		},
	}
	recordFlags(cmd, &opt)
	cmd.Flags().StringVar(&who.by, "by", "", "who takes it in; needed where people sign on")
	passwordFlag(cmd, &who.password)
	return cmd
}

// takeInLife keeps the photographs first: what the record knows is there. Where the record refuses, none of them stays.
func takeInLife(cmd *cobra.Command, db *record.DB, dir, folder string, l record.Life, who signer) error {
	ctx, err := sealedBy(cmd, db, who.by, who.password, "taking in "+l.Serial)
	if err != nil {
		return err
	}
	pictures, err := picturesOf(folder, &l)
	if err != nil {
		return err
	}
	by, added := who.by, 0
	if by == "" {
		by = batch.AtTheMachine
	}
	if err := photograph.Keep(dir, pictures, func() (err error) {
		added, err = db.TakeInLife(ctx, by, l)
		return err
	}); err != nil {
		return err
	}
	words := "everything of %s is here already\n"
	if added > 0 {
		words = "%s is taken in, with " + tell.Count(added, "row") + "\n"
	}
	fmt.Fprintf(cmd.OutOrStdout(), words, l.Serial)
	return nil
}
