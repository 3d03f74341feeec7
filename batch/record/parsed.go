package record

import (
	"context"
	"database/sql"
)

// parsed is a querier that has each query parsed once: for a few queries that are asked of many rows, where parsing costs more than
// they do. It is used by one goroutine, and closed.
type parsed struct {
	from  preparer
	known map[string]*sql.Stmt // by their text
}

// preparer is a pool of connections or a transaction.
type preparer interface {
	querier
	PrepareContext(ctx context.Context, query string) (*sql.Stmt, error)
}

func (p *parsed) statement(ctx context.Context, query string) (*sql.Stmt, error) {
	if s := p.known[query]; s != nil {
		return s, nil
	}
	s, err := p.from.PrepareContext(ctx, query)
	if err == nil {
		p.known[query] = s
	}
	return s, err
}

// QueryContext asks for rows.
func (p *parsed) QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error) {
	s, err := p.statement(ctx, query)
	if err != nil {
		return nil, err
	}
	return s.QueryContext(ctx, args...)
}

// QueryRowContext asks for one row.
func (p *parsed) QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row {
	s, err := p.statement(ctx, query)
	if err != nil {
		return p.from.QueryRowContext(ctx, query, args...) // a row holds its error
	}
	return s.QueryRowContext(ctx, args...)
}

func (p *parsed) close() {
	for _, s := range p.known {
		_ = s.Close() // nothing was written
	}
}
