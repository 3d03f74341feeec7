package command

import (
	"fmt"
	"io"
	"log"
	"log/slog"
	"os"
	"strings"

	"github.com/spf13/cobra"
)

// logging is where a station's log goes: ports lost and found, commits refused, requests that failed.
type logging struct {
	level string
	file  string
}

// flags adds the options of the log.
func (l *logging) flags(cmd *cobra.Command) {
	choiceFlag(cmd, &l.level, "log-level", "warn", "least that the log tells", "debug", "info", "warn", "error")
	cmd.Flags().StringVar(&l.file, "log-file", "", "file that the log is added to (default: standard error)")
}

// start makes the log the program's own until end is called.
func (l *logging) start(errs io.Writer) (end func(), err error) {
	to := errs
	closeFile := func() {}
	if l.file != "" {
		file, err := os.OpenFile(l.file, os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o640)
		if err != nil {
			return nil, fmt.Errorf("--log-file: %w", err)
		}
		to, closeFile = file, func() { _ = file.Close() }
	}
	var level slog.Level
	if err := level.UnmarshalText([]byte(strings.ToUpper(l.level))); err != nil {
		return nil, err
	}
	before, plain, flags := slog.Default(), log.Writer(), log.Flags()
	slog.SetDefault(slog.New(slog.NewTextHandler(to, &slog.HandlerOptions{Level: level})))
	return func() {
		slog.SetDefault(before)
		log.SetOutput(plain)
		log.SetFlags(flags)
		closeFile()
	}, nil
}
