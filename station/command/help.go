package command

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

func helpCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND]",
		Short: "What a command does, its options and examples",
		ValidArgsFunction: func(cmd *cobra.Command, args []string, _ string) (words []cobra.Completion, _ cobra.ShellCompDirective) {
			if of, rest, err := cmd.Root().Find(args); err == nil && len(rest) == 0 {
				for _, c := range of.Commands() {
					words = append(words, cobra.CompletionWithDesc(c.Name(), c.Short))
				}
			}
			return words, cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			of, rest, err := cmd.Root().Find(args)
			if of.HasSubCommands() {
				if err := itsCommands(of, rest); err != nil {
					return err
				}
			}
			if err != nil {
				return usageError{err}
			}
			of.InitDefaultHelpFlag() // which takes over the options of all commands
			return of.Help()
		},
	}
}

// showHelp is what a command does that only has commands of its own.
func showHelp(cmd *cobra.Command, _ []string) error { return cmd.Help() }

func init() { cobra.EnableCommandSorting = false } // commands are listed in the order of the work

// printHelp prints what a command is for, how it is called, its commands by their groups, its options and examples.
func printHelp(cmd *cobra.Command, _ []string) {
	page := pageOf(cmd.OutOrStdout())
	var b bytes.Buffer
	if cmd.Long != "" {
		fmt.Fprintln(&b, cmd.Long)
	} else {
		fmt.Fprintln(&b, wrapped(cmd.Short, page.width, 0))
	}
	use := cmd.CommandPath() + " COMMAND"
	if !cmd.HasAvailableSubCommands() {
		use = cmd.Parent().CommandPath() + " " + cmd.Use + " [options]"
	}
	fmt.Fprintf(&b, "\n  %s\n", use)
	if len(cmd.Aliases) > 0 {
		fmt.Fprintf(&b, "  also called %s\n", strings.Join(cmd.Aliases, ", "))
	}
	listCommands(&b, cmd, page.width)
	listOptions(&b, cmd, page.width)
	if cmd.Example != "" {
		fmt.Fprintf(&b, "\nExamples\n%s\n", cmd.Example)
	}
	if cmd.HasAvailableSubCommands() {
		fmt.Fprintf(&b, "\n%s COMMAND --help tells more.\n", cmd.CommandPath())
	}
	if !cmd.HasParent() {
		fmt.Fprintln(&b, "Exit status: 0 done, 1 could not, 2 wrong usage, 3 the answer is \"does not conform\"\n(of verify --against: a file does not agree with the record).")
	}
	_, _ = cmd.OutOrStdout().Write(page.set(b.Bytes()))
}

// listCommands lists a command's commands, those of a group under its title.
func listCommands(out io.Writer, cmd *cobra.Command, width int) {
	groups := cmd.Groups()
	if len(groups) == 0 && cmd.HasAvailableSubCommands() {
		groups = []*cobra.Group{{Title: "Commands"}}
	}
	for _, g := range groups {
		var list entries
		for _, c := range cmd.Commands() {
			if c.GroupID == g.ID && c.IsAvailableCommand() {
				list.add(namesOf(c), c.Short)
			}
		}
		fmt.Fprintf(out, "\n%s\n", g.Title)
		list.print(out, width)
	}
}

// listOptions lists a command's options, the help's last.
func listOptions(out io.Writer, cmd *cobra.Command, width int) {
	var list entries
	visitOptions(cmd, func(f *pflag.Flag) {
		name := "--" + f.Name
		if f.Shorthand != "" {
			name = "-" + f.Shorthand + ", --" + f.Name
		}
		if value := placeholder(f); value != "" {
			name += " " + value
		}
		usage := f.Usage
		if !slices.Contains([]string{"", "0", "false", "[]"}, f.DefValue) {
			usage += " (default " + f.DefValue + ")"
		}
		list.add(name, usage)
	})
	fmt.Fprintln(out, "\nOptions")
	list.print(out, width)
}

// visitOptions visits a command's options in their order, the help's last.
func visitOptions(cmd *cobra.Command, visit func(*pflag.Flag)) {
	var help *pflag.Flag
	all := cmd.Flags()
	all.SortFlags = false
	all.VisitAll(func(f *pflag.Flag) {
		switch {
		case f.Name == "help":
			help = f
		case !f.Hidden:
			visit(f)
		}
	})
	if help != nil {
		visit(help)
	}
}

// placeholder stands for an option's value; "" where it takes none.
func placeholder(f *pflag.Flag) string {
	switch kind := f.Value.Type(); kind {
	case "bool":
		return ""
	case "string":
		return "TEXT"
	case "stringSlice":
		return "A,B"
	case "float64":
		return "NUMBER"
	case "int", "uint64":
		return "N"
	case "duration":
		return "TIME"
	default:
		return kind
	}
}

// entries are names and what each is for.
type entries [][2]string

func (e *entries) add(name, text string) { *e = append(*e, [2]string{name, text}) }

// widestName is how long a name may be that has its text beside it; a longer one has it below.
const widestName = 28

// print sets the texts in one column.
func (e entries) print(out io.Writer, width int) {
	column := 0
	for _, one := range e {
		if n := utf8.RuneCountInString(one[0]); n <= widestName {
			column = max(column, n)
		}
	}
	indent := strings.Repeat(" ", column+4)
	for _, one := range e {
		text := wrapped(indent+one[1], width, len(indent))
		if n := 2 + utf8.RuneCountInString(one[0]); n < len(indent) {
			text = "  " + one[0] + text[n:]
		} else {
			text = "  " + one[0] + "\n" + text
		}
		fmt.Fprintln(out, text)
	}
}
