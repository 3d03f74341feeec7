package command

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/export"
	"sagitta/export/label"
	"sagitta/export/sheet"
	"sagitta/station/app"
)

const labelHelp = `Write labels as PDF of the label's own size, for a label printer or to be cut out.

A serial number gives the label that lies in the instrument: its QR code tells the set-up as plain text, which any telephone reads without a network. A
batch's number gives the travellers of its necks, a page each: a scan of the bars or of the QR code brings the neck to the bench. --kind asks for the other.`

func labelCommand() *cobra.Command {
	var opt app.Options
	var out, kind string
	size := label.Size{Wide: 62, High: 29}
	cmd := &cobra.Command{
		Use:   "label NUMBER...",
		Short: "Write the label for an instrument's inside, or the travellers of a batch, as PDF of the label's size",
		Long:  labelHelp,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return exactly("NUMBER")(cmd, args)
			}
			return nil
		},
		Example: `  sagitta label QM-2611-0001
  sagitta label QM-2611 --data shop -o /srv/labels --size 50x25
  sagitta label QM-2611-0001 QM-2611-0002 --kind traveller`,
		RunE: func(cmd *cobra.Command, args []string) error {
			t, err := sheet.ReadTemplate(recordFolder(opt.Dir))
			if err != nil {
				return err
			}
			return withRecord(opt, func(db *record.DB) error {
				for _, number := range args {
					labels, err := label.Of(cmd.Context(), db, t, label.Kind(kind), number)
					if err != nil {
						return err
					}
					name := filepath.Join(out, batch.FileName(number)+"-label.pdf")
					if err := export.WriteFile(name, func(w io.Writer) error { return label.PDF(w, size, number, t.Heading, labels) }); err != nil {
						return err
					}
					fmt.Fprintln(cmd.OutOrStdout(), name)
				}
				return nil
			})
		},
	}
	recordFlags(cmd, &opt)
	cmd.Flags().StringVarP(&out, "out", "o", ".", "folder to write into")
	choiceFlag(cmd, &kind, "kind", "", "label; where it is left out, a serial number's set-up, a batch's travellers", label.Kinds...)
	cmd.Flags().Var((*labelSize)(&size), "size", "width and height in mm, such as "+strings.Join(label.Sizes, ", "))
	offer(cmd, "size", cobra.FixedCompletions(label.Sizes, cobra.ShellCompDirectiveNoFileComp))
	cmd.ValidArgsFunction = batchNumbers(&opt)
	return cmd
}

// recordFolder is the folder of a record that was named by it or by its file.
func recordFolder(named string) string {
	if info, err := os.Stat(named); err == nil && !info.IsDir() {
		return filepath.Dir(named)
	}
	return named
}

// labelSize is the value of an option that is a label's size.
type labelSize label.Size

func (s *labelSize) String() string { return label.Size(*s).String() }

// Set reads the option.
func (s *labelSize) Set(text string) error {
	size, err := label.ReadSize(text)
	*s = labelSize(size)
	return err
}

// Type names the value in the command's help.
func (s *labelSize) Type() string { return "WIDTHxHEIGHT" }
