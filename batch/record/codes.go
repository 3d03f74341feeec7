package record

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"time"

	"sagitta/batch"
)

// IssueCode keeps the SHA-256 in hex of a one-time code with which somebody chooses their own password and PIN; it ends their earlier codes and
// sessions. name "" is the first administrator's. by is an administrator, or batch.AtTheMachine. ErrUnknown: nobody of that name, or retired;
// ErrState: the first administrator's, and there is one.
func (db *DB) IssueCode(ctx context.Context, by, name, digest string, until time.Time) error {
	what := "issuing a one-time code to " + name
	return db.write(ctx, what, func(t *tx) error {
		if by != batch.AtTheMachine {
			if err := t.may(by, batch.ManagePeople); err != nil {
				return err
			}
		}
		var p batch.Person
		if name != "" {
			var err error
			if p, err = t.person(name); err != nil {
				return err
			}
		} else if first, err := t.isFirst(); err != nil || !first {
			return cmp.Or(err, fmt.Errorf("%w: people sign on already", ErrState))
		}
		id, err := newID()
		if err != nil {
			return err
		}
		if err := t.exec(`INSERT INTO sign_on_codes (id, station, at, by, person_id, digest, until) VALUES (?, ?, ?, ?, ?, ?, ?)`,
			id, t.station, nanos(t.at), by, p.ID, digest, nanos(until)); err != nil {
			return err
		}
		return t.audit(by, "one-time code issued", name, "until "+until.UTC().Format(time.RFC3339))
	})
}

// isFirst says that nobody who administers people has a password.
func (t *tx) isFirst() (bool, error) {
	err := t.keepsAdministrator()
	if errors.Is(err, ErrState) {
		return true, nil
	}
	return false, err
}

// Code returns what a one-time code of this SHA-256 is for. An error of kind Unproven: there is none, a newer one was issued, it was used, or its time is over.
func (db *DB) Code(ctx context.Context, digest string) (batch.OneTimeCode, error) {
	c, err := db.code(ctx, db.reader, digest)
	if batch.KindOf(err) == batch.Unproven {
		return c, err
	}
	return c, translate(err, "reading a one-time code")
}

func (db *DB) code(ctx context.Context, q querier, digest string) (c batch.OneTimeCode, err error) {
	var personID string
	var until int64
	var used, newest bool
	err = q.QueryRowContext(ctx, `SELECT c.id, c.person_id, c.until, EXISTS (SELECT 1 FROM sign_on_code_uses u WHERE u.code_id = c.id),
		c.ord = (SELECT max(ord) FROM sign_on_codes n WHERE n.person_id = c.person_id) FROM sign_on_codes c WHERE c.digest = ?`, digest).
		Scan(&c.ID, &personID, &until, &used, &newest)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return c, batch.Unproven.Errorf("this one-time code is not known here; type it as it was given, or have a new one issued")
	case err != nil:
		return c, err
	}
	c.Until = instant(until)
	switch {
	case used:
		return c, batch.Unproven.Errorf("this one-time code was used already; have a new one issued")
	case !newest:
		return c, batch.Unproven.Errorf("a newer one-time code was issued since; use that one")
	case !db.now().Before(c.Until):
		return c, batch.Unproven.Errorf("this one-time code ended at %s; have a new one issued", c.Until.Local().Format("2006-01-02 15:04"))
	}
	if personID == "" {
		return c, nil
	}
	known, err := people(ctx, q)
	if err != nil {
		return c, err
	}
	i := slices.IndexFunc(known, func(p batch.Person) bool { return p.ID == personID && !p.Retired })
	if i < 0 {
		return c, batch.Unproven.Errorf("whom this one-time code was issued to is retired")
	}
	c.Person = known[i].Name
	return c, nil
}

// UseCode takes a one-time code of this SHA-256 with the hashes of the password and PIN that its person chose, and returns the person. The
// first administrator gives their own name in first: who is entered already becomes administrator beside their role, who is not is entered as
// quality manager, and people sign on from then. Errors as of Code, and those of AddPerson.
func (db *DB) UseCode(ctx context.Context, digest, first string, hashes map[batch.SecretKind]string) (p batch.Person, err error) {
	const what = "choosing a password"
	err = db.write(ctx, what, func(t *tx) error {
		c, err := db.code(ctx, t, digest)
		if err != nil {
			return err
		}
		if c.Person != "" {
			p, err = t.person(c.Person)
		} else {
			p, err = t.firstAdministrator(first)
		}
		if err != nil {
			return err
		}
		id, err := newID()
		if err != nil {
			return err
		}
		if err := t.exec(`INSERT INTO sign_on_code_uses (id, station, at, by, code_id) VALUES (?, ?, ?, ?, ?)`, id, t.station, nanos(t.at), p.Name, c.ID); err != nil {
			return err
		}
		for _, kind := range []batch.SecretKind{batch.Password, batch.PIN} {
			if hashes[kind] == "" {
				continue
			}
			if err := t.setSecret(p, kind, hashes[kind]); err != nil {
				return err
			}
		}
		if c.Person == "" {
			return t.setPeopleSignOn(p.Name, true)
		}
		return nil
	})
	return p, err
}

func (t *tx) firstAdministrator(name string) (batch.Person, error) {
	if first, err := t.isFirst(); err != nil || !first {
		return batch.Person{}, cmp.Or(err, fmt.Errorf("%w: people sign on already; an administrator issues one-time codes", ErrState))
	}
	name, err := batch.PersonName(name)
	if err != nil {
		return batch.Person{}, err
	}
	p, err := t.person(name)
	if errors.Is(err, ErrUnknown) {
		return t.enter(name, batch.Person{Name: name, Role: batch.QualityManager, Administers: true}, "entering the first administrator")
	}
	if err != nil || p.Administers {
		return p, err
	}
	p.Administers = true
	if err := t.insertPerson(name, p); err != nil {
		return p, err
	}
	return p, t.audit(name, "role changed", name, roleWords(p))
}
