package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"golang.org/x/mod/sumdb/tlog"

	"sagitta/batch/anchor"
)

// signed goes through the checkpoints that are kept in the record, as the tree under them is worked out anew.
type signed struct {
	rows *sql.Rows
	keys []string // that the trail names
	ord  int64
	size int64 // entries
	note string
	more bool
}

// openSigned reads the checkpoints of a record.
func openSigned(ctx context.Context, q querier) (*signed, error) {
	keys, err := signingKeys(ctx, q)
	if err != nil {
		return nil, err
	}
	rows, err := q.QueryContext(ctx, `SELECT ord, size, note FROM checkpoints ORDER BY ord`)
	if err != nil {
		return nil, err
	}
	s := &signed{rows: rows, keys: keys}
	if err := s.next(); err != nil {
		return nil, errors.Join(err, rows.Close())
	}
	return s, nil
}

func (s *signed) next() error {
	if s.more = s.rows.Next(); !s.more {
		return s.rows.Err()
	}
	return s.rows.Scan(&s.ord, &s.size, &s.note)
}

// at compares the checkpoints of so many entries with the tree, which is right up to there.
func (s *signed) at(size int64, edge *edge) error {
	for s.more && s.size == size {
		root, err := tlog.TreeHash(size, edge)
		if err == nil {
			err = s.signs(root)
		}
		if err == nil {
			err = s.next()
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// signs checks the checkpoint at hand: its form, its signature and its root.
func (s *signed) signs(root tlog.Hash) error {
	c, err := anchor.Parse(s.note)
	if err != nil {
		return fmt.Errorf("%w: checkpoint %d: %v", ErrAudit, s.ord, err)
	}
	by := c.SignedBy(s.keys)
	switch {
	case by == anchor.BadSignature:
		return fmt.Errorf("%w: checkpoint %d, of %d entries: its signature is not valid", ErrAudit, s.ord, s.size)
	case by == anchor.OtherKey:
		return fmt.Errorf("%w: checkpoint %d, of %d entries, is signed with the key %s, which the trail does not name", ErrAudit, s.ord, s.size, c.Key)
	case c.Size != s.size:
		return fmt.Errorf("%w: checkpoint %d is of %d entries; it stands there for %d", ErrAudit, s.ord, c.Size, s.size)
	case c.Root != root:
		return fmt.Errorf("%w: checkpoint %d signs other entries up to %d than stand here: something among them was changed, and the evidence made anew", ErrAudit, s.ord, s.size)
	}
	return nil
}

// end says whether checkpoints are left that sign more than there is.
func (s *signed) end() error {
	if s.more {
		return fmt.Errorf("%w: checkpoint %d signs %d entries of the evidence, which are not there in its turn: the end was cut off, or checkpoints were put in", ErrAudit, s.ord, s.size)
	}
	return nil
}
