package command

import (
	"fmt"

	"github.com/spf13/cobra"

	"sagitta/batch/record"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/station/app"
)

// shells are those that sagitta completes words for.
var shells = []string{"bash", "zsh", "fish", "powershell"}

func completionCommand() *cobra.Command {
	return &cobra.Command{
		Use:       "completion SHELL",
		Short:     "Print the script by which a shell completes commands, options, batches and decoders",
		Args:      exactly("SHELL"),
		ValidArgs: shells,
		Example: `  source <(sagitta completion bash)
  sagitta completion zsh > "${fpath[1]}/_sagitta"
  sagitta completion fish > ~/.config/fish/completions/sagitta.fish
  sagitta completion powershell | Out-String | Invoke-Expression`,
		RunE: func(cmd *cobra.Command, args []string) error {
			out, root := cmd.OutOrStdout(), cmd.Root()
			switch args[0] {
			case "bash":
				return root.GenBashCompletionV2(out, true)
			case "zsh":
				return root.GenZshCompletion(out)
			case "fish":
				return root.GenFishCompletion(out, true)
			case "powershell":
				return root.GenPowerShellCompletionWithDesc(out)
			}
			return usageError{fmt.Errorf("found %q; allowed: %s", args[0], either(shells))}
		},
	}
}

// offer completes an option's value.
func offer(cmd *cobra.Command, option string, words cobra.CompletionFunc) {
	if err := cmd.RegisterFlagCompletionFunc(option, words); err != nil {
		panic(err) // the command has no such option: a mistake in this package
	}
}

// first completes the first argument alone.
func first(words cobra.CompletionFunc) cobra.CompletionFunc {
	return func(cmd *cobra.Command, args []string, begun string) ([]cobra.Completion, cobra.ShellCompDirective) {
		if len(args) > 0 {
			return nil, cobra.ShellCompDirectiveDefault
		}
		return words(cmd, args, begun)
	}
}

// batchNumbers are the batches of the record, the newest first.
func batchNumbers(opt *app.Options) cobra.CompletionFunc {
	return func(cmd *cobra.Command, _ []string, _ string) (words []cobra.Completion, _ cobra.ShellCompDirective) {
		_ = withRecord(*opt, func(db *record.DB) error { // without a record there is nothing to offer
			rows, err := db.Batches(cmd.Context())
			for _, r := range rows {
				words = append(words, cobra.CompletionWithDesc(r.Number, r.Spec.Name))
			}
			return err
		})
		return words, cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveKeepOrder
	}
}

// decoders are the built-in decoders' names; a file may stand for one.
func decoders(*cobra.Command, []string, string) (words []cobra.Completion, _ cobra.ShellCompDirective) {
	for _, d := range decode.Builtin() {
		words = append(words, d.Name)
	}
	return words, cobra.ShellCompDirectiveDefault
}

// ports are the serial ports that are present.
func ports(*cobra.Command, []string, string) (words []cobra.Completion, _ cobra.ShellCompDirective) {
	present, err := devices.ListPorts()
	if err != nil {
		return nil, cobra.ShellCompDirectiveDefault
	}
	for _, p := range present {
		words = append(words, p.Name)
	}
	return words, cobra.ShellCompDirectiveDefault
}
