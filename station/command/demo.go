package command

import (
	"fmt"
	"os"
	"time"

	"github.com/spf13/cobra"

	"sagitta/batch/history"
	"sagitta/batch/history/visits"
	"sagitta/station/app"
	"sagitta/station/demo"
)

func demoCommand() *cobra.Command {
	opt := app.Options{Name: "Quillmere bench 1", Demo: true, Retry: 50 * time.Millisecond}
	var unattended, signOn, builder bool
	var seed uint64
	var past history.Options
	var logs logging
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "The whole job with simulated gauges and an invented batch",
		Args:  exactly(),
		Example: `  sagitta demo
  sagitta demo --sign-on
  sagitta demo --builder
  sagitta demo --unattended --out demo
  sagitta demo --history 100000 --out history`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			end, err := logs.start(cmd.ErrOrStderr())
			if err != nil {
				return err
			}
			defer end()
			if opt.Dir == "" {
				dir, err := os.MkdirTemp("", "sagitta-demo-")
				if err != nil {
					return err
				}
				opt.Dir = dir
			}
			if past.Necks != 0 {
				past.Seed, past.End = seed, time.Now().AddDate(0, 0, -1)
				return historyDemo(cmd, opt, past)
			}
			if builder {
				return builderDemo(cmd, opt, seed)
			}
			if unattended {
				opt.Listen = ""
			}
			d, err := demo.Open(cmd.Context(), opt, seed)
			if err != nil {
				return err
			}
			defer func() { _ = d.Close() }()
			on, err := d.SignOn.On(cmd.Context())
			if err == nil && (signOn || on) {
				err = d.SignsOn(cmd.Context())
			}
			if err != nil {
				return err
			}
			d.WriteSigners(cmd.OutOrStdout())
			if unattended {
				return d.Unattended(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr())
			}
			fmt.Fprintf(cmd.OutOrStdout(), "Quillmere's bench is at %s (simulated gauges; record and truth in %s). Ctrl-C ends it.\n", d.URL(), opt.Dir)
			return d.Serve(cmd.Context())
		},
	}
	cmd.Flags().StringVar(&opt.Dir, "out", "", "folder for the record and the results (default: a new temporary folder)")
	listenFlag(cmd, &opt.Listen)
	cmd.Flags().BoolVar(&unattended, "unattended", false, "inspect every batch without a browser and write the workbooks")
	cmd.Flags().BoolVar(&signOn, "sign-on", false, "people sign on: badges, PINs and passwords of invented people are printed")
	cmd.Flags().BoolVar(&builder, "builder", false, "an invented builder's bench instead: leaves, a ruler, and an instrument with a life of four years")
	cmd.Flags().IntVar(&past.Necks, "history", 0, "write a record of so many invented necks over two years into --out, and end; verdicts and characteristics, no readings")
	cmd.Flags().IntVar(&past.Batch, "batch-size", 0, "necks of each batch of the history (0: 300 to 2500)")
	cmd.Flags().Uint64Var(&seed, "seed", 1, "seed of the simulated gauges' noise and of the history")
	logs.flags(cmd)
	cmd.MarkFlagsMutuallyExclusive("builder", "unattended")
	cmd.MarkFlagsMutuallyExclusive("builder", "sign-on")
	cmd.MarkFlagsMutuallyExclusive("builder", "history")
	return cmd
}

// historyDemo writes the record of an invented past.
func historyDemo(cmd *cobra.Command, opt app.Options, past history.Options) error {
	shop, err := history.New(past)
	if err != nil {
		return usageError{fmt.Errorf("--history: %w", err)}
	}
	return demo.WriteHistory(cmd.Context(), opt, shop, cmd.OutOrStdout(), cmd.ErrOrStderr())
}

// builderDemo runs the station of an invented builder.
func builderDemo(cmd *cobra.Command, opt app.Options, seed uint64) error {
	opt.Name, opt.Demo = "Quillmere back room", false
	a, err := demo.OpenBuilder(cmd.Context(), opt, seed)
	if err != nil {
		return err
	}
	defer func() { _ = a.Close() }()
	if err := a.Watch(cmd.Context()); err != nil {
		return err
	}
	fmt.Fprintf(cmd.OutOrStdout(), "A builder's bench of Quillmere is at %s (record in %s). Its instrument %s was here sixteen times in four years. Ctrl-C ends it.\n", a.URL(), opt.Dir, visits.Serial)
	return a.Serve(cmd.Context(), nil)
}
