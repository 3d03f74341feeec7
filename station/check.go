package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"runtime"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"sagitta/batch"
	"sagitta/inspect"
)

func checkCommand() *cobra.Command {
	var asJSON bool
	var explain string
	cmd := &cobra.Command{
		Use:   "check SPEC READINGS...",
		Short: "Verdict for files of readings (- reads standard input); exit status 3 when any does not conform",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) < 2 {
				return usageError{fmt.Errorf("check takes SPEC and at least one file of READINGS; %d given", len(args))}
			}
			first := slices.Index(args[1:], "-")
			if first >= 0 && slices.Contains(args[first+2:], "-") {
				return usageError{errors.New("check: - is given twice: standard input can be read once")}
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			explained := cmd.Flags().Changed("explain")
			if explained && asJSON {
				return usageError{errors.New("--explain and --json exclude each other: an explanation is text")}
			}
			text, err := os.ReadFile(args[0])
			if err != nil {
				return fmt.Errorf("specification: %w", err)
			}
			spec, err := batch.ReadSpec(args[0], text)
			if err != nil {
				return err
			}
			if explained {
				return explainFiles(cmd, spec, args[1:], explain)
			}
			return checkFiles(cmd, spec, args[1:], asJSON)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON result a line")
	cmd.Flags().StringVar(&explain, "explain", "", "print how a characteristic comes about (e.g. relief), with its uncertainty budget")
	return cmd
}

// checked is the verdict on one file, already written out for print.
type checked struct {
	text     []byte
	rejected bool
	err      error
}

// checkFiles judges every file in parallel and prints the verdicts in the files' order, a few files ahead of what is
// printed at the most. A file that cannot be read does not keep the others from being judged.
func checkFiles(cmd *cobra.Command, spec *inspect.Spec, files []string, asJSON bool) error {
	ahead := make(chan chan checked, 4*runtime.GOMAXPROCS(0)) // in the files' order
	go func() {
		defer close(ahead)
		free := make(chan struct{}, runtime.GOMAXPROCS(0))
		for _, file := range files {
			verdict := make(chan checked, 1)
			ahead <- verdict
			free <- struct{}{}
			go func() {
				verdict <- judgeFile(cmd.InOrStdin(), spec, file, asJSON)
				<-free
			}()
		}
	}()
	out := bufio.NewWriter(cmd.OutOrStdout())
	unread, rejected := 0, false
	for verdict := range ahead {
		v := <-verdict
		if v.err != nil {
			unread++
			fmt.Fprintln(cmd.ErrOrStderr(), "sagitta: "+v.err.Error())
			continue
		}
		rejected = rejected || v.rejected
		_, _ = out.Write(v.text) // Flush reports a failed write
	}
	if err := out.Flush(); err != nil {
		return err
	}
	switch {
	case unread > 0:
		return fmt.Errorf("%d of %d files of readings could not be judged", unread, len(files))
	case rejected:
		return errDoesNotConform
	}
	return nil
}

// judgeFile writes the verdict on one file: a line of JSON, or the table for people.
func judgeFile(stdin io.Reader, spec *inspect.Spec, file string, asJSON bool) checked {
	_, res, err := checkFile(stdin, spec, file)
	if err != nil {
		return checked{err: err}
	}
	var text bytes.Buffer
	if asJSON {
		err = json.NewEncoder(&text).Encode(res)
	} else {
		printResult(&text, spec, res)
	}
	return checked{text: text.Bytes(), rejected: !res.Conforms, err: err}
}

// checkFile reads and judges one file; "-" is standard input.
func checkFile(stdin io.Reader, spec *inspect.Spec, file string) (*inspect.Readings, *inspect.Result, error) {
	var data []byte
	var err error
	if file == "-" {
		file = "standard input"
		data, err = io.ReadAll(stdin)
	} else {
		data, err = os.ReadFile(file)
	}
	if err != nil {
		return nil, nil, err
	}
	readings, err := batch.ReadReadings(file, data, spec)
	if err != nil {
		return nil, nil, err
	}
	res, err := inspect.Evaluate(spec, readings, inspect.Options{})
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", file, err)
	}
	return readings, res, nil
}

// printResult prints one verdict for people: every limited characteristic with its margin, then the advice.
func printResult(out io.Writer, spec *inspect.Spec, res *inspect.Result) {
	fmt.Fprintf(out, "%s, %s revision %s: %s\n", res.Serial, res.Spec, res.Revision, strings.ToUpper(string(res.Disposition)))
	if res.Disposition == inspect.Remeasure {
		fmt.Fprintf(out, "  %s.\n", res.Why)
	}
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', 0)
	fmt.Fprintln(w, "  characteristic\tvalue\tU\tlower\tupper\tmargin\tstate\t")
	limited, left := 0, 0
	worst := worstOfTrack(res)
	for i, c := range res.Characteristics {
		if c.Zone == inspect.NoLimit {
			continue
		}
		limited++
		if atEveryFret(&c) && c.Zone == inspect.Conforming && worst[c.Name+c.Track] != i {
			left++
			continue
		}
		margin := ""
		if m, ok := inspect.WorstMargin(c); ok {
			margin = number(&m, c.Unit, true)
		}
		u := ""
		if c.U != nil && *c.U > 0 {
			twice := 2 * *c.U
			u = number(&twice, c.Unit, false)
		}
		fmt.Fprintf(w, "  %s\t%s\t%s\t%s\t%s\t%s\t%s\t\n", inspect.Words(spec, c), number(c.Value, c.Unit, false), u,
			number(c.Lower, c.Unit, false), number(c.Upper, c.Unit, false), margin, c.Zone)
	}
	if limited == 0 {
		fmt.Fprintln(w, "  nothing was judged: the specification has no limits\t")
	}
	_ = w.Flush() // the writer below reports its own failure
	if left > 0 {
		fmt.Fprintf(out, "  %d more values at single frets conform; each track's nearest to a limit is listed\n", left)
	}
	for _, p := range res.Profile {
		drawProfile(out, spec, p)
	}
	for _, a := range res.Advice {
		fmt.Fprintf(out, "  %d. %s\n", a.Order, inspect.AdviceWords(a))
		printEffect(out, spec, &a)
	}
	for _, r := range inspect.Remedies(res) {
		fmt.Fprintf(out, "  %s (common practice): likely %s; helps, by the %s: %s\n", r.Defect, strings.Join(r.Causes, ", or "), r.Who,
			strings.Join(r.Remedies, "; "))
	}
	for _, c := range inspect.Cautions(res.Advice) {
		fmt.Fprintf(out, "  Caution: %s\n", c)
	}
}

// printEffect prints what a step is predicted to do to what is out of its limits before it or not inside them after it.
func printEffect(out io.Writer, spec *inspect.Spec, a *inspect.Advice) {
	head := "predicted"
	switch {
	case a.What == "repairer":
		head = "to be reached"
	case a.Waits:
		head = "predicted, once the steps before it are done"
	}
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', 0)
	fmt.Fprintf(w, "       %s\tbefore\tafter\tinterval\tlower\tupper\tstate\t\n", head)
	shown, others := 0, 0
	for _, p := range a.Predicted {
		if p.ZoneBefore == inspect.Conforming && p.Zone == inspect.Conforming {
			others++
			continue
		}
		shown++
		c := inspect.Characteristic{Name: p.Name, Track: p.Track, String: p.String, Fret: p.Fret, HeldFret: p.HeldFret}
		fmt.Fprintf(w, "       %s\t%s\t%s\t%s to %s\t%s\t%s\t%s\t\n", inspect.Words(spec, c), number(p.Before, p.Unit, false),
			number(&p.Value, p.Unit, false), bare(p.Interval[0], p.Unit), number(&p.Interval[1], p.Unit, false),
			number(p.Lower, p.Unit, false), number(p.Upper, p.Unit, false), p.Zone)
	}
	if shown > 0 {
		_ = w.Flush() // the writer below reports its own failure
	}
	switch others {
	case 0:
	case 1:
		fmt.Fprintln(out, "       1 more value changes and stays inside its limits")
	default:
		fmt.Fprintf(out, "       %d more values change and stay inside their limits\n", others)
	}
}

// atEveryFret reports a characteristic that a track has at most of its frets.
func atEveryFret(c *inspect.Characteristic) bool {
	return c.Name == "rocker" || c.Name == "level_deviation"
}

// worstOfTrack is the index of each track's rocker and level deviation that is nearest to a limit.
func worstOfTrack(res *inspect.Result) map[string]int {
	worst := map[string]int{}
	for i, c := range res.Characteristics {
		m, ok := inspect.WorstMargin(c)
		if !atEveryFret(&c) || !ok {
			continue
		}
		key := c.Name + c.Track
		if j, seen := worst[key]; seen {
			if other, _ := inspect.WorstMargin(res.Characteristics[j]); other <= m {
				continue
			}
		}
		worst[key] = i
	}
	return worst
}

// bare prints a value without its unit.
func bare(v float64, unit string) string {
	return strings.TrimSuffix(number(&v, unit, false), " "+unit)
}

// number prints a value for people in its unit, "" when it is absent.
func number(v *float64, unit string, sign bool) string {
	if v == nil || math.IsNaN(*v) {
		return ""
	}
	format := "%.3f"
	if unit != "mm" {
		format = "%.2f"
	}
	if sign {
		format = "%+" + format[1:]
	}
	words := fmt.Sprintf(format, *v)
	if strings.Trim(words, "-0.") == "" { // no sign of a rounded nothing
		words = strings.TrimPrefix(words, "-")
	}
	return words + " " + unit
}
