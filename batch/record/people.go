package record

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"sagitta/batch"
)

// AddPerson enters somebody. Names are trimmed; who is entered already with the same role is returned as entered.
// ErrInput: no name, or a role that does not exist. ErrExists: the name is entered with another role, which stays.
func (db *DB) AddPerson(ctx context.Context, by, name string, role batch.Role) (batch.Person, error) {
	name = strings.TrimSpace(name)
	what := fmt.Sprintf("entering %q", name)
	roles := []batch.Role{batch.Inspector, batch.Repairer, batch.QualityManager}
	if name == "" {
		return batch.Person{}, fmt.Errorf("entering a person: %w: found no name", ErrInput)
	}
	if !slices.Contains(roles, role) {
		return batch.Person{}, fmt.Errorf("%s: %w: found role %q, allowed are %q", what, ErrInput, role, roles)
	}
	p := batch.Person{Name: name, Role: role}
	err := db.write(ctx, what, func(t *tx) error {
		known, err := people(ctx, t)
		if err != nil {
			return err
		}
		if i := slices.IndexFunc(known, func(k batch.Person) bool { return k.Name == name }); i >= 0 {
			if p = known[i]; p.Role == role {
				return nil
			}
			return fmt.Errorf("%s as %s: %w: %s is entered already as %s; give another person another name, e.g. with a second initial",
				what, role, ErrExists, name, p.Role)
		}
		p.Since = t.at
		if p.ID, err = newID(); err != nil {
			return err
		}
		if err := t.exec(`INSERT INTO people (id, station, at, by, name, role) VALUES (?, ?, ?, ?, ?, ?)`,
			p.ID, t.station, nanos(t.at), by, name, role); err != nil {
			return err
		}
		return t.audit(by, "person entered", name, string(role))
	})
	if err != nil {
		return batch.Person{}, err
	}
	return p, nil
}

// qualityManager is ErrInput where nobody of that name is entered as a quality manager.
func (t *tx) qualityManager(name string) error {
	known, err := people(t.ctx, t)
	if err != nil {
		return err
	}
	var role batch.Role
	for _, p := range known {
		if p.Name == name {
			role = p.Role
		}
	}
	switch {
	case role == batch.QualityManager:
		return nil
	case name == "":
		return fmt.Errorf("%w: nobody is named", ErrInput)
	case role == "":
		return fmt.Errorf("%w: %s is not entered as a quality manager", ErrInput, name)
	}
	return fmt.Errorf("%w: %s is entered as %s; this takes a quality manager", ErrInput, name, role)
}

// People returns everybody, by name.
func (db *DB) People(ctx context.Context) ([]batch.Person, error) {
	all, err := people(ctx, db.reader)
	return all, translate(err, "reading the people")
}

func people(ctx context.Context, q querier) ([]batch.Person, error) {
	return list(ctx, q, func(s scanner) (p batch.Person, err error) {
		var since int64
		err = s.Scan(&p.ID, &p.Name, &p.Role, &since)
		p.Since = instant(since)
		return p, err
	}, `SELECT p.id, p.name, p.role, f.at FROM people p JOIN (SELECT min(ord) AS first, max(ord) AS newest FROM people GROUP BY id) g
		ON p.ord = g.newest JOIN people f ON f.ord = g.first ORDER BY p.name`)
}
