package command

import (
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"sagitta/station/app"
	"sagitta/station/certificate"
)

// defaultListen is where the station listens unless told otherwise: this machine only.
const defaultListen = "127.0.0.1:8470"

func serveCommand() *cobra.Command {
	var opt app.Options
	var logs logging
	var kept copyFlags
	var device string
	cmd := &cobra.Command{
		Use:   "serve",
		Short: "Run the station: gauges, record and pages",
		Args:  exactly(),
		Example: `  sagitta serve --data shop
  sagitta serve --data shop --listen :8470 --shifts 06:00,14:00,22:00 --log-file shop/station.log
  sagitta serve --data shop --behind-proxy 127.0.0.1 --address https://station.example
  sagitta serve --data shop --backup-to /srv/copies --backup-at 02:00 --keep 30 --copy-to /media/stick`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			ctx := cmd.Context()
			if err := networkUse(opt.Network); err != nil {
				return err
			}
			if err := kept.read(&opt); err != nil {
				return err
			}
			end, err := logs.start(cmd.ErrOrStderr())
			if err != nil {
				return err
			}
			defer end()
			a, err := app.Open(ctx, opt)
			if err != nil {
				return err
			}
			defer func() { _ = a.Close() }()
			if err := a.Watch(ctx); err != nil { // the pages are where it is put right
				fmt.Fprintf(cmd.ErrOrStderr(), "sagitta: no gauge is read until this is put right on the page Gauges: %v\n", err)
			}
			fmt.Fprintf(cmd.OutOrStdout(), "The station is at %s and keeps its record in %s. Ctrl-C ends it.\n", a.URL(), opt.Dir)
			firstCode(ctx, cmd.OutOrStdout(), cmd.ErrOrStderr(), a)
			if leaf := a.Certificate(); leaf != nil {
				fmt.Fprintf(cmd.OutOrStdout(), "Its certificate has the SHA-256 fingerprint %s and ends on %s.\n", certificate.Fingerprint(leaf), leaf.NotAfter.Local().Format("2006-01-02"))
			}
			if device != "" {
				out := cmd.OutOrStdout()
				if err := share(ctx, out, a, device, isTerminal(out)); err != nil {
					return err
				}
			}
			return a.Serve(ctx, nil)
		},
	}
	recordFlags(cmd, &opt)
	listenFlag(cmd, &opt.Listen)
	networkFlags(cmd, &opt.Network)
	cmd.Flags().StringVar(&device, "share", "", "print a QR code that signs one device of this person on, such as a telephone at the bench, once")
	cmd.Flags().Var((*shiftTimes)(&opt.Shifts), "shifts", "when shifts begin, e.g. 06:00,14:00,22:00: gauges are checked before each (default midnight)")
	kept.flags(cmd.Flags(), &opt.Copies)
	cmd.Flags().StringVar(&opt.Key, "key", "", "file of the key that signs what is recorded, such as on a stick; made where there is none (default station.key in the record's folder)")
	cmd.Flags().StringVar(&opt.Witness, "witness", "", "folder, on a stick or another machine, to which every signed checkpoint of the record is written too")
	logs.flags(cmd)
	return cmd
}

// recordFlags are the flags of every command that opens the record.
func recordFlags(cmd *cobra.Command, opt *app.Options) {
	host, err := os.Hostname()
	if err != nil || host == "" {
		host = "station"
	}
	cmd.Flags().StringVar(&opt.Dir, "data", "sagitta-data", "folder of the record, or for what only reads it a copy that backup wrote")
	cmd.Flags().StringVar(&opt.Name, "station", host, "this station's name in the record")
}
