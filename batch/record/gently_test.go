package record

import (
	"context"
	"database/sql"
	"errors"
	"testing"
	"time"

	"sagitta/inspect"
)

// Gently the file's own check rests after each table too, and readings are taken in each rest; who ends it ends it there.
func TestFilesOwnCheckRests(t *testing.T) {
	s := newShop(t, serials(2)...)
	in := s.start("QM-2611-0001")
	var tables int
	s.ok(s.reader.QueryRow(`SELECT count(*) FROM sqlite_schema WHERE type = 'table'`).Scan(&tables))
	rests := 0
	s.ok(s.whole(resting(s.ctx, func(context.Context, time.Duration) {
		rests++
		s.read(in, 1+rests%20, 0.1)
	})))
	if rests <= tables {
		t.Errorf("%d rests, want one after each of %d tables and one after the schema", rests, tables)
	}
	ended, cancel := context.WithCancel(s.ctx)
	rests = 0
	err := s.whole(resting(ended, func(context.Context, time.Duration) { rests++; cancel() }))
	if !errors.Is(err, context.Canceled) || rests != 1 {
		t.Errorf("ended at its first rest it rested %d times: %v", rests, err)
	}
}

// What the file's own check finds it finds gently too, in any table's index.
func TestFilesOwnCheckFindsGently(t *testing.T) {
	s := newShop(t, serials(2)...)
	s.verdict(s.start("QM-2611-0002"), inspect.Pass, 0.3, 0.3)
	s.ok(s.Close())
	raw := must(sql.Open("sqlite", s.path))(t)
	defer func() { _ = raw.Close() }()
	raw.SetMaxOpenConns(1)
	for _, change := range []string{`PRAGMA writable_schema = on`,
		`UPDATE sqlite_schema SET sql = replace(sql, '(inspection_id', '(id') WHERE name = 'verdicts_inspection' AND sql LIKE '%(inspection_id%'`, `PRAGMA writable_schema = reset`} {
		must(raw.Exec(change))(t)
	}
	db := &DB{reader: raw}
	for name, ctx := range map[string]context.Context{"at once": s.ctx, "gently": resting(s.ctx, func(context.Context, time.Duration) {})} {
		t.Run(name, func(t *testing.T) { wantErr(t, db.whole(ctx), ErrCorrupt, "verdicts_inspection") })
	}
}
