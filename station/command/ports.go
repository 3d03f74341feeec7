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
	"sagitta/devices/decode"
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
	measures []string
	list     devices.Lister // devices.ListPorts outside tests
	out      io.Writer
}

func portsCommand() *cobra.Command {
	run := portsRun{list: devices.ListPorts}
	cmd := &cobra.Command{
		Use:   "ports",
		Short: "List the serial ports with their USB identity and gauge, or find out what a gauge on one of them speaks",
		Args:  exactly(),
		Example: `  sagitta ports
  sagitta ports --identify /dev/ttyUSB0 --save "height gauge" --by "Wren Halloway"`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			run.out = cmd.OutOrStdout()
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
	cmd.Flags().StringVar(&run.identify, "identify", "", "listen to this port and say which line settings and decoders fit what its gauge sends")
	offer(cmd, "identify", ports)
	cmd.Flags().DurationVar(&run.listen, "listen", 3*time.Second, "how long to listen with each setting of the line")
	cmd.Flags().BoolVar(&run.ask, "ask", false, "also send the requests of gauges that answer only when asked")
	cmd.Flags().StringVar(&run.save, "save", "", "enter the identified gauge in the record under this name, with the best fit")
	cmd.Flags().StringVar(&run.by, "by", "", "who enters it")
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
	return w.Flush()
}

// identifyPort tries line settings and built-in decoders on a port's live bytes, prints what fits, the best first, and
// enters the gauge where a name is given.
func (p *portsRun) identifyPort(ctx context.Context) error {
	fmt.Fprintf(p.out, "Listening to %s. Press the gauge's data key a few times at each setting.\n", p.identify)
	found, err := devices.Identify(ctx, p.identify, devices.Identifying{
		Decoders: decode.Builtin(), Listen: p.listen, Ask: p.ask,
		Trying: func(t devices.Trial) {
			fmt.Fprintf(p.out, "  setting %d, %s; %s so far\n", t.Number, t.Line.Words(), tell.Count(t.Heard, "byte"))
		},
	})
	switch {
	case err != nil:
		return err
	case len(found.Fits) == 0 && found.Heard == 0:
		return fmt.Errorf("%s sent nothing: press the gauge's data key while this listens, or use --ask for a gauge that answers only when asked", p.identify)
	case found.TooLittle != nil:
		return fmt.Errorf("%s sent %s, too little to tell: no more than one frame at a setting, and nothing says whether it was whole. The decoder %q may fit. Listen longer, with --listen %s, and press the data key several times at each setting",
			p.identify, tell.Count(found.Heard, "byte"), found.TooLittle.Name, max(3*p.listen, 3*time.Second))
	case len(found.Fits) == 0:
		return fmt.Errorf("%s sent %s that no built-in decoder reads, the last of them %q; a decoder of your own can be given as a TOML file (see DEVELOPERS.md)", p.identify, tell.Count(found.Heard, "byte"), found.Last)
	}
	for i, f := range found.Fits {
		fmt.Fprintf(p.out, "%d. %s: %s\n", i+1, f.Decoder.Name, f.Why)
	}
	if n := found.Tied(); n > 1 {
		fmt.Fprintf(p.out, "The first %d fit equally well: nothing that came tells them apart. Compare what they read with the gauge's display, or listen longer.\n", n)
	}
	if p.save == "" {
		return nil
	}
	return p.saveGauge(ctx, found.Fits[0])
}

// saveGauge enters the gauge with its adapter's identity and the decoder that fits best.
func (p *portsRun) saveGauge(ctx context.Context, f devices.Fit) error {
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
	g, err := binding.Entry(port, ports, f)
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
	saved, err := db.SaveGauge(ctx, p.by, g)
	if err := errors.Join(err, db.Close()); err != nil {
		return err
	}
	fmt.Fprintf(p.out, "Entered as %s: %s, %s, resolution %g mm. It is checked at the bench before its first verdict.\n", saved.Name, saved.Identity(), f.Decoder.Name, saved.ResolutionMM)
	if len(saved.Measures) == 0 {
		fmt.Fprintln(p.out, "Tick what it measures on the page Gauges, or give it with --measures.")
	}
	return nil
}
