package command

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"sagitta/batch"
	"sagitta/batch/anchor"
	"sagitta/batch/record"
	"sagitta/batch/tell"
)

// againstAnchors compares the record with the checkpoints in files that left the building, and says of each file what it shows.
func againstAnchors(cmd *cobra.Command, db *record.DB, files, keys []string) error {
	ctx := cmd.Context()
	if len(keys) == 0 {
		var err error
		if keys, err = db.SigningKeys(ctx); err != nil {
			return err
		}
	}
	var holds *anchor.Beside // that has most entries
	failed := 0
	for _, name := range files {
		checkpoints, err := checkpointsIn(ctx, name, cmd.InOrStdin())
		if err != nil {
			return fmt.Errorf("the checkpoint in %s: %w", name, err)
		}
		var says *anchor.Beside
		for _, c := range checkpoints {
			b, err := db.Beside(ctx, c)
			if err != nil {
				return err
			}
			b.Signed = c.SignedBy(keys)
			if says == nil || says.Holds() { // the first that does not hold says more than those after it
				says = &b
			}
			if b.Holds() && (holds == nil || holds.Size < b.Size) {
				holds = &b
			}
		}
		if !says.Holds() {
			failed++
		}
		fmt.Fprintf(cmd.OutOrStdout(), "%s: %s\n", name, tell.BesideAnchor(says))
	}
	if failed == 0 {
		return nil
	}
	if holds != nil {
		fmt.Fprintln(cmd.OutOrStdout(), tell.UpToAnchor(holds))
	}
	return batch.Conflict.Errorf("%d of %s not agree with the record", failed, tell.Counted(len(files), "file does", "files do"))
}

// checkpointsIn reads the checkpoints of a file: a copy of the record has them in a table, anything else line by line.
func checkpointsIn(ctx context.Context, name string, stdin io.Reader) ([]anchor.Checkpoint, error) {
	if name == "-" {
		text, err := io.ReadAll(io.LimitReader(stdin, anchor.MostBytes))
		if err != nil {
			return nil, err
		}
		return anchor.Find(strings.NewReader(string(text)), int64(len(text)))
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	begin := make([]byte, 16)
	n, err := f.ReadAt(begin, 0)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	switch begin := string(begin[:n]); {
	case strings.HasPrefix(begin, "SQLite format 3"):
		return newestOf(ctx, name)
	case strings.HasPrefix(begin, "age-encryption."):
		return nil, batch.Mendable.Errorf("it is encrypted: decrypt it with its identity first, with age, and give what comes of it")
	}
	return anchor.Find(f, info.Size())
}

func newestOf(ctx context.Context, name string) ([]anchor.Checkpoint, error) {
	copied, err := record.Open(name, record.Options{ReadOnly: true, AsItIs: true})
	if err != nil {
		return nil, err
	}
	c, err := copied.NewestCheckpoint(ctx)
	if err := errors.Join(err, copied.Close()); err != nil {
		return nil, err
	}
	if c == nil {
		return nil, batch.Absent.Errorf("there is no checkpoint in it")
	}
	return []anchor.Checkpoint{*c}, nil
}
