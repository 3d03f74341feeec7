package main

import (
	"fmt"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"sagitta/devices"
)

func portsCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "ports",
		Short: "List the serial ports with their USB identity",
		Args:  exactly(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			ports, err := devices.ListPorts()
			if err != nil {
				return err
			}
			if len(ports) == 0 {
				fmt.Fprintln(cmd.OutOrStdout(), "No serial port is present. Plug the gauge's adapter in and look again.")
				return nil
			}
			w := tabwriter.NewWriter(cmd.OutOrStdout(), 2, 0, 2, ' ', 0)
			fmt.Fprintln(w, "PORT\tUSB VENDOR\tUSB PRODUCT\tUSB SERIAL NUMBER")
			for _, p := range ports {
				id := p.Identity
				if id == (devices.Identity{}) {
					id = devices.Identity{Vendor: "-", Product: "-", Serial: "-"}
				}
				fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", p.Name, id.Vendor, id.Product, id.Serial)
			}
			return w.Flush()
		},
	}
}
