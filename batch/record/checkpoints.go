package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"

	"golang.org/x/mod/sumdb/tlog"

	"sagitta/batch/anchor"
)

// anchoring are the tables whose rows ask for a signed checkpoint: verdicts, closed batches, and what outgoing audits found.
var anchoring = []string{"verdicts", "batch_closures", "outgoing_results"}

// What the trail says of checkpoints.
const (
	auditKey       = "key of checkpoints"
	auditNotSigned = "record is not what was signed"
)

// ToSign tells that something was committed which asks for a checkpoint.
func (db *DB) ToSign() <-chan struct{} { return db.toSign }

// wantsCheckpoint tells ToSign of what the transaction wrote. Only who has the writing connection calls it.
func (db *DB) wantsCheckpoint() {
	if !slices.ContainsFunc(anchoring, func(table string) bool { _, wrote := db.evidence.written[table]; return wrote }) {
		return
	}
	select {
	case db.toSign <- struct{}{}:
	default: // it is told already
	}
}

// TreeHead is how many entries the evidence has, and the root of their tree.
func (db *DB) TreeHead(ctx context.Context) (size int64, root tlog.Hash, err error) {
	const what = "reading the newest of the evidence"
	if err := db.reader.QueryRowContext(ctx, `SELECT coalesce(max(ord), 0) FROM evidence`).Scan(&size); err != nil {
		return 0, root, translate(err, what)
	}
	root, err = tlog.TreeHash(size, treeHashes{ctx, db.reader})
	return size, root, translate(err, what)
}

// NewestCheckpoint is the newest signed checkpoint, nil where none was made. Its signature is not checked.
func (db *DB) NewestCheckpoint(ctx context.Context) (*anchor.Checkpoint, error) {
	const what = "reading the newest checkpoint"
	var has bool // not in a record that is read as an older program left it
	if err := db.reader.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM sqlite_schema WHERE name = 'checkpoints')`).Scan(&has); err != nil || !has {
		return nil, translate(err, what)
	}
	var text string
	err := db.reader.QueryRowContext(ctx, `SELECT note FROM checkpoints ORDER BY ord DESC LIMIT 1`).Scan(&text)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	} else if err != nil {
		return nil, translate(err, what)
	}
	c, err := anchor.Parse(text)
	if err != nil {
		return nil, fmt.Errorf("%s: %w: %v", what, ErrAudit, err)
	}
	return &c, nil
}

// CheckpointsAfter are the checkpoints of more than so many entries, the oldest first.
func (db *DB) CheckpointsAfter(ctx context.Context, size int64) ([]anchor.Checkpoint, error) {
	all, err := list(ctx, db.reader, func(r scanner) (c anchor.Checkpoint, err error) {
		var text string
		if err = r.Scan(&text); err == nil {
			c, err = anchor.Parse(text)
		}
		return c, err
	}, `SELECT note FROM checkpoints WHERE size > ? ORDER BY ord`, size)
	return all, translate(err, "reading the checkpoints")
}

// KeepCheckpoint keeps a checkpoint of this record.
func (db *DB) KeepCheckpoint(ctx context.Context, c anchor.Checkpoint) error {
	return db.write(ctx, "keeping a checkpoint", func(t *tx) error {
		return t.exec(`INSERT INTO checkpoints (ord, size, note) SELECT coalesce(max(ord), 0) + 1, ?, ? FROM checkpoints`, c.Size, c.Note)
	})
}

// UseKey notes in the trail by which key the record is signed from now on.
func (db *DB) UseKey(ctx context.Context, public string) error {
	return db.write(ctx, "noting the key of checkpoints", func(t *tx) error {
		return t.audit("station", auditKey, "checkpoints are signed with it from here on", public)
	})
}

// Continues says whether the record is what it was at a checkpoint, with what was added since.
func (db *DB) Continues(ctx context.Context, c anchor.Checkpoint) (Continuing, error) {
	size, _, err := db.TreeHead(ctx)
	if err != nil || size < c.Size {
		return Continuing{Size: size, Short: true}, err
	}
	root, err := tlog.TreeHash(c.Size, treeHashes{ctx, db.reader})
	return Continuing{Size: size, Other: root != c.Root}, translate(err, "comparing the evidence")
}

// Continuing is what a record is beside a checkpoint. Where it is neither short nor other, all that was recorded up to the checkpoint is there unchanged.
type Continuing struct {
	Size  int64 // entries that it has now
	Short bool  // fewer than the checkpoint had
	Other bool  // as many or more, and the first are not those of then
}

// NoteNotSigned notes in the trail that the record is not what its key signed last.
func (db *DB) NoteNotSigned(ctx context.Context, c anchor.Checkpoint, how Continuing) error {
	about := fmt.Sprintf("%d entries were signed, their root %v; here the first as many have another", c.Size, c.Root)
	if how.Short {
		about = fmt.Sprintf("%d entries were signed, their root %v; here there are %d", c.Size, c.Root, how.Size)
	}
	return db.write(ctx, "noting that the record is not what was signed", func(t *tx) error {
		return t.audit("station", auditNotSigned, about, c.Note)
	})
}
