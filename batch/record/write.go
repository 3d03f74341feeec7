package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"github.com/google/uuid"

	"sagitta/batch"
)

// newID is a time-ordered key (UUID version 7, RFC 9562).
func newID() (string, error) {
	id, err := uuid.NewV7()
	return id.String(), err
}

// write runs fn in one durable transaction; what says what is being written.
func (db *DB) write(ctx context.Context, what string, fn func(tx *tx) error) error {
	if db.writer == nil {
		return fmt.Errorf("%s: %w: it was opened to be read", what, ErrReadOnly)
	}
	return refused(ctx, what, db.commit(ctx, fn))
}

// commit runs fn in a transaction, where the record's file is still the one that was opened.
func (db *DB) commit(ctx context.Context, fn func(tx *tx) error) error {
	if err := db.Lost(); err != nil {
		return err
	}
	conn, err := db.writer.Conn(ctx)
	if err != nil {
		return err
	}
	defer func() { _ = conn.Close() }()
	if err := db.present(); err != nil {
		return err
	}
	if err := db.markLog(ctx, conn); err != nil {
		return err
	}
	if err := db.transact(ctx, conn, fn); err != nil {
		return err
	}
	db.file.committed()
	db.wantsCheckpoint()
	return nil
}

func (db *DB) transact(ctx context.Context, conn *sql.Conn, fn func(tx *tx) error) (err error) {
	if err := db.evidence.begin(ctx, conn); err != nil {
		return err
	}
	defer func() { db.evidence.ended(err) }()
	sqlTx, err := conn.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	t := &tx{Tx: sqlTx, ctx: ctx, station: db.station, at: db.now().UTC()}
	if err = fn(t); err == nil {
		err = t.sign()
	}
	if err == nil {
		err = t.attest(&db.evidence)
	}
	if err == nil {
		return sqlTx.Commit()
	}
	if undone := sqlTx.Rollback(); undone != nil && !rolledBack(undone) {
		return errors.Join(err, undone)
	}
	return err
}

// refused gives the error of a commit that was not taken its sentence, and logs it where the machine could not take it. What
// the caller gave up itself is not logged.
func refused(ctx context.Context, what string, err error) error {
	if errors.Is(err, ErrTaken) {
		what += ": this was not recorded"
	}
	err = translate(err, what)
	if err != nil && batch.KindOf(err) == batch.Machine && ctx.Err() == nil {
		slog.Error("commit refused", "what", what, "error", err)
	}
	return err
}

// tx is a writing transaction with what every row carries.
type tx struct {
	*sql.Tx
	ctx     context.Context
	station string
	at      time.Time

	signing []batch.Signature // to be kept with what is written
	entries []batch.Event     // of the trail, written so far
}

func (t *tx) exec(query string, args ...any) error {
	_, err := t.ExecContext(t.ctx, query, args...)
	return err
}

func (t *tx) row(query string, args ...any) *sql.Row { return t.QueryRowContext(t.ctx, query, args...) }

// querier is what reading needs, in a transaction or outside.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// scanner is a row or the rows' present one.
type scanner interface{ Scan(dest ...any) error }

// list reads all rows of a query.
func list[T any](ctx context.Context, q querier, scan func(scanner) (T, error), query string, args ...any) ([]T, error) {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer func() { _ = rows.Close() }()
	var all []T
	for rows.Next() {
		one, err := scan(rows)
		if err != nil {
			return nil, err
		}
		all = append(all, one)
	}
	return all, rows.Err()
}

// optional is a foreign key that may be absent.
func optional(id string) any {
	if id == "" {
		return nil
	}
	return id
}
