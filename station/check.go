package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"runtime"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"

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
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			text, err := os.ReadFile(args[0])
			if err != nil {
				return fmt.Errorf("specification: %w", err)
			}
			spec, err := batch.ReadSpec(args[0], text)
			if err != nil {
				return err
			}
			if explain != "" {
				return explainFiles(cmd, spec, args[1:], explain)
			}
			return checkFiles(cmd, spec, args[1:], asJSON)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON result a line")
	cmd.Flags().StringVar(&explain, "explain", "", "print how a characteristic comes about (e.g. relief), with its uncertainty budget")
	return cmd
}

// checkFiles judges every file in parallel and prints the verdicts in the files' order. A file that cannot be read does
// not keep the others from being judged.
func checkFiles(cmd *cobra.Command, spec *inspect.Spec, files []string, asJSON bool) error {
	results := make([]*inspect.Result, len(files))
	failed := make([]error, len(files))
	var work errgroup.Group
	work.SetLimit(runtime.GOMAXPROCS(0))
	for i, file := range files {
		work.Go(func() error {
			_, results[i], failed[i] = checkFile(cmd.InOrStdin(), spec, file)
			return nil
		})
	}
	_ = work.Wait() // the work keeps its errors itself
	out := cmd.OutOrStdout()
	unread, rejected := 0, false
	for i, res := range results {
		if failed[i] != nil {
			unread++
			fmt.Fprintln(cmd.ErrOrStderr(), "sagitta: "+failed[i].Error())
			continue
		}
		rejected = rejected || !res.Conforms
		if asJSON {
			line, err := json.Marshal(res)
			if err != nil {
				return err
			}
			fmt.Fprintf(out, "%s\n", line)
			continue
		}
		printResult(out, spec, res)
	}
	switch {
	case unread > 0:
		return fmt.Errorf("%d of %d files of readings could not be judged", unread, len(files))
	case rejected:
		return errDoesNotConform
	}
	return nil
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
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', 0)
	fmt.Fprintln(w, "  characteristic\tvalue\tU\tlower\tupper\tmargin\tstate\t")
	limited, left := 0, 0
	worst := worstOfTrack(res)
	for i, c := range res.Characteristics {
		if c.Zone == inspect.NoLimit {
			continue
		}
		limited++
		if c.Name == "rocker" && c.Zone == inspect.Conforming && worst[c.Track] != i {
			left++
			continue
		}
		margin := ""
		if m, ok := inspect.WorstMargin(c); ok {
			margin = number(&m, c.Unit, true)
		}
		u := ""
		if c.U != nil {
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
		fmt.Fprintf(out, "  %d more rockers conform; each track's nearest to a limit is listed\n", left)
	}
	for _, p := range res.Profile {
		drawProfile(out, spec, p)
	}
	for _, a := range res.Advice {
		fmt.Fprintf(out, "  %d. %s\n", a.Order, inspect.AdviceWords(a))
	}
	for _, c := range inspect.Cautions(res.Advice) {
		fmt.Fprintf(out, "  Caution: %s\n", c)
	}
}

// worstOfTrack is the index of each track's rocker that is nearest to a limit.
func worstOfTrack(res *inspect.Result) map[string]int {
	worst := map[string]int{}
	for i, c := range res.Characteristics {
		m, ok := inspect.WorstMargin(c)
		if c.Name != "rocker" || !ok {
			continue
		}
		if j, seen := worst[c.Track]; seen {
			if other, _ := inspect.WorstMargin(res.Characteristics[j]); other <= m {
				continue
			}
		}
		worst[c.Track] = i
	}
	return worst
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
	return fmt.Sprintf(format+" "+unit, *v)
}
