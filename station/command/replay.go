package command

import (
	"context"
	"errors"
	"fmt"
	"os"
	"time"

	"github.com/spf13/cobra"

	"sagitta/devices/decode"
	"sagitta/devices/simulate"
)

const (
	// quietBefore is the silence before a capture's first byte: so long that a listener knows that a frame begins there.
	quietBefore = 300 * time.Millisecond
	// quietAfter follows its last byte: an unfinished frame shows, and a listener has read everything.
	quietAfter = 500 * time.Millisecond
)

func replayCommand() *cobra.Command {
	var fast, loop bool
	var link string
	cmd := &cobra.Command{
		Use:   "replay CAPTURE",
		Short: "Play recorded bytes through a pseudo-terminal, as the gauge sent them",
		Long: `Play recorded bytes through a pseudo-terminal, as the gauge sent them. It prints the path of the pseudo-terminal and waits until
a program opens it, such as sagitta listen. What comes while no program has it open is lost, as on a real line; with --fast it
waits for a program instead. It ends half a second after the last byte.`,
		Example: `  sagitta replay height.capture --link gauge
  sagitta replay height.capture --fast --loop`,
		Args: exactly("CAPTURE"),
		RunE: func(cmd *cobra.Command, args []string) (err error) {
			f, err := os.Open(args[0])
			if err != nil {
				return fmt.Errorf("capture: %w", err)
			}
			c, err := decode.ReadCapture(args[0], f)
			if err := errors.Join(err, f.Close()); err != nil {
				return err
			}
			if len(c.Chunks) == 0 {
				return fmt.Errorf("%s holds no bytes to play", args[0])
			}
			line, err := simulate.OpenLine(link)
			if err != nil {
				return err
			}
			defer func() { err = errors.Join(err, line.Close()) }()
			name := line.Name()
			if link != "" {
				name = link
			}
			fmt.Fprintln(cmd.OutOrStdout(), name)
			fmt.Fprintln(cmd.ErrOrStderr(), "Waiting for a program to open it.")
			p := player{line: line, fast: fast}
			if err := p.await(cmd.Context()); err != nil {
				return err
			}
			for {
				sent, err := p.play(cmd.Context(), c)
				if err != nil {
					return err
				}
				fmt.Fprintf(cmd.ErrOrStderr(), "Played %d of %d bytes.\n", sent, size(c))
				if !loop {
					return nil
				}
			}
		},
	}
	cmd.Flags().BoolVar(&fast, "fast", false, "as fast as the program reads, without the capture's timing")
	cmd.Flags().StringVar(&link, "link", "", "symlink to make to the pseudo-terminal, so that its path is known beforehand")
	cmd.Flags().BoolVar(&loop, "loop", false, "begin again at the end, until Ctrl-C")
	return cmd
}

func size(c *decode.Capture) (n int) {
	for _, chunk := range c.Chunks {
		n += len(chunk.Bytes)
	}
	return n
}

// player plays captures on a line.
type player struct {
	line *simulate.Line
	fast bool
}

// await waits until a program has the line open.
func (p player) await(ctx context.Context) error {
	for !p.line.Open() {
		if err := pause(ctx, 5*time.Millisecond); err != nil {
			return err
		}
	}
	return nil
}

// play plays a capture once, between two silences, and says how many bytes went out.
func (p player) play(ctx context.Context, c *decode.Capture) (sent int, err error) {
	if err := pause(ctx, quietBefore); err != nil {
		return 0, err
	}
	began := time.Now()
	for _, chunk := range c.Chunks {
		if !p.fast {
			if err := pause(ctx, time.Until(began.Add(chunk.At-c.Chunks[0].At))); err != nil {
				return sent, err
			}
		}
		n, err := p.put(ctx, chunk.Bytes)
		sent += n
		if err != nil {
			return sent, err
		}
	}
	return sent, pause(ctx, quietAfter)
}

// put puts bytes on the line and says how many went out.
func (p player) put(ctx context.Context, b []byte) (sent int, err error) {
	for sent < len(b) {
		n, err := p.line.Write(b[sent:], 100*time.Millisecond)
		sent += n
		switch {
		case errors.Is(err, simulate.ErrNobody) && p.fast:
			if err := p.await(ctx); err != nil {
				return sent, err
			}
		case errors.Is(err, simulate.ErrNobody):
			return sent, nil
		case err != nil && !errors.Is(err, simulate.ErrFull):
			return sent, err
		}
		if ctx.Err() != nil {
			return sent, ctx.Err()
		}
	}
	return sent, nil
}

// pause waits, or ends with the context's error.
func pause(ctx context.Context, d time.Duration) error {
	select {
	case <-time.After(d):
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}
