package command

import (
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"sagitta/batch/anchor"
	"sagitta/batch/tell"
)

// stampEnding is the ending of a file with an authority's answer, beside the checkpoint that it is of.
const stampEnding = ".tsr"

// mostStamp bounds an authority's answer, bytes.
const mostStamp = 1 << 20

// stampRoots reads the certificates that authorities are trusted by; nil where no file is named.
func stampRoots(name string) (*x509.CertPool, error) {
	if name == "" {
		return nil, nil
	}
	text, err := os.ReadFile(name)
	if err != nil {
		return nil, err
	}
	roots, err := anchor.ReadRoots(text)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return roots, nil
}

// tellStamps says of each checkpoint's file that has a time stamp beside it when an authority had it.
func tellStamps(out io.Writer, files []string, roots *x509.CertPool) (failed error) {
	for _, name := range files {
		beside := strings.TrimSuffix(name, filepath.Ext(name)) + stampEnding
		answer, err := readStamp(beside)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		var s anchor.Stamp
		if err == nil {
			s, err = stampOf(name, answer, roots)
		}
		if err != nil {
			failed = errors.Join(failed, fmt.Errorf("the time stamp in %s: %w", beside, err))
			continue
		}
		fmt.Fprintf(out, "%s: %s\n", beside, tell.Stamp(&s))
	}
	return failed
}

func readStamp(name string) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }()
	return io.ReadAll(io.LimitReader(f, mostStamp))
}

// stampOf is the time stamp of the checkpoint in a file that an answer is of.
func stampOf(name string, answer []byte, roots *x509.CertPool) (s anchor.Stamp, err error) {
	f, err := os.Open(name)
	if err != nil {
		return s, err
	}
	defer func() { _ = f.Close() }()
	info, err := f.Stat()
	if err != nil {
		return s, err
	}
	all, err := anchor.Find(f, info.Size())
	if err != nil {
		return s, err
	}
	for _, c := range all {
		if s, err = c.Stamped(answer, roots); err == nil {
			return s, nil
		}
	}
	return s, err
}
