package demo

import (
	"fmt"
	"io"
	"os"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"
)

// progress is a bar of n steps on a terminal; a file or a pipe gets nothing of it.
func progress(errs io.Writer, n int, what string) *progressbar.ProgressBar {
	f, ok := errs.(*os.File)
	terminal := ok && term.IsTerminal(int(f.Fd()))
	return progressbar.NewOptions(n, progressbar.OptionSetWriter(errs), progressbar.OptionSetVisibility(terminal),
		progressbar.OptionSetDescription(what), progressbar.OptionShowCount(), progressbar.OptionSetWidth(30),
		progressbar.OptionOnCompletion(func() {
			if terminal {
				fmt.Fprintln(errs)
			}
		}))
}
