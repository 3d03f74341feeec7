package command

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"sagitta/devices"
	"sagitta/devices/decode"
)

func listenCommand() *cobra.Command {
	var decoder, recordTo string
	cmd := &cobra.Command{
		Use:   "listen PORT",
		Short: "Show a gauge's decoded readings, live, with their raw bytes",
		Long: `Show a gauge's decoded readings, live, with their raw bytes. With --record everything that comes is also kept as a capture,
which decode reads and replay plays. Each piece is in the file before it is shown, so a kill loses nothing that was shown.`,
		Args: exactly("PORT"),
		Example: `  sagitta listen /dev/ttyUSB0 --decoder "decimal comma"
  sagitta listen COM3 --decoder mine.toml --record height.capture`,
		RunE: func(cmd *cobra.Command, args []string) (failed error) {
			d, err := decoderFromFlag(decoder)
			if err != nil {
				return err
			}
			out := cmd.OutOrStdout()
			ctx, end := context.WithCancelCause(cmd.Context())
			defer end(nil)
			keep := func(time.Time, []byte) {}
			if recordTo != "" {
				file, add, err := startRecording(recordTo, args[0], d)
				if err != nil {
					return err
				}
				defer func() { failed = errors.Join(failed, file.Close()) }()
				keep = func(at time.Time, b []byte) {
					if err := add(at, b); err != nil {
						end(fmt.Errorf("recording %s: %w; it holds what came before", recordTo, err))
					}
				}
			}
			opened := false
			sup, err := devices.New([]devices.Gauge{{ID: args[0], Name: args[0], Path: args[0], Decoder: d, Capture: "key"}}, devices.Options{
				OnBytes: func(_ string, at time.Time, b []byte) { keep(at, b) },
				OnReading: func(r devices.Reading) {
					v := r.Value
					if !v.IsNumber() {
						fmt.Fprintf(out, "%s  %10s  %s  %q\n", r.At.Local().Format("15:04:05.000"), v.Status, v.Channel, r.Raw)
						return
					}
					fmt.Fprintf(out, "%s  %+10.4f mm  %s %s  %s  %q\n", r.At.Local().Format("15:04:05.000"), v.MM, v.Digits, v.Unit, v.Channel, r.Raw)
				},
				OnFault: func(f devices.Fault) {
					fmt.Fprintf(out, "%s  refused at byte %d, %s: %q\n", f.At.Local().Format("15:04:05.000"), f.Offset, f.Why, f.Raw)
				},
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
						fmt.Fprintln(cmd.ErrOrStderr(), "Waiting for the port; Ctrl-C ends.")
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
	offer(cmd, "decoder", decoders)
	cmd.ValidArgsFunction = first(ports)
	cmd.Flags().StringVar(&recordTo, "record", "", "new file to keep everything that comes in, as a capture")
	return cmd
}

// startRecording makes the capture's file, which must not be there yet; add writes what came at a time.
func startRecording(path, port string, d *decode.Decoder) (file *os.File, add func(time.Time, []byte) error, err error) {
	file, err = os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return nil, nil, fmt.Errorf("--record: %s is there already and is not overwritten; give another name", path)
	} else if err != nil {
		return nil, nil, fmt.Errorf("--record: %w", err)
	}
	began := time.Now()
	rec, err := decode.NewRecorder(file, [][2]string{
		{"gauge", "not named; on port " + port},
		{"decoder", d.Name},
		{"line", d.Line.Words()},
		{"shows", "what came while sagitta listened; it may begin inside a frame"},
		{"made", "recorded by sagitta listen, decoder revision " + d.Revision + ", from " + began.Format(time.RFC3339)},
	})
	if err != nil {
		return nil, nil, errors.Join(fmt.Errorf("--record: %w", err), file.Close())
	}
	return file, func(at time.Time, b []byte) error { return rec.Add(at.Sub(began), b) }, nil
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
