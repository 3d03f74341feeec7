package command

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/station/signon"
)

// passwordFlag is the option of commands that act under somebody's name.
func passwordFlag(cmd *cobra.Command, file *string) {
	cmd.Flags().StringVar(file, "password-file", "", "where people sign on: the file whose first line is the password of --by, - for standard input (default: ask on the terminal)")
}

// sealedBy is the context of a command's act under somebody's name: where people sign on they prove themselves with their password, and what they do is
// signed with the reason given.
func sealedBy(cmd *cobra.Command, db *record.DB, by, file, reason string) (context.Context, error) {
	ctx := cmd.Context()
	on, err := db.PeopleSignOn(ctx)
	if err != nil || !on {
		return ctx, err
	}
	if by == "" {
		return nil, usageError{errors.New("--by is needed: people sign on here, and whoever does this gives their name and password")}
	}
	password, err := readPassword(cmd, by, file)
	if err != nil {
		return nil, err
	}
	seal, err := signon.New(signon.Options{Record: db, Sessions: db.Sessions()}).Prove(ctx, by, password, reason)
	if err != nil {
		return nil, err
	}
	return batch.WithSeals(ctx, seal), nil
}

// readPassword reads a password from a file's first line, or asks for it on the terminal without showing it.
func readPassword(cmd *cobra.Command, by, file string) (string, error) {
	from := cmd.InOrStdin()
	switch file {
	case "":
		in, ok := from.(*os.File)
		if !ok || !term.IsTerminal(int(in.Fd())) {
			return "", usageError{errors.New("people sign on here, and this is no terminal to ask for a password on: give --password-file")}
		}
		fmt.Fprintf(cmd.ErrOrStderr(), "Password of %s: ", by)
		typed, err := term.ReadPassword(int(in.Fd()))
		fmt.Fprintln(cmd.ErrOrStderr())
		return string(typed), err
	case "-":
	default:
		f, err := os.Open(file)
		if err != nil {
			return "", fmt.Errorf("the password of %s: %w", by, err)
		}
		defer f.Close()
		from = f
	}
	line, err := bufio.NewReader(io.LimitReader(from, 1<<12)).ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return "", fmt.Errorf("the password of %s: %w", by, err)
	}
	return strings.TrimRight(line, "\r\n"), nil
}
