package record

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"sagitta/batch"
)

// AddPerson enters somebody under their name as batch.PersonName keeps it; who is entered already with the same role is returned as entered.
// ErrInput: a role that does not exist. ErrExists: the name is entered with another role, which stays, or it would be taken for that of somebody
// else.
func (db *DB) AddPerson(ctx context.Context, by, name string, role batch.Role) (batch.Person, error) {
	name, err := batch.PersonName(name)
	if err != nil {
		return batch.Person{}, fmt.Errorf("entering a person: %w", err)
	}
	what := fmt.Sprintf("entering %q", name)
	roles := []batch.Role{batch.Inspector, batch.Repairer, batch.QualityManager}
	if !slices.Contains(roles, role) {
		return batch.Person{}, fmt.Errorf("%s: %w: found role %q, allowed are %q", what, ErrInput, role, roles)
	}
	p := batch.Person{Name: name, Role: role}
	err = db.write(ctx, what, func(t *tx) error {
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
		if i := slices.IndexFunc(known, func(k batch.Person) bool { return batch.LooksLike(k.Name, name) }); i >= 0 {
			return fmt.Errorf("%s: %w: it would be taken for %s, who is entered already; give another name, e.g. with a second initial", what, ErrExists, known[i].Name)
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

// SetBadge gives somebody a badge, or with "" takes it away; upper and lower case are one code. ErrUnknown: nobody of that name. ErrExists:
// somebody else has it, or a neck or a batch is called that. An error of kind Mendable: it can be no badge's code.
func (db *DB) SetBadge(ctx context.Context, by, name, code string) error {
	code = strings.TrimSpace(code)
	what := fmt.Sprintf("giving %s the badge %q", name, code)
	if code != "" {
		if err := batch.CheckBadge(code); err != nil {
			return err
		}
	}
	return db.write(ctx, what, func(t *tx) error {
		known, err := people(ctx, t)
		if err != nil {
			return err
		}
		i := slices.IndexFunc(known, func(p batch.Person) bool { return p.Name == name })
		if i < 0 {
			return fmt.Errorf("%s: %w: nobody of that name is entered", what, ErrUnknown)
		}
		p := known[i]
		if p.Badge == code {
			return nil
		}
		if err := t.badgeIsFree(known, p, code, what); err != nil {
			return err
		}
		if err := t.exec(`INSERT INTO people (id, station, at, by, name, role, badge) VALUES (?, ?, ?, ?, ?, ?, ?)`,
			p.ID, t.station, nanos(t.at), by, p.Name, string(p.Role), code); err != nil {
			return err
		}
		if code == "" {
			return t.audit(by, "badge taken away", name, p.Badge)
		}
		return t.audit(by, "badge given", name, code)
	})
}

// badgeIsFree is ErrExists where a code says something else already.
func (t *tx) badgeIsFree(known []batch.Person, p batch.Person, code, what string) error {
	if code == "" {
		return nil
	}
	for _, other := range known {
		if other.ID != p.ID && strings.EqualFold(other.Badge, code) {
			return fmt.Errorf("%s: %w: it is the badge of %s", what, ErrExists, other.Name)
		}
	}
	var necks, batches int
	if err := t.row(`SELECT (SELECT count(*) FROM necks WHERE serial IN (?1, ?2, ?3)), (SELECT count(*) FROM batches WHERE number IN (?1, ?2, ?3))`,
		code, strings.ToUpper(code), strings.ToLower(code)).Scan(&necks, &batches); err != nil {
		return err
	}
	if necks+batches > 0 {
		return fmt.Errorf("%s: %w: a neck or a batch is called that, and a scan of it would mean both", what, ErrExists)
	}
	return nil
}

// badges say whose badge each code is, in small letters.
type badges map[string]string

func readBadges(t *tx) (badges, error) {
	known, err := people(t.ctx, t)
	all := badges{}
	for _, p := range known {
		if p.Badge != "" {
			all[strings.ToLower(p.Badge)] = p.Name
		}
	}
	return all, err
}

// refuse is ErrExists where a neck or a batch would be called as somebody's badge, however a scan of it is spaced: it would sign them on.
func (b badges) refuse(what, name string) error {
	owner := b[strings.ToLower(strings.Join(strings.Fields(name), ""))]
	if owner == "" {
		return nil
	}
	return fmt.Errorf("%w: %s %s is the badge of %s, and a scan of it would sign them on; give another, or take the badge away first", ErrExists, what, name, owner)
}

// refuseBadges is ErrExists where one of the names is somebody's badge.
func (t *tx) refuseBadges(what string, names ...string) error {
	all, err := readBadges(t)
	for _, name := range names {
		if err == nil {
			err = all.refuse(what, name)
		}
	}
	return err
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
		err = s.Scan(&p.ID, &p.Name, &p.Role, &since, &p.Badge)
		p.Since = instant(since)
		return p, err
	}, `SELECT p.id, p.name, p.role, f.at, p.badge FROM people p JOIN (SELECT min(ord) AS first, max(ord) AS newest FROM people GROUP BY id) g
		ON p.ord = g.newest JOIN people f ON f.ord = g.first ORDER BY p.name`)
}
