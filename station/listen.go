package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"sagitta/devices"
	"sagitta/devices/decode"
)

func listenCommand() *cobra.Command {
	var decoder string
	cmd := &cobra.Command{
		Use:   "listen PORT",
		Short: "Show a gauge's decoded readings, live, with their raw bytes",
		Args:  exactly("PORT"),
		RunE: func(cmd *cobra.Command, args []string) error {
			d, err := decoderFromFlag(decoder)
			if err != nil {
				return err
			}
			out := cmd.OutOrStdout()
			ctx, end := context.WithCancelCause(cmd.Context())
			defer end(nil)
			opened := false
			sup, err := devices.New([]devices.Gauge{{ID: args[0], Name: args[0], Path: args[0], Decoder: d, Capture: "key"}}, devices.Options{
				OnReading: func(r devices.Reading) {
					v := r.Value
					if !v.IsNumber() {
						fmt.Fprintf(out, "%s  %10s  %s  %q\n", r.At.Local().Format("15:04:05.000"), v.Status, v.Channel, r.Raw)
						return
					}
					fmt.Fprintf(out, "%s  %+10.4f mm  %s %s  %s  %q\n", r.At.Local().Format("15:04:05.000"), v.MM, v.Digits, v.Unit, v.Channel, r.Raw)
				},
				OnFault: func(f devices.Fault) { fmt.Fprintf(out, "refused at byte %d, %s: %q\n", f.Offset, f.Why, f.Raw) },
				OnHealth: func(h devices.Health) {
					switch h.State {
					case devices.StateMissing, devices.StateDenied, devices.StateFailed:
						if !opened { // it was never there: waiting would hide a mistyped port
							end(fmt.Errorf("%s %s", h.Words, h.ToDo))
							return
						}
					case devices.StateBusy, devices.StateUnplugged:
					default:
						opened = true
					}
					fmt.Fprintln(cmd.ErrOrStderr(), strings.TrimSpace(h.Words+" "+h.ToDo))
					if h.State == devices.StateUnplugged {
						fmt.Fprintln(cmd.ErrOrStderr(), "Waiting for the port; Ctrl+C ends.")
					}
				},
			})
			if err != nil {
				return err
			}
			sup.Run(ctx)
			if cmd.Context().Err() != nil {
				return nil
			}
			return context.Cause(ctx)
		},
	}
	cmd.Flags().StringVar(&decoder, "decoder", "", "built-in decoder's name, or a decoder's TOML file")
	return cmd
}

// decoderFromFlag finds a built-in decoder or reads a decoder's file.
func decoderFromFlag(name string) (*decode.Decoder, error) {
	if name == "" {
		return nil, usageError{fmt.Errorf("--decoder is missing; built in are %s; or give a decoder's TOML file", decoderNames())}
	}
	if !strings.HasSuffix(name, ".toml") {
		if _, err := decode.Find(name); err != nil {
			return nil, usageError{fmt.Errorf("--decoder: %w; or give a decoder's TOML file", err)}
		}
	}
	return openDecoder(name)
}

// decoderNames lists the built-in decoders' names, quoted.
func decoderNames() string {
	var names []string
	for _, d := range decode.Builtin() {
		names = append(names, strconv.Quote(d.Name))
	}
	return strings.Join(names, ", ")
}
