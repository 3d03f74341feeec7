package record

import (
	"context"
	"database/sql"
	"errors"
	"time"
)

// Sessions keeps the sessions of browsers: volatile, no part of what the record proves. A token comes as its hash. It is a store of
// github.com/alexedwards/scs/v2, whose methods take no context.
type Sessions struct{ db *DB }

// Sessions returns the store of sessions.
func (db *DB) Sessions() Sessions { return Sessions{db} }

// Find returns a session's data, false when there is none or it has ended.
func (s Sessions) Find(token string) ([]byte, bool, error) {
	var data []byte
	err := s.db.reader.QueryRow(`SELECT data FROM sessions WHERE token = ? AND until > ?`, token, nanos(s.db.now())).Scan(&data)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, false, nil
	}
	return data, err == nil, translate(err, "reading a session")
}

// Commit keeps a session until its end, as far off by the record's clock as expiry is by the machine's, and lets those go that have ended.
func (s Sessions) Commit(token string, data []byte, expiry time.Time) error {
	until := s.db.now().Add(time.Until(expiry))
	return s.db.write(context.Background(), "keeping a session", func(t *tx) error {
		if err := t.exec(`DELETE FROM sessions WHERE until <= ?`, nanos(t.at)); err != nil {
			return err
		}
		return t.exec(`INSERT INTO sessions (token, data, until) VALUES (?, ?, ?) ON CONFLICT (token) DO UPDATE SET data = excluded.data, until = excluded.until`, token, data, nanos(until))
	})
}

// Delete ends a session.
func (s Sessions) Delete(token string) error {
	return s.db.write(context.Background(), "ending a session", func(t *tx) error { return t.exec(`DELETE FROM sessions WHERE token = ?`, token) })
}

// All returns the data of every session that has not ended, by its token's hash.
func (s Sessions) All() (map[string][]byte, error) {
	all := map[string][]byte{}
	rows, err := s.db.reader.Query(`SELECT token, data FROM sessions WHERE until > ?`, nanos(s.db.now()))
	if err != nil {
		return nil, translate(err, "reading the sessions")
	}
	defer func() { _ = rows.Close() }()
	for rows.Next() {
		var token string
		var data []byte
		if err := rows.Scan(&token, &data); err != nil {
			return nil, translate(err, "reading the sessions")
		}
		all[token] = data
	}
	return all, translate(rows.Err(), "reading the sessions")
}
