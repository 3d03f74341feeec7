// Command sagitta is an inspection station for finished guitar necks: it reads digital gauges over serial lines, computes
// relief, flatness, twist and action, judges them against a batch's specification, advises rework, keeps the record and
// writes the batch's workbook.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"

	"sagitta/station/command"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	os.Exit(command.Run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
