package command

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sagitta/batch/files"
)

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
		return usageError{fmt.Errorf("%s takes %s; %d given", of(cmd), want, len(args))}
	}
}

// of is a command in an error, which begins with the program's name: "report", "study crossed".
func of(cmd *cobra.Command) string {
	if !cmd.HasParent() {
		return cmd.Name()
	}
	return strings.TrimPrefix(cmd.CommandPath(), cmd.Root().Name()+" ")
}

// itsCommands refuses what is no command of a command that has some and does nothing by itself, and names the nearest.
func itsCommands(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	var words, shown []string
	for _, c := range cmd.Commands() {
		if c.IsAvailableCommand() {
			words = append(append(words, c.Name()), c.Aliases...)
			shown = append(shown, namesOf(c))
		}
	}
	if near := files.Nearest(args[0], words); near != "" {
		return usageError{fmt.Errorf("unknown command %q of %s; did you mean %q?", args[0], cmd.CommandPath(), near)}
	}
	return usageError{fmt.Errorf("unknown command %q of %s; they are %s", args[0], cmd.CommandPath(), strings.Join(shown, ", "))}
}

// namesOf is a command's name with its others in brackets.
func namesOf(cmd *cobra.Command) string {
	if len(cmd.Aliases) == 0 {
		return cmd.Name()
	}
	return cmd.Name() + " (" + strings.Join(cmd.Aliases, ", ") + ")"
}

// also gives a command other names.
func also(cmd *cobra.Command, names ...string) *cobra.Command {
	cmd.Aliases = names
	return cmd
}

// allowedValues says what an option of a type takes. Types of our own say it in their errors.
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
	var invalid *pflag.InvalidValueError
	var missing *pflag.ValueRequiredError
	var unknown *pflag.NotExistError
	switch {
	case errors.As(err, &invalid):
		flag := invalid.GetFlag()
		if allowed := allowedValues[flag.Value.Type()]; allowed != "" {
			return usageError{fmt.Errorf("--%s: found %q; allowed: %s", flag.Name, invalid.GetValue(), allowed)}
		}
		return usageError{fmt.Errorf("--%s: %w", flag.Name, invalid.Unwrap())}
	case errors.As(err, &missing):
		return usageError{fmt.Errorf("--%s: found no value; needed: --%[1]s %s", missing.GetFlag().Name, placeholder(missing.GetFlag()))}
	case errors.As(err, &unknown):
		return usageError{unknownOption(cmd, unknown)}
	}
	return usageError{err}
}

// unknownOption names the option that is nearest to one that a command does not have, or all that it has.
func unknownOption(cmd *cobra.Command, unknown *pflag.NotExistError) error {
	given := "--" + unknown.GetSpecifiedName()
	if unknown.GetSpecifiedShortnames() != "" {
		given = "-" + unknown.GetSpecifiedName()
	}
	var all []string
	visitOptions(cmd, func(f *pflag.Flag) { all = append(all, "--"+f.Name) })
	if near := files.Nearest(given, all); near != "" {
		return fmt.Errorf("unknown option %s of %s; did you mean %s?", given, cmd.CommandPath(), near)
	}
	return fmt.Errorf("unknown option %s of %s; its options are %s", given, cmd.CommandPath(), strings.Join(all, ", "))
}
