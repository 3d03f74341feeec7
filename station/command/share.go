package command

import (
	"context"
	"fmt"
	"io"
	"strings"

	"sagitta/batch"
	"sagitta/export/symbol"
	"sagitta/station/app"
)

// share prints a way in for one device of somebody: the address with its token, as a QR code and as text.
func share(ctx context.Context, out io.Writer, a *app.App, name string, colours bool) error {
	if !a.ReachedByOthers() {
		return usageError{fmt.Errorf("--share: another device does not reach %s; give --listen with an address of this machine, such as --listen :8470", a.URL())}
	}
	token, until, err := a.SignOn.Share(ctx, batch.AtTheMachine, name)
	if err != nil {
		return fmt.Errorf("--share: %w", err)
	}
	address := a.URL() + "share/" + token
	rows, err := symbol.QR(address, symbol.M)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "%s%s\nOne device of %s is signed on by this, once, until %s.\n", modules(rows, colours), address, name, until.Local().Format("15:04"))
	return err
}

// modules writes a code's modules for a terminal, two rows a line: what is white is a block, on black where the terminal has colours.
func modules(rows [][]bool, colours bool) string {
	var b strings.Builder
	for y := 0; y < len(rows); y += 2 {
		if colours {
			b.WriteString("\x1b[40;97m")
		}
		for x := range rows[y] {
			upper, lower := !rows[y][x], y+1 == len(rows) || !rows[y+1][x]
			switch {
			case upper && lower:
				b.WriteString("█")
			case upper:
				b.WriteString("▀")
			case lower:
				b.WriteString("▄")
			default:
				b.WriteString(" ")
			}
		}
		if colours {
			b.WriteString("\x1b[0m")
		}
		b.WriteString("\n")
	}
	return b.String()
}
