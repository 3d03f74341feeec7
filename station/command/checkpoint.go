package command

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/export"
	"sagitta/station/app"
)

func checkpointCommand() *cobra.Command {
	var opt app.Options
	var out, request string
	cmd := &cobra.Command{
		Use:   "checkpoint",
		Short: "Print the newest signed checkpoint of the record, or a request for a time stamp of it",
		Long: `Prints the newest checkpoint, as workbooks, sheets and copies carry it, to be kept where nobody of the station reaches it.

With --request it writes a request for a time stamp (RFC 3161) too, for an authority of your choice; nothing but a digest of the checkpoint is in it, and
nothing is sent by this program. Send it with any program for that, and keep the answer beside the checkpoint under the same name with the ending .tsr:
verify --against says then when the authority had it.`,
		Args: exactly(),
		Example: `  sagitta checkpoint --data shop -o december.txt --request december.tsq
  curl -H 'Content-Type: application/timestamp-query' --data-binary @december.tsq https://AUTHORITY > december.tsr
  sagitta verify --data shop --against december.txt`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return withRecordAsItIs(opt, func(db *record.DB) error {
				c, err := db.NewestCheckpoint(cmd.Context())
				if err != nil {
					return err
				}
				if c == nil {
					return batch.Absent.Errorf("nothing of the record is signed: its station signs it at the next start of serve")
				}
				if request != "" {
					asked, err := c.StampRequest()
					if err != nil {
						return err
					}
					if err := export.WriteFile(request, func(w io.Writer) error { _, err := w.Write(asked); return err }); err != nil {
						return err
					}
				}
				if out == "" {
					_, err := fmt.Fprint(cmd.OutOrStdout(), c.Note)
					return err
				}
				return export.WriteFile(out, func(w io.Writer) error { _, err := io.WriteString(w, c.Note); return err })
			})
		},
	}
	recordFlags(cmd, &opt)
	cmd.Flags().StringVarP(&out, "out", "o", "", "file to write the checkpoint into, instead of printing it")
	cmd.Flags().StringVar(&request, "request", "", "file to write a request for a time stamp of it into")
	return cmd
}
