package command

import (
	"fmt"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"sagitta/batch/files"
	"sagitta/devices/decode"
)

func decodeCommand() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "decode DECODER CAPTURE",
		Short: "Show what a decoder makes of recorded bytes",
		Example: `  sagitta decode "decimal comma" height.capture
  sagitta decode mine.toml height.capture --json`,
		Args: exactly("DECODER", "CAPTURE"),
		RunE: func(cmd *cobra.Command, args []string) error {
			d, err := openDecoder(args[0])
			if err != nil {
				return err
			}
			f, err := os.Open(args[1])
			if err != nil {
				return fmt.Errorf("capture: %w", err)
			}
			defer func() { _ = f.Close() }()
			c, err := decode.ReadCapture(args[1], f)
			if err != nil {
				return err
			}
			events := c.Decode(d)
			if asJSON {
				return decode.WriteJSON(cmd.OutOrStdout(), events)
			}
			for _, e := range events {
				at := e.At.Round(time.Millisecond)
				switch {
				case e.Value == nil:
					fmt.Fprintf(cmd.OutOrStdout(), "%10s  %s: %s  %q\n", at, e.Fault, e.Why, e.Raw)
				case e.Value.Status != "":
					fmt.Fprintf(cmd.OutOrStdout(), "%10s  %s  %q\n", at, e.Value.Status, e.Raw)
				default:
					fmt.Fprintf(cmd.OutOrStdout(), "%10s  %+.5f mm  %s %s %s\n", at, e.Value.MM, e.Value.Digits, e.Value.Unit, e.Value.Channel)
				}
			}
			return nil
		},
	}
	cmd.ValidArgsFunction = first(decoders)
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON line a reading or refused stretch")
	return cmd
}

// openDecoder finds a built-in decoder, or reads a decoder's TOML file.
func openDecoder(name string) (*decode.Decoder, error) {
	d, err := decode.Find(name)
	if err == nil {
		return d, nil
	}
	if !strings.HasSuffix(name, ".toml") {
		return nil, err
	}
	_, text, err := files.ReadDocument(name, nil)
	if err != nil {
		return nil, fmt.Errorf("decoder: %w", err)
	}
	return decode.Load(name, text)
}
