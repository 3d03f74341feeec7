package command

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"github.com/creack/pty"
	"github.com/spf13/cobra"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/station/signon"
)

// A command that acts where people sign on asks on the terminal for the password of whoever is named, and never shows it; it does nothing in the name of nobody.
func TestTerminalIsAskedForThePassword(t *testing.T) {
	s := recordtest.New(t)
	service := signon.New(signon.Options{Record: s.DB, Sessions: s.Sessions()})
	code, _, err := service.IssueCode(t.Context(), batch.AtTheMachine, "")
	if err != nil {
		t.Fatal(err)
	}
	recordtest.Must(service.UseCode(t.Context(), code, recordtest.Manager, herons, ""))(t)
	master, terminal, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	defer master.Close()
	defer terminal.Close()
	var said bytes.Buffer
	cmd := &cobra.Command{}
	cmd.SetContext(t.Context())
	cmd.SetIn(terminal)
	cmd.SetErr(&said)
	var usage usageError
	if _, err := sealedBy(cmd, s.DB, "", "", ""); !errors.As(err, &usage) || !strings.Contains(err.Error(), "--by is needed") {
		t.Errorf("in the name of nobody: %v", err)
	}
	if _, err := master.WriteString(herons + "\n"); err != nil {
		t.Fatal(err)
	}
	ctx, err := sealedBy(cmd, s.DB, recordtest.Manager, "", "as agreed")
	if err != nil {
		t.Fatal(err)
	}
	if seals := batch.SealsIn(ctx); len(seals) != 1 || seals[0] != (batch.Seal{By: recordtest.Manager, Reason: "as agreed"}) {
		t.Errorf("seals: %+v", seals)
	}
	if want := "Password of " + recordtest.Manager + ": \n"; said.String() != want {
		t.Errorf("the terminal says %q, want %q", said.String(), want)
	}
}
