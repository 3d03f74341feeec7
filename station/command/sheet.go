package command

import (
	"fmt"
	"io"
	"path/filepath"

	"github.com/spf13/cobra"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/export"
	"sagitta/export/sheet"
	"sagitta/station/app"
)

func sheetCommand() *cobra.Command {
	var opt app.Options
	var out, paper string
	var house bool
	cmd := &cobra.Command{
		Use:   "sheet NUMBER",
		Short: "Write the sheet that goes with an instrument: one page as PDF, and one HTML file for any phone",
		Args: func(cmd *cobra.Command, args []string) error {
			if house {
				return exactly()(cmd, args)
			}
			return exactly("NUMBER")(cmd, args)
		},
		Example: `  sagitta sheet QM-2611-0001
  sagitta sheet QM-2611-0001 --data shop -o /srv/sheets --paper Letter
  sagitta sheet --template > sagitta-data/sheet.toml`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if house {
				text, err := sheet.House().Text()
				if err != nil {
					return err
				}
				_, err = cmd.OutOrStdout().Write(text)
				return err
			}
			t, err := sheet.ReadTemplate(recordFolder(opt.Dir))
			if err != nil {
				return err
			}
			if cmd.Flags().Changed("paper") {
				t.Paper = paper
			}
			var s *sheet.Sheet
			if err := withRecord(opt, func(db *record.DB) error {
				s, err = sheet.Of(cmd.Context(), db, t, args[0])
				return err
			}); err != nil {
				return err
			}
			base := filepath.Join(out, batch.FileName(s.Serial))
			for _, file := range []struct {
				name  string
				write func(io.Writer, *sheet.Sheet) error
			}{{base + ".pdf", sheet.PDF}, {base + ".html", sheet.HTML}} {
				if err := export.WriteFile(file.name, func(w io.Writer) error { return file.write(w, s) }); err != nil {
					return err
				}
				fmt.Fprintln(cmd.OutOrStdout(), file.name)
			}
			return nil
		},
	}
	recordFlags(cmd, &opt)
	cmd.Flags().StringVarP(&out, "out", "o", ".", "folder to write into")
	choiceFlag(cmd, &paper, "paper", "A4", "size of paper; where it is left out, what sheet.toml says", "A4", "Letter")
	cmd.Flags().BoolVar(&house, "template", false, "print the template sheet.toml with what each key means")
	return cmd
}
