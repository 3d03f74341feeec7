package command

import (
	"fmt"
	"net"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
)

// choice is the value of an option that is one of a few words.
type choice struct {
	value   *string
	allowed []string
}

// choiceFlag adds an option that is one of a few words.
func choiceFlag(cmd *cobra.Command, value *string, name, without, usage string, allowed ...string) {
	*value = without
	cmd.Flags().Var(choice{value, allowed}, name, usage)
	offer(cmd, name, cobra.FixedCompletions(allowed, cobra.ShellCompDirectiveNoFileComp))
}

func (c choice) String() string {
	if c.value == nil {
		return ""
	}
	return *c.value
}

// Set reads the option.
func (c choice) Set(text string) error {
	if !slices.Contains(c.allowed, text) {
		return fmt.Errorf("found %q; allowed: %s", text, either(c.allowed))
	}
	*c.value = text
	return nil
}

// either lists words of which one is taken: "a, b or c".
func either(words []string) string {
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " or " + words[last]
}

// Type names the value in the command's help.
func (c choice) Type() string { return strings.Join(c.allowed, "|") }

// address is the value of an option that says where the pages are: host:port.
type address string

func (a *address) String() string { return string(*a) }

// Set reads the option. An empty host is every address of this machine, port 0 any free one.
func (a *address) Set(text string) error {
	_, port, err := net.SplitHostPort(text)
	if err == nil {
		_, err = strconv.ParseUint(port, 10, 16)
	}
	if err != nil {
		return fmt.Errorf("found %q; allowed: host:port, such as %s, with a port from 0 to 65535", text, defaultListen)
	}
	*a = address(text)
	return nil
}

// Type names the value in the command's help.
func (a *address) Type() string { return "host:port" }

// listenFlag adds the option that says where the pages are.
func listenFlag(cmd *cobra.Command, value *string) {
	*value = defaultListen
	cmd.Flags().Var((*address)(value), "listen", "address of the pages")
}
