package command

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"runtime"
	"slices"

	"github.com/spf13/cobra"

	"sagitta/batch/files"
	"sagitta/batch/tell"
	"sagitta/inspect"
)

func checkCommand() *cobra.Command {
	var asJSON bool
	var explain string
	cmd := &cobra.Command{
		Use:   "check SPEC READINGS...",
		Short: "Verdict for files of readings (- reads standard input); exit status 3 when any does not conform",
		Example: `  sagitta check spec.toml neck.json
  sagitta check spec.toml necks/*.json --json
  sagitta check spec.toml neck.json --explain relief`,
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
			name, text, err := files.ReadDocument(args[0], nil)
			if err != nil {
				return fmt.Errorf("specification: %w", err)
			}
			spec, err := files.ReadSpec(name, text)
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
	offer(cmd, "explain", cobra.FixedCompletions(explainable(), cobra.ShellCompDirectiveNoFileComp))
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
	page := pageOf(cmd.OutOrStdout())
	ahead := make(chan chan checked, 4*runtime.GOMAXPROCS(0)) // in the files' order
	go func() {
		defer close(ahead)
		free := make(chan struct{}, runtime.GOMAXPROCS(0))
		for _, file := range files {
			verdict := make(chan checked, 1)
			ahead <- verdict
			free <- struct{}{}
			go func() {
				verdict <- judgeFile(cmd.InOrStdin(), spec, file, asJSON, page)
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
		return fmt.Errorf("%d of %s of readings could not be judged", unread, tell.Count(len(files), "file"))
	case rejected:
		return errDoesNotConform
	}
	return nil
}

// judgeFile writes the verdict on one file: a line of JSON, or the table for people.
func judgeFile(stdin io.Reader, spec *inspect.Spec, file string, asJSON bool, page page) checked {
	_, res, err := checkFile(stdin, spec, file)
	if err != nil {
		return checked{err: err}
	}
	var text bytes.Buffer
	if asJSON {
		err = json.NewEncoder(&text).Encode(res)
		return checked{text: text.Bytes(), rejected: !res.Conforms, err: err}
	}
	printResult(&text, spec, res, page.width)
	return checked{text: page.set(text.Bytes()), rejected: !res.Conforms}
}

// checkFile reads and judges one file; "-" is standard input.
func checkFile(stdin io.Reader, spec *inspect.Spec, file string) (*inspect.Readings, *inspect.Result, error) {
	file, data, err := files.ReadDocument(file, stdin)
	if err != nil {
		return nil, nil, err
	}
	readings, err := files.ReadReadings(file, data, spec)
	if err != nil {
		return nil, nil, err
	}
	res, err := inspect.Evaluate(spec, readings, inspect.Options{})
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", file, err)
	}
	return readings, res, nil
}
