package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"sagitta/batch"
)

// signsOn says whether people sign on: what the newest row says, no before the first.
func signsOn(ctx context.Context, q querier) (on bool, err error) {
	err = q.QueryRowContext(ctx, `SELECT people_sign_on FROM sign_on_modes ORDER BY ord DESC LIMIT 1`).Scan(&on)
	if errors.Is(err, sql.ErrNoRows) {
		return false, nil
	}
	return on, err
}

// PeopleSignOn says whether people sign on at this record; else it is worked with on its own machine only, by whoever is named.
func (db *DB) PeopleSignOn(ctx context.Context) (bool, error) {
	on, err := signsOn(ctx, db.reader)
	return on, translate(err, "reading whether people sign on")
}

// SetPeopleSignOn turns signing on on or off. by is an administrator, or batch.AtTheMachine. ErrState: nobody who administers people has a
// password yet.
func (db *DB) SetPeopleSignOn(ctx context.Context, by string, on bool) error {
	const what = "changing whether people sign on"
	return db.write(ctx, what, func(t *tx) error {
		if by != batch.AtTheMachine {
			if err := t.may(by, batch.ManagePeople); err != nil {
				return err
			}
		}
		return t.setPeopleSignOn(by, on)
	})
}

func (t *tx) setPeopleSignOn(by string, on bool) error {
	if is, err := signsOn(t.ctx, t); err != nil || is == on {
		return err
	}
	if on {
		first, err := t.isFirst()
		if err != nil {
			return err
		}
		if first {
			return fmt.Errorf("%w: nobody who administers people has a password yet; the first administrator chooses one with the one-time code that serve prints, or sagitta people code", ErrState)
		}
	}
	id, err := newID()
	if err != nil {
		return err
	}
	if err := t.exec(`INSERT INTO sign_on_modes (id, station, at, by, people_sign_on) VALUES (?, ?, ?, ?, ?)`, id, t.station, nanos(t.at), by, on); err != nil {
		return err
	}
	if on {
		return t.audit(by, "people sign on from now", "", "")
	}
	return t.audit(by, "nobody signs on from now, this machine only", "", "")
}

// Secret returns the newest hash of somebody's password or PIN and since when it is; "" when they have none.
func (db *DB) Secret(ctx context.Context, personID string, kind batch.SecretKind) (string, error) {
	hash, err := secret(ctx, db.reader, personID, kind)
	return hash, translate(err, "reading a secret")
}

func secret(ctx context.Context, q querier, personID string, kind batch.SecretKind) (hash string, err error) {
	err = q.QueryRowContext(ctx, `SELECT hash FROM secrets WHERE person_id = ? AND kind = ? ORDER BY ord DESC LIMIT 1`, personID, string(kind)).Scan(&hash)
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	return hash, err
}

// SecretsSince returns when somebody's password or PIN last changed, or a code was last issued to them: sessions that began before it end.
func (db *DB) SecretsSince(ctx context.Context, personID string) (time.Time, error) {
	var at int64
	err := db.reader.QueryRowContext(ctx, `SELECT max(coalesce((SELECT max(at) FROM secrets WHERE person_id = ?1), 0), coalesce((SELECT max(at) FROM sign_on_codes WHERE person_id = ?1), 0))`,
		personID).Scan(&at)
	return instant(at), translate(err, "reading since when a secret is")
}

// SetSecret keeps the hash of somebody's own new password or PIN.
func (db *DB) SetSecret(ctx context.Context, name string, kind batch.SecretKind, hash string) error {
	what := "changing the " + string(kind) + " of " + name
	return db.write(ctx, what, func(t *tx) error {
		p, err := t.person(name)
		if err != nil {
			return err
		}
		return t.setSecret(p, kind, hash)
	})
}

func (t *tx) setSecret(p batch.Person, kind batch.SecretKind, hash string) error {
	id, err := newID()
	if err != nil {
		return err
	}
	if err := t.exec(`INSERT INTO secrets (id, station, at, by, person_id, kind, hash) VALUES (?, ?, ?, ?, ?, ?, ?)`,
		id, t.station, nanos(t.at), p.Name, p.ID, string(kind), hash); err != nil {
		return err
	}
	return t.audit(p.Name, string(kind)+" chosen", p.Name, "")
}

// KeepSignOn keeps that somebody signed on, or proved who they are, or failed to.
func (db *DB) KeepSignOn(ctx context.Context, p batch.Person, strength batch.Strength, good bool) error {
	return db.write(ctx, "keeping that "+p.Name+" signed on", func(t *tx) error {
		id, err := newID()
		if err != nil {
			return err
		}
		if err := t.exec(`INSERT INTO sign_ons (id, station, at, by, person_id, strength, good) VALUES (?, ?, ?, ?, ?, ?, ?)`,
			id, t.station, nanos(t.at), p.Name, p.ID, string(strength), good); err != nil {
			return err
		}
		if good {
			return t.audit(p.Name, "proved who they are", p.Name, string(strength))
		}
		return t.audit(p.Name, "failed to prove who they are", p.Name, string(strength))
	})
}

// SignOnFailures returns how many times in a row somebody failed to prove who they are in one strength, and when the last time was. A one-time code that was used
// begins the count anew.
func (db *DB) SignOnFailures(ctx context.Context, personID string, strength batch.Strength) (n int, last time.Time, err error) {
	var at int64
	err = db.reader.QueryRowContext(ctx, `SELECT count(*), coalesce(max(at), 0) FROM sign_ons WHERE person_id = ?1 AND strength = ?2
		AND ord > coalesce((SELECT max(ord) FROM sign_ons WHERE person_id = ?1 AND strength = ?2 AND good), 0)
		AND at > coalesce((SELECT max(at) FROM secrets WHERE person_id = ?1), 0)`, personID, string(strength)).Scan(&n, &at)
	return n, instant(at), translate(err, "counting failures to sign on")
}

// KeepUnknown keeps that somebody tried to sign on with what is nobody's, so many times since; what it was is not kept, for people type their
// password where their name belongs.
func (db *DB) KeepUnknown(ctx context.Context, what batch.Unknown, times int, since time.Time) error {
	detail := ""
	if times > 1 {
		detail = fmt.Sprintf("%d times since %s", times, since.UTC().Format(time.RFC3339))
	}
	return db.write(ctx, "keeping that somebody failed to sign on", func(t *tx) error { return t.audit("", string(what)+" tried", "", detail) })
}
