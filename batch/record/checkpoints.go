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

// WithoutEvidence says that the record is from before there was evidence, and is read as it is.
func (db *DB) WithoutEvidence(ctx context.Context) (bool, error) {
	has, err := hasTable(ctx, db.reader, "checkpoints")
	return !has, translate(err, "looking for the record's evidence")
}

// NewestCheckpoint is the newest signed checkpoint, nil where none was made. Its signature is not checked.
func (db *DB) NewestCheckpoint(ctx context.Context) (*anchor.Checkpoint, error) {
	const what = "reading the newest checkpoint"
	if bare, err := db.WithoutEvidence(ctx); err != nil || bare {
		return nil, err
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

// SigningKeys are the public keys that the trail names, the oldest first.
func (db *DB) SigningKeys(ctx context.Context) ([]string, error) {
	keys, err := signingKeys(ctx, db.reader)
	return keys, translate(err, "reading the keys of checkpoints")
}

func signingKeys(ctx context.Context, q querier) ([]string, error) {
	return list(ctx, q, func(r scanner) (key string, err error) { return key, r.Scan(&key) }, `SELECT detail FROM audit WHERE what = ? ORDER BY seq`, auditKey)
}

// UseKey notes in the trail by which key the record is signed from now on.
func (db *DB) UseKey(ctx context.Context, public string) error {
	return db.write(ctx, "noting the key of checkpoints", func(t *tx) error {
		return t.audit("station", auditKey, "checkpoints are signed with it from here on", public)
	})
}

// Beside compares the record with a checkpoint, whose signature is not checked: is it what it was then, with what was added since? Its
// evidence is taken as it stands; VerifyAudit shows that it is right.
func (db *DB) Beside(ctx context.Context, c anchor.Checkpoint) (anchor.Beside, error) {
	b, err := besideOf(ctx, db.reader, c)
	return b, translate(err, "comparing the evidence")
}

func besideOf(ctx context.Context, q querier, c anchor.Checkpoint) (anchor.Beside, error) {
	b := anchor.Beside{Checkpoint: c}
	ask := `SELECT (SELECT coalesce(max(ord), 0) FROM evidence), NOT EXISTS (SELECT 1 FROM checkpoints WHERE size = ? AND note = ?)`
	if err := q.QueryRowContext(ctx, ask, c.Size, c.Note).Scan(&b.Entries, &b.Unkept); err != nil {
		return b, err
	}
	if b.Short = b.Entries < c.Size; b.Short {
		return b, nil
	}
	root, err := tlog.TreeHash(c.Size, treeHashes{ctx, q})
	b.Other = root != c.Root
	return b, err
}

// NoteNotSigned notes in the trail that the record is not what its key signed last.
func (db *DB) NoteNotSigned(ctx context.Context, b anchor.Beside) error {
	about := fmt.Sprintf("%d entries were signed, their root %v; here the first as many have another", b.Size, b.Root)
	if b.Short {
		about = fmt.Sprintf("%d entries were signed, their root %v; here there are %d", b.Size, b.Root, b.Entries)
	}
	return db.write(ctx, "noting that the record is not what was signed", func(t *tx) error {
		return t.audit("station", auditNotSigned, about, b.Note)
	})
}
