package command

import (
	"context"
	"fmt"
	"io"

	"sagitta/batch"
	"sagitta/station/app"
)

// firstCode prints the one-time code of the first administrator while there is none. What keeps it from being issued keeps no station from working.
func firstCode(ctx context.Context, out, errs io.Writer, a *app.App) {
	code, until, err := a.SignOn.IssueCode(ctx, batch.AtTheMachine, "")
	switch {
	case err == nil:
		fmt.Fprintf(out, "Nobody signs on yet. Where you work alone on this machine nothing is to be done. For people to sign on, open %ssign-on/code\n"+
			"and give this one-time code, until %s: it makes you the first administrator.\n\n    %s\n\n", a.URL(), until.Local().Format("2006-01-02 15:04"), code)
	case batch.KindOf(err) != batch.Conflict: // there is an administrator
		fmt.Fprintf(errs, "sagitta: no one-time code for the first administrator: %v\n", err)
	}
}
