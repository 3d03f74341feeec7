package main

import (
	"context"
	"fmt"
	"io"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"sagitta/devices"
	"sagitta/devices/decode"
)

func portsCommand() *cobra.Command {
	var identify string
	var ask bool
	var listen time.Duration
	cmd := &cobra.Command{
		Use:   "ports",
		Short: "List the serial ports with their USB identity, or find out what a gauge on one of them speaks",
		Args:  exactly(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if identify != "" {
				return identifyPort(cmd.Context(), cmd.OutOrStdout(), identify, listen, ask)
			}
			return listPorts(cmd.OutOrStdout())
		},
	}
	cmd.Flags().StringVar(&identify, "identify", "", "listen to this port and say which decoders fit what its gauge sends")
	cmd.Flags().DurationVar(&listen, "listen", 3*time.Second, "how long to listen with each setting of the line")
	cmd.Flags().BoolVar(&ask, "ask", false, "also send the requests of gauges that answer only when asked")
	return cmd
}

// listPorts prints what is plugged in.
func listPorts(out io.Writer) error {
	ports, err := devices.ListPorts()
	if err != nil {
		return err
	}
	if len(ports) == 0 {
		fmt.Fprintln(out, "No serial port is present. Plug the gauge's adapter in and look again.")
		return nil
	}
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', 0)
	fmt.Fprintln(w, "PORT\tUSB VENDOR\tUSB PRODUCT\tUSB SERIAL NUMBER")
	for _, p := range ports {
		id := p.Identity
		if id.IsZero() {
			id = devices.Identity{Vendor: "-", Product: "-", Serial: "-"}
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", p.Name, id.Vendor, id.Product, id.Serial)
	}
	return w.Flush()
}

// identifyPort tries every built-in decoder on a port's live bytes and prints what fits, the best first.
func identifyPort(ctx context.Context, out io.Writer, port string, listen time.Duration, ask bool) error {
	fmt.Fprintf(out, "Listening to %s. Press the gauge's data key a few times.\n", port)
	fits, heard, err := devices.Identify(ctx, port, decode.Builtin(), listen, ask)
	if err != nil {
		return err
	}
	if len(fits) == 0 && heard == 0 {
		return fmt.Errorf("%s sent nothing: press the gauge's data key while this listens, or use --ask for a gauge that answers only when asked", port)
	}
	if len(fits) == 0 {
		return fmt.Errorf("%s sent %d bytes that no built-in decoder reads; a decoder of your own can be given as a TOML file (see DEVELOPERS.md)", port, heard)
	}
	for i, f := range fits {
		fmt.Fprintf(out, "%d. %s: %s\n", i+1, f.Decoder.Name, f.Why)
	}
	return nil
}
