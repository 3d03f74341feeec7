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
	next anchor.Checkpoint
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
	if err := s.read(); err != nil {
		return nil, errors.Join(err, rows.Close())
	}
	return s, nil
}

// read takes the next checkpoint and checks its signature.
func (s *signed) read() error {
	if s.more = s.rows.Next(); !s.more {
		return s.rows.Err()
	}
	var size int64
	var text string
	before := s.next.Size
	if err := s.rows.Scan(&s.ord, &size, &text); err != nil {
		return err
	}
	var err error
	s.next, err = anchor.Parse(text)
	switch {
	case err != nil:
		return fmt.Errorf("%w: checkpoint %d: %v", ErrAudit, s.ord, err)
	case s.next.Size != size || size < before:
		return fmt.Errorf("%w: checkpoint %d is of %d entries; it stands there for %d, after one of %d", ErrAudit, s.ord, s.next.Size, size, before)
	case s.next.SignedBy(s.keys) == anchor.BadSignature:
		return fmt.Errorf("%w: checkpoint %d, of %d entries: its signature is not valid", ErrAudit, s.ord, size)
	case s.next.SignedBy(s.keys) == anchor.OtherKey:
		return fmt.Errorf("%w: checkpoint %d, of %d entries, is signed with the key %s, which the trail does not name", ErrAudit, s.ord, size, s.next.Key)
	}
	return nil
}

// at compares the checkpoints of so many entries with the tree.
func (s *signed) at(size int64, edge *edge) error {
	for s.more && s.next.Size == size {
		root, err := tlog.TreeHash(size, edge)
		if err != nil {
			return err
		}
		if root != s.next.Root {
			return fmt.Errorf("%w: checkpoint %d signs other entries up to %d than stand here: something among them was changed, and the evidence made anew", ErrAudit, s.ord, size)
		}
		if err := s.read(); err != nil {
			return err
		}
	}
	return nil
}

// end says whether checkpoints are left that sign more than there is.
func (s *signed) end() error {
	if s.more {
		return fmt.Errorf("%w: checkpoint %d signs %d entries of the evidence; there are fewer: the end was cut off", ErrAudit, s.ord, s.next.Size)
	}
	return nil
}
