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
	if err := checkRole(role); err != nil {
		return batch.Person{}, fmt.Errorf("%s: %w", what, err)
	}
	p := batch.Person{Name: name, Role: role}
	err = db.write(ctx, what, func(t *tx) error {
		if err := t.may(by, batch.ManagePeople); err != nil {
			return err
		}
		p, err = t.enter(by, p, what)
		return err
	})
	if err != nil {
		return batch.Person{}, err
	}
	return p, nil
}

// enter adds somebody of whom Name, Role and Administers are given, unless they are entered as that already.
func (t *tx) enter(by string, p batch.Person, what string) (batch.Person, error) {
	known, err := people(t.ctx, t)
	if err != nil {
		return p, err
	}
	if i := slices.IndexFunc(known, func(k batch.Person) bool { return k.Name == p.Name }); i >= 0 {
		k := known[i]
		switch {
		case k.Retired:
			return p, fmt.Errorf("%s: %w: %s is retired, and what they did carries the name; give another person another name, e.g. with a second initial", what, ErrExists, k.Name)
		case k.Role == p.Role && k.Administers == p.Administers:
			return k, nil
		}
		return p, fmt.Errorf("%s as %s: %w: %s is entered already as %s; give another person another name, e.g. with a second initial",
			what, p.Role, ErrExists, p.Name, k.Role)
	}
	taken := append(known, batch.Person{Name: batch.AtTheMachine})
	if i := slices.IndexFunc(taken, func(k batch.Person) bool { return batch.LooksLike(k.Name, p.Name) }); i >= 0 {
		return p, fmt.Errorf("%s: %w: it would be taken for %s, who is entered already; give another name, e.g. with a second initial", what, ErrExists, taken[i].Name)
	}
	p.Since = t.at
	if p.ID, err = newID(); err != nil {
		return p, err
	}
	if err := t.insertPerson(by, p); err != nil {
		return p, err
	}
	return p, t.audit(by, "person entered", p.Name, roleWords(p))
}

// insertPerson writes the newest row of a person.
func (t *tx) insertPerson(by string, p batch.Person) error {
	return t.exec(`INSERT INTO people (id, station, at, by, name, role, badge, administers, retired) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		p.ID, t.station, nanos(t.at), by, p.Name, string(p.Role), p.Badge, p.Administers, p.Retired)
}

func checkRole(role batch.Role) error {
	if roles := []batch.Role{batch.Viewer, batch.Auditor, batch.Inspector, batch.Repairer, batch.QualityManager}; !slices.Contains(roles, role) {
		return fmt.Errorf("%w: found role %q, allowed are %q", ErrInput, role, roles)
	}
	return nil
}

// roleWords is a person's role as the trail says it.
func roleWords(p batch.Person) string {
	if p.Administers {
		return string(p.Role) + ", administers people"
	}
	return string(p.Role)
}

// SetRole changes what somebody may. ErrUnknown: nobody of that name, or retired; ErrInput: no such role; ErrState: nobody who administers people
// would be left where people sign on.
func (db *DB) SetRole(ctx context.Context, by, name string, role batch.Role, administers bool) error {
	if err := checkRole(role); err != nil {
		return err
	}
	return db.changePerson(ctx, by, name, "changing the role of "+name, "role changed", func(p *batch.Person) (string, error) {
		p.Role, p.Administers = role, administers
		return roleWords(*p), nil
	})
}

// Retire takes all rights from somebody; what they did stays theirs, and so does the name. Errors as of SetRole.
func (db *DB) Retire(ctx context.Context, by, name string) error {
	return db.changePerson(ctx, by, name, "retiring "+name, "person retired", func(p *batch.Person) (string, error) {
		p.Retired, p.Badge = true, ""
		return roleWords(*p), nil
	})
}

// changePerson writes somebody anew as change leaves them.
func (db *DB) changePerson(ctx context.Context, by, name, what, entry string, change func(*batch.Person) (string, error)) error {
	return db.write(ctx, what, func(t *tx) error {
		if err := t.may(by, batch.ManagePeople); err != nil {
			return err
		}
		p, err := t.person(name)
		if err != nil {
			return err
		}
		detail, err := change(&p)
		if err != nil {
			return err
		}
		if err := t.insertPerson(by, p); err != nil {
			return err
		}
		on, err := signsOn(ctx, t)
		if err != nil {
			return err
		}
		if on {
			if err := t.keepsAdministrator(); err != nil {
				return err
			}
		}
		return t.audit(by, entry, name, detail)
	})
}

// keepsAdministrator is ErrState where nobody who administers people could sign on any more.
func (t *tx) keepsAdministrator() error {
	known, err := people(t.ctx, t)
	if err != nil {
		return err
	}
	for _, p := range known {
		if !p.May(batch.ManagePeople) {
			continue
		}
		if hash, err := secret(t.ctx, t, p.ID, batch.Password); err != nil || hash != "" {
			return err
		}
	}
	return fmt.Errorf("%w: nobody who administers people would be left; make somebody else an administrator first, with a password of their own", ErrState)
}

// person is somebody who is entered and not retired.
func (t *tx) person(name string) (batch.Person, error) {
	known, err := people(t.ctx, t)
	if err != nil {
		return batch.Person{}, err
	}
	for _, p := range known {
		switch {
		case p.Name == name && p.Retired:
			return p, fmt.Errorf("%w: %s is retired", ErrUnknown, name)
		case p.Name == name:
			return p, nil
		}
	}
	return batch.Person{}, fmt.Errorf("%w: nobody of the name %q is entered", ErrUnknown, name)
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
		if err := t.may(by, batch.ManagePeople); err != nil {
			return err
		}
		known, err := people(ctx, t)
		if err != nil {
			return err
		}
		p, err := t.person(name)
		if err != nil {
			return err
		}
		before := p.Badge
		if before == code {
			return nil
		}
		if err := t.badgeIsFree(known, p, code, what); err != nil {
			return err
		}
		p.Badge = code
		if err := t.insertPerson(by, p); err != nil {
			return err
		}
		if code == "" {
			return t.audit(by, "badge taken away", name, before)
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

// People returns everybody, by name, retired ones too.
func (db *DB) People(ctx context.Context) ([]batch.Person, error) {
	all, err := people(ctx, db.reader)
	return all, translate(err, "reading the people")
}

func people(ctx context.Context, q querier) ([]batch.Person, error) {
	return list(ctx, q, func(s scanner) (p batch.Person, err error) {
		var since int64
		err = s.Scan(&p.ID, &p.Name, &p.Role, &since, &p.Badge, &p.Administers, &p.Retired)
		p.Since = instant(since)
		return p, err
	}, `SELECT p.id, p.name, p.role, f.at, p.badge, p.administers, p.retired FROM people p JOIN (SELECT min(ord) AS first, max(ord) AS newest FROM people GROUP BY id) g
		ON p.ord = g.newest JOIN people f ON f.ord = g.first ORDER BY p.name`)
}
