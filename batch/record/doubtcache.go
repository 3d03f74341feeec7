package record

import (
	"context"
	"sync"

	"sagitta/batch"
)

// doubtfuls keeps what was found doubtful in the scopes that were asked for lately. Rows are only added, so that it holds until one of
// the tables has more that it follows from.
type doubtfuls struct {
	sync.Mutex
	at    doubtState
	known map[batch.Scope]*doubtful
}

// mostScopes is how many scopes are kept.
const mostScopes = 64

// doubtState are the newest rows of the tables that say what is in doubt: doubts, what ended them, verdicts, inspections' states, and the
// readings of inspections in doubt.
type doubtState [6]int64

func (db *DB) doubtState(ctx context.Context) (s doubtState, err error) {
	err = db.reader.QueryRowContext(ctx, `SELECT coalesce((SELECT max(ord) FROM doubts), 0), coalesce((SELECT max(ord) FROM doubt_answers), 0),
		coalesce((SELECT max(ord) FROM doubt_clearances), 0), coalesce((SELECT max(ord) FROM verdicts), 0), coalesce((SELECT max(ord) FROM inspection_events), 0),
		coalesce((SELECT max((SELECT max(r.ord) FROM readings r WHERE r.inspection_id = d.inspection_id)) FROM doubts d), 0)`).Scan(&s[0], &s[1], &s[2], &s[3], &s[4], &s[5])
	return s, err
}

// doubtfulOf finds the first measurements of a scope that rest on readings in doubt; whoever asks changes nothing of it. See findDoubtful.
func (db *DB) doubtfulOf(ctx context.Context, s batch.Scope) (*doubtful, error) {
	s.WithoutDoubt = false // says what is done with them
	at, err := db.doubtState(ctx)
	if err != nil {
		return nil, translate(err, "looking for what is in doubt")
	}
	db.doubtfuls.Lock()
	found := db.doubtfuls.known[s]
	if db.doubtfuls.at != at {
		found = nil
	}
	db.doubtfuls.Unlock()
	if found != nil {
		return found, nil
	}
	if found, err = db.findDoubtful(ctx, s); err != nil {
		return nil, err
	}
	db.doubtfuls.Lock()
	defer db.doubtfuls.Unlock()
	if db.doubtfuls.known == nil || db.doubtfuls.at != at || len(db.doubtfuls.known) >= mostScopes {
		db.doubtfuls.at, db.doubtfuls.known = at, map[batch.Scope]*doubtful{}
	}
	db.doubtfuls.known[s] = found
	return found, nil
}

// HasDoubts says whether an inspection of a batch is or was in doubt.
func (db *DB) HasDoubts(ctx context.Context, batchID string) (has bool, err error) {
	err = db.reader.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM doubts WHERE batch_id = ?)`, batchID).Scan(&has)
	return has, translate(err, "looking for what is in doubt")
}
