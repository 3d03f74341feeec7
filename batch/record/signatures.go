package record

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"

	"sagitta/batch"
)

var errRetired = errors.New("is retired")

// entitled refuses who has not a right. ErrInput: nobody is named, or nobody of that name is entered; ErrMayNot: they have not the
// right.
func (t *tx) entitled(by string, right batch.Right) error {
	known, err := people(t.ctx, t)
	if err != nil {
		return err
	}
	if by == "" {
		return fmt.Errorf("%w: nobody is named", ErrInput)
	}
	i := slices.IndexFunc(known, func(p batch.Person) bool { return p.Name == by })
	switch {
	case i < 0:
		return fmt.Errorf("%w: %s is not entered, so may not %s; this takes %s", ErrInput, by, right, right.Takes())
	case known[i].Retired:
		return fmt.Errorf("%w: %s %w, so may not %s", ErrMayNot, by, errRetired, right)
	case !known[i].May(right):
		return fmt.Errorf("%w: %s is entered as %s, who may not %s; this takes %s", ErrMayNot, by, roleWords(known[i]), right, right.Takes())
	}
	return nil
}

// may refuses, where people sign on, an act of somebody who has not the right to it; a signed one also where the context carries no seal of theirs.
// What is then written is kept with their signature. Where nobody signs on, whoever is named may, unless they are retired. ErrUnproven, and the
// errors of entitled.
func (t *tx) may(by string, right batch.Right) error {
	on, err := signsOn(t.ctx, t)
	if err != nil {
		return err
	}
	if err := t.entitled(by, right); err != nil && (on || errors.Is(err, errRetired)) {
		return err
	}
	if !on {
		return nil
	}
	if !right.Signed() {
		return nil
	}
	for _, s := range batch.SealsIn(t.ctx) {
		if s.By == by {
			t.signing = append(t.signing, batch.Signature{By: by, Meaning: right, Reason: s.Reason})
			return nil
		}
	}
	if err := batch.WhyUnsealed(t.ctx); err != nil {
		return err
	}
	return fmt.Errorf("%w: to %s is signed: %s gives their own password at that moment", ErrUnproven, right, by)
}

// second asks, where people sign on, for the seal of another person who has the right too, and returns who that is; "" where nobody signs on. Call it after may.
func (t *tx) second(by string, right batch.Right) (string, error) {
	on, err := signsOn(t.ctx, t)
	if err != nil || !on {
		return "", err
	}
	for _, s := range batch.SealsIn(t.ctx) {
		if s.By == by {
			continue
		}
		if err := t.entitled(s.By, right); err != nil {
			return "", err
		}
		t.signing = append(t.signing, batch.Signature{By: s.By, Meaning: right, Reason: s.Reason, Second: true})
		return s.By, nil
	}
	if err := batch.WhyUnsealed(t.ctx); err != nil {
		return "", err
	}
	return "", fmt.Errorf("%w: the specification asks for two to %s: a second person gives their name and password", ErrUnproven, right)
}

// notMeasured is ErrMayNot, where people sign on, for who took a reading of one of the necks that a query names.
func (t *tx) notMeasured(by string, right batch.Right, necks string, args ...any) error {
	on, err := signsOn(t.ctx, t)
	if err != nil || !on {
		return err
	}
	var serial sql.NullString
	if err := t.row(`SELECT min(n.serial) FROM necks n JOIN inspections i ON i.neck_id = n.id
		WHERE n.id IN (`+necks+`) AND EXISTS (SELECT 1 FROM readings r WHERE r.inspection_id = i.id AND r.by = ?)`, append(args, by)...).Scan(&serial); err != nil {
		return err
	}
	if serial.Valid {
		return fmt.Errorf("%w: %s measured %s, so may not %s; somebody else does", ErrMayNot, by, serial.String, right)
	}
	return nil
}

// sign keeps the signatures of what was written: one for each thing that the trail names, all with the digest of the whole act.
func (t *tx) sign() error {
	if len(t.signing) == 0 || len(t.entries) == 0 {
		return nil // nothing was written: what was asked for is so already
	}
	sum := t.signedDigest()
	var abouts []string
	for _, e := range t.entries {
		if !slices.Contains(abouts, e.About) {
			abouts = append(abouts, e.About)
		}
	}
	for _, s := range t.signing {
		for _, about := range abouts {
			s.About, s.Digest = about, sum
			if err := t.keepSignature(s); err != nil {
				return err
			}
		}
	}
	return nil
}

func (t *tx) keepSignature(s batch.Signature) error {
	id, err := newID()
	if err != nil {
		return err
	}
	if err := t.exec(`INSERT INTO signatures (id, station, at, by, meaning, about, reason, digest, second) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		id, t.station, nanos(t.at), s.By, string(s.Meaning), s.About, s.Reason, s.Digest, s.Second); err != nil {
		return err
	}
	return t.audit(s.By, "signed: "+string(s.Meaning), s.About, "sha256 "+s.Digest)
}

// signedDigest is the SHA-256 in hex over what the trail says of the transaction so far, each part with its length before it.
func (t *tx) signedDigest() string {
	h := sha256.New()
	for _, e := range t.entries {
		for _, s := range []string{e.By, e.What, e.About, e.Detail} {
			number(h, int64(len(s)))
			h.Write([]byte(s))
		}
	}
	return hex.EncodeToString(h.Sum(nil))
}

// Signatures returns what was signed about something, as the trail names it, and about its attempts or revisions, oldest first.
func (db *DB) Signatures(ctx context.Context, about string) ([]batch.Signature, error) {
	all, err := list(ctx, db.reader, func(s scanner) (g batch.Signature, err error) {
		var at int64
		err = s.Scan(&g.ID, &at, &g.By, &g.Meaning, &g.About, &g.Reason, &g.Digest, &g.Second)
		g.At = instant(at)
		return g, err
	}, `SELECT id, at, by, meaning, about, reason, digest, second FROM signatures WHERE about = ?1 OR about >= ?1 || ', ' AND about < ?1 || ',!' ORDER BY ord`, about)
	return all, translate(err, "reading the signatures")
}
