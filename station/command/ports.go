package command

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/tell"
	"sagitta/devices"
	"sagitta/devices/decode/infer"
	"sagitta/station/app"
	"sagitta/station/binding"
)

// portsRun is what the command ports is asked for.
type portsRun struct {
	record   app.Options
	identify string
	listen   time.Duration
	ask      bool
	save     string // name of the gauge to enter
	by       string
	password string // file of their password
	sealed   func(db *record.DB) (context.Context, error)
	measures []string
	list     devices.Lister           // devices.ListPorts outside tests
	mayNot   func(port string) string // devices.MayNot outside tests
	out      io.Writer
}

func portsCommand() *cobra.Command {
	run := portsRun{list: devices.ListPorts, mayNot: devices.MayNot}
	cmd := &cobra.Command{
		Use:   "ports",
		Short: "List the serial ports with their USB identity and gauge, or find out what a gauge on one of them speaks",
		Args:  exactly(),
		Example: `  sagitta ports
  sagitta ports --identify /dev/ttyUSB0 --save "height gauge" --by "Wren Halloway"`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			run.out = cmd.OutOrStdout()
			run.sealed = func(db *record.DB) (context.Context, error) { return sealedBy(cmd, db, run.by, run.password, "") }
			switch {
			case run.identify != "":
				return run.identifyPort(cmd.Context())
			case run.save != "":
				return usageError{errors.New("--save needs the port that the gauge is on: give it with --identify")}
			}
			return run.listPorts(cmd.Context())
		},
	}
	recordFlags(cmd, &run.record)
	cmd.Flags().StringVar(&run.identify, "identify", "", "listen to this port while its gauge's key is pressed three times, and say what its lines are")
	offer(cmd, "identify", ports)
	cmd.Flags().DurationVar(&run.listen, "listen", 2*time.Minute, "how long to listen at most; three presses end it")
	cmd.Flags().BoolVar(&run.ask, "ask", false, "also send the requests of gauges that answer only when asked")
	cmd.Flags().StringVar(&run.save, "save", "", "enter the identified gauge in the record under this name, with the likeliest decoder")
	cmd.Flags().StringVar(&run.by, "by", "", "who enters it")
	passwordFlag(cmd, &run.password)
	cmd.Flags().StringSliceVar(&run.measures, "measures", nil, `what it is used for, separated by commas: crown, action, "nut height", beam; can be chosen later on the page Gauges`)
	return cmd
}

// gauges are the gauges in use in the record, none where there is no record yet.
func (p *portsRun) gauges(ctx context.Context) ([]batch.Gauge, error) {
	db, err := record.Open(recordFile(p.record.Dir), record.Options{ReadOnly: true})
	if errors.Is(err, record.ErrNoRecord) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	all, err := db.Gauges(ctx)
	return slices.DeleteFunc(all, func(g batch.Gauge) bool { return !g.RetiredAt.IsZero() }), errors.Join(err, db.Close())
}

// listPorts prints what is plugged in, and which gauge of the record each port is.
func (p *portsRun) listPorts(ctx context.Context) error {
	ports, err := p.list()
	if err != nil {
		return err
	}
	gauges, err := p.gauges(ctx)
	if err != nil {
		return err
	}
	if len(ports) == 0 {
		fmt.Fprintln(p.out, "No serial port is present. Plug the gauge's adapter in and look again.")
		return nil
	}
	w := tabwriter.NewWriter(p.out, 2, 0, 2, ' ', 0)
	fmt.Fprintln(w, "PORT\tUSB VENDOR\tUSB PRODUCT\tUSB SERIAL NUMBER\tSOCKET\tGAUGE")
	for _, port := range ports {
		id := port.Identity
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\n", port.Name, cmp.Or(id.Vendor, "-"), cmp.Or(id.Product, "-"), cmp.Or(id.Serial, "-"), cmp.Or(port.Socket, "-"),
			cmp.Or(strings.Join(binding.Gauges(port, ports, gauges), ", "), "-"))
	}
	if err := w.Flush(); err != nil {
		return err
	}
	for _, port := range ports {
		if why := p.mayNot(port.Name); why != "" {
			fmt.Fprintln(p.out, why)
		}
	}
	return nil
}

// identifyPort listens to a port until three presses of the gauge's key have told what its lines are, prints what can be made of them,
// the likeliest first, and enters the gauge where a name is given.
func (p *portsRun) identifyPort(ctx context.Context) error {
	fmt.Fprintf(p.out, "Listening to %s. Press the gauge's key three times: at zero, raised, and below zero.\n", p.identify)
	ctx, end := context.WithTimeout(ctx, p.listen)
	defer end()
	var lesson devices.Lesson
	var guess infer.Guess
	setting := 0
	err := devices.Learn(ctx, p.identify, devices.Learning{Ask: p.ask, Tell: func(l devices.Lesson) {
		if ctx.Err() != nil {
			return
		}
		if l.Number != setting {
			setting = l.Number
			fmt.Fprintf(p.out, "  setting %d of %d, %s\n", l.Number, l.Of, l.Line.Words())
		}
		before := guess.Frames
		lesson = l
		if guess = infer.Infer(l.Heard, infer.Choice{}); len(guess.Candidates) == 0 {
			return
		}
		if last, ok := guess.Candidates[0].Last(); ok && guess.Frames != before {
			fmt.Fprintf(p.out, "  %q, read as %+g mm. %s\n", last.Raw, last.Value.MM, guess.Next.Sentence())
		}
		if guess.Frames >= infer.Enough && guess.Next == infer.Listen {
			end()
		}
	}})
	switch {
	case err != nil:
		return err
	case lesson.Bytes == 0:
		return fmt.Errorf("%s sent nothing: press the gauge's key while this listens, or use --ask for a gauge that answers only when asked", p.identify)
	case len(guess.Candidates) == 0:
		return fmt.Errorf("%s sent %s that are no lines with numbers at any setting that was tried, the last of them %q; press again, with a longer --listen", p.identify, tell.Count(lesson.Bytes, "byte"), lesson.Noise)
	}
	for i, c := range guess.Candidates {
		last, _ := c.Last()
		fmt.Fprintf(p.out, "%d. %s, at %s: %q, read as %+g mm\n", i+1, cmp.Or(c.Builtin, "made of what came"), lesson.Line.Words(), last.Raw, last.Value.MM)
		if i > 0 {
			continue
		}
		for _, part := range c.Decoder.Parts(last.Raw) {
			fmt.Fprintf(p.out, "     %-8s %q\n", part.Role, last.Raw[part.From:part.To])
		}
		for _, d := range c.Doubts {
			fmt.Fprintf(p.out, "   ? %s\n", d.Sentence())
		}
	}
	if p.save == "" {
		return nil
	}
	return p.saveGauge(lesson.Heard, guess)
}

// saveGauge enters the gauge with its adapter's identity and the likeliest decoder.
func (p *portsRun) saveGauge(h infer.Heard, guess infer.Guess) error {
	best := guess.Candidates[0]
	ports, err := p.list()
	if err != nil {
		return err
	}
	port := devices.PortInfo{Name: p.identify}
	for _, seen := range ports {
		if seen.Name == p.identify {
			port = seen
		}
	}
	g, err := binding.Entry(port, ports, h, guess, best, p.save)
	if err != nil {
		return err
	}
	g.Name = p.save
	for _, m := range p.measures {
		g.Measures = append(g.Measures, batch.Kind(strings.TrimSpace(m)))
	}
	db, err := record.Open(recordFile(p.record.Dir), record.Options{Station: p.record.Name, Existing: true})
	if errors.Is(err, record.ErrInUse) {
		return fmt.Errorf("%w. While the station runs, identify the gauge on its page Gauges instead", err)
	}
	if err != nil {
		return err
	}
	var saved batch.Gauge
	ctx, err := p.sealed(db)
	if err == nil {
		saved, err = db.SaveGauge(ctx, p.by, g)
	}
	if err := errors.Join(err, db.Close()); err != nil {
		return err
	}
	fmt.Fprintf(p.out, "Entered as %s: %s, %s, resolution %g mm. It is checked at the bench before its first verdict.\n", saved.Name, saved.Identity(), cmp.Or(best.Builtin, "a decoder of its own"), saved.ResolutionMM)
	if len(saved.Measures) == 0 {
		fmt.Fprintln(p.out, "Tick what it measures on the page Gauges, or give it with --measures.")
	}
	return nil
}
