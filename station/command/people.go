package command

import (
	"errors"
	"fmt"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/tell"
	"sagitta/station/app"
	"sagitta/station/signon"
)

const peopleHelp = `List who is entered, or do on the station's own machine what else takes an administrator.

Whoever may write to the record's folder may use these commands, so guard the machine and its account. What they do is in the record's trail as done
"at the machine". The station must not run meanwhile.`

func peopleCommand() *cobra.Command {
	var opt app.Options
	cmd := &cobra.Command{
		Use: "people", Short: "List who is entered, issue one-time codes, turn signing on on or off", Long: peopleHelp,
		Args: itsCommands,
		Example: `  sagitta people --data shop
  sagitta people code "Wren Halloway" --data shop`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return withRecord(opt, func(db *record.DB) error { return listPeople(cmd, db) })
		},
	}
	recordFlags(cmd, &opt)
	cmd.AddCommand(codeCommand(), modeCommand("sign-on", "Have people sign on from now", true), modeCommand("no-sign-on", "Have nobody sign on from now: the station is worked on this machine only", false))
	return cmd
}

// listPeople prints who is entered, what each may, and whether they can sign on.
func listPeople(cmd *cobra.Command, db *record.DB) error {
	ctx, out := cmd.Context(), cmd.OutOrStdout()
	all, err := db.People(ctx)
	if err != nil {
		return err
	}
	on, err := db.PeopleSignOn(ctx)
	if err != nil {
		return err
	}
	fmt.Fprintln(out, tell.SignOnMode(on))
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', 0)
	if len(all) > 0 {
		fmt.Fprintln(w, "NAME\tROLE\tPASSWORD\tBADGE")
	}
	for _, p := range all {
		hash, err := db.Secret(ctx, p.ID, batch.Password)
		if err != nil {
			return err
		}
		has := "none yet"
		if hash != "" {
			has = "chosen"
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", p.Name, tell.RoleOf(p), has, p.Badge)
	}
	return w.Flush()
}

// codeCommand issues a one-time code.
func codeCommand() *cobra.Command {
	var opt app.Options
	cmd := &cobra.Command{
		Use: "code [NAME]", Short: "Issue a one-time code with which somebody chooses a new password and PIN",
		Long: `Issue a one-time code with which somebody chooses a new password and PIN on the page /sign-on/code. It ends their earlier codes and their
sessions; the password of before is good until the new one is chosen. Without a name it is the first administrator's, while there is none.`,
		Args: cobra.MaximumNArgs(1), Example: `  sagitta people code "Wren Halloway" --data shop`,
		RunE: func(cmd *cobra.Command, args []string) error {
			return withRecordToWrite(opt, func(db *record.DB) error {
				name := ""
				if len(args) == 1 {
					name = args[0]
				}
				code, until, err := signon.New(signon.Options{Record: db, Sessions: db.Sessions()}).IssueCode(cmd.Context(), batch.AtTheMachine, name)
				if err != nil {
					return err
				}
				fmt.Fprintln(cmd.OutOrStdout(), tell.CodeIssued(name, code, until))
				return nil
			})
		},
	}
	recordFlags(cmd, &opt)
	return cmd
}

// modeCommand turns signing on on or off.
func modeCommand(use, short string, on bool) *cobra.Command {
	var opt app.Options
	cmd := &cobra.Command{
		Use: use, Short: short, Args: exactly(), Example: "  sagitta people " + use + " --data shop",
		RunE: func(cmd *cobra.Command, _ []string) error {
			return withRecordToWrite(opt, func(db *record.DB) error {
				if err := db.SetPeopleSignOn(cmd.Context(), batch.AtTheMachine, on); err != nil {
					return err
				}
				fmt.Fprintln(cmd.OutOrStdout(), tell.SignOnMode(on))
				return nil
			})
		},
	}
	recordFlags(cmd, &opt)
	return cmd
}

// withRecordToWrite opens a record that is there, as its station does.
func withRecordToWrite(opt app.Options, do func(db *record.DB) error) error {
	db, err := record.Open(recordFile(opt.Dir), record.Options{Station: opt.Name, Existing: true})
	if err != nil {
		return err
	}
	return errors.Join(do(db), db.Close())
}
