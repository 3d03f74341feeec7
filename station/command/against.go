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

// againstAnchors compares the record with the checkpoints in files that left the building, says of each file what it shows, and sums up. A file that
// shows nothing does not keep the others from being judged. Where one of them does not agree with the record the answer is "does not conform".
func againstAnchors(cmd *cobra.Command, db *record.DB, files, keys []string) error {
	ctx := cmd.Context()
	if len(keys) == 0 {
		var err error
		if keys, err = db.SigningKeys(ctx); err != nil {
			return err
		}
	}
	var holds *anchor.Beside // that has most entries
	agree, differ := 0, 0
	for _, name := range files {
		checkpoints, err := checkpointsIn(ctx, name, cmd.InOrStdin())
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil {
			fmt.Fprintf(cmd.OutOrStdout(), "%s: %s\n", name, tell.NoAnchor(err))
			continue
		}
		says, holding, err := shownBy(ctx, db, checkpoints, keys)
		if err != nil {
			return err
		}
		if holding != nil && (holds == nil || holds.Size < holding.Size) {
			holds = holding
		}
		switch {
		case says.Holds():
			agree++
		case says.Signed != anchor.BadSignature:
			differ++
		}
		fmt.Fprintf(cmd.OutOrStdout(), "%s: %s\n", name, tell.BesideAnchor(says))
	}
	sum := tell.BesideAnchors(len(files), agree, differ)
	switch {
	case agree == len(files):
		if agree > 1 {
			fmt.Fprintln(cmd.OutOrStdout(), tell.Upper(sum)+".")
		}
		return nil
	case differ == 0:
		return batch.Mendable.Errorf("%s", sum)
	case holds != nil:
		fmt.Fprintln(cmd.OutOrStdout(), tell.UpToAnchor(holds))
	}
	return nonconformity{batch.Conflict.Errorf("%s", sum)}
}

// shownBy is what the checkpoints of a file show: the first that the record does not agree with, else the first that shows nothing, else the newest;
// and the newest that holds.
func shownBy(ctx context.Context, db *record.DB, checkpoints []anchor.Checkpoint, keys []string) (says, holds *anchor.Beside, err error) {
	weight := func(b *anchor.Beside) int {
		switch {
		case b.Holds():
			return 0
		case b.Signed == anchor.BadSignature:
			return 1
		}
		return 2
	}
	for _, c := range checkpoints {
		b, err := db.Beside(ctx, c)
		if err != nil {
			return nil, nil, err
		}
		b.Signed = c.SignedBy(keys)
		if b.Holds() {
			holds = &b
		}
		if says == nil || weight(&b) > weight(says) || weight(&b)+weight(says) == 0 {
			says = &b
		}
	}
	return says, holds, nil
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
