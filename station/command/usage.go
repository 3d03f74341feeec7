package command

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
)

// usageError is a mistake in how the program was called.
type usageError struct{ error }

// exactly checks the number of a command's arguments and names what is missing.
func exactly(names ...string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) == len(names) {
			return nil
		}
		want := "no arguments"
		if len(names) > 0 {
			want = strings.Join(names, " and ")
		}
		return usageError{fmt.Errorf("%s takes %s; %d given", cmd.CommandPath(), want, len(args))}
	}
}

// itsCommands refuses what is no command of a command that has some and does nothing by itself, and names the nearest.
func itsCommands(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	cmd.SuggestionsMinimumDistance = 2
	near := cmd.SuggestionsFor(args[0])
	if len(near) > 0 {
		return usageError{fmt.Errorf("unknown command %q of %s; did you mean %q?", args[0], cmd.CommandPath(), near[0])}
	}
	var all []string
	for _, c := range cmd.Commands() {
		if c.IsAvailableCommand() {
			all = append(all, c.Name())
		}
	}
	return usageError{fmt.Errorf("unknown command %q of %s; they are %s", args[0], cmd.CommandPath(), strings.Join(all, ", "))}
}

// allowedValues says what an option of a type takes.
var allowedValues = map[string]string{
	"float64": "a number, such as 0.5", "int": "a whole number", "uint64": "a whole number, 0 or more", "bool": "true or false",
	"duration": "a time with its unit, such as 3s or 500ms",
}

// optionError says what is wrong with an option. A command that is not there comes before its options.
func optionError(cmd *cobra.Command, err error) error {
	if cmd.HasSubCommands() {
		if unknown := itsCommands(cmd, cmd.Flags().Args()); unknown != nil {
			return unknown
		}
	}
	var invalid interface {
		error
		GetValue() string
	}
	if !errors.As(err, &invalid) {
		return usageError{err}
	}
	head := fmt.Sprintf("invalid argument %q for \"", invalid.GetValue())
	option, _, _ := strings.Cut(strings.TrimPrefix(invalid.Error(), head), `" flag: `)
	flag := cmd.Flags().Lookup(option[strings.LastIndex(option, "--")+len("--"):])
	if flag == nil || allowedValues[flag.Value.Type()] == "" {
		return usageError{err}
	}
	return usageError{fmt.Errorf("%s: found %q; allowed: %s", option, invalid.GetValue(), allowedValues[flag.Value.Type()])}
}
