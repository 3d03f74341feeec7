package command

import (
	"context"
	"errors"
	"fmt"
	"io"
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
			ctx, end := context.WithCancelCause(cmd.Context())
			defer end(nil)
			l := listener{out: cmd.OutOrStdout(), notes: cmd.ErrOrStderr(), end: end}
			if recordTo != "" {
				file, add, err := startRecording(recordTo, args[0], d)
				if err != nil {
					return err
				}
				defer func() { failed = errors.Join(failed, file.Close()) }()
				l.keep = func(at time.Time, b []byte) {
					if err := add(at, b); err != nil {
						end(fmt.Errorf("recording %s: %w; it holds what came before", recordTo, err))
					}
				}
			}
			gauge := devices.Gauge{ID: args[0], Name: args[0], Path: args[0], Decoder: d, Capture: devices.CaptureKey}
			sup, err := devices.New([]devices.Gauge{gauge}, devices.Options{OnBytes: l.bytes, OnReading: l.reading, OnFault: l.fault, OnHealth: l.health})
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

// listener shows what comes from a port, and what becomes of it.
type listener struct {
	out, notes io.Writer
	keep       func(at time.Time, b []byte) // nil where nothing is recorded
	end        context.CancelCauseFunc
	opened     bool
}

func (l *listener) bytes(_ string, at time.Time, b []byte) {
	if l.keep != nil {
		l.keep(at, b)
	}
}

func (l *listener) reading(r devices.Reading) {
	at, v := r.At.Local().Format(clockMillis), r.Value
	if !v.IsNumber() {
		fmt.Fprintf(l.out, "%s  %10s  %s  %q\n", at, v.Status, v.Channel, r.Raw)
		return
	}
	fmt.Fprintf(l.out, "%s  %+10.4f mm  %s %s  %s  %q\n", at, v.MM, v.Digits, v.Unit, v.Channel, r.Raw)
}

func (l *listener) fault(f devices.Fault) {
	fmt.Fprintf(l.out, "%s  refused at byte %d, %s: %q\n", f.At.Local().Format(clockMillis), f.Offset, f.Why, f.Raw)
}

func (l *listener) health(h devices.Health) {
	switch h.State {
	case devices.StateMissing, devices.StateDenied, devices.StateFailed:
		if !l.opened { // it was never there: waiting would hide a mistyped port
			l.end(fmt.Errorf("%s %s", h.Words, h.ToDo))
			return
		}
	case devices.StateBusy, devices.StateUnplugged:
	default:
		l.opened = true
	}
	fmt.Fprintln(l.notes, strings.TrimSpace(h.Words+" "+h.ToDo))
	if h.State == devices.StateUnplugged {
		fmt.Fprintln(l.notes, "Waiting for the port; Ctrl-C ends.")
	}
}

// clockMillis is a time of day to the millisecond.
const clockMillis = "15:04:05.000"

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
