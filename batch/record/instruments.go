package record

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"sagitta/batch"
)

// The newest row says what an instrument is and whose.
const selectInstrument = `SELECT i.serial, i.kind, i.maker_number, i.at, i.by, coalesce(o.name, ''), coalesce(o.contact, ''), coalesce(o.at, 0), coalesce(o.by, '')
	FROM instruments i LEFT JOIN owners o ON o.ord = (SELECT max(ord) FROM owners WHERE serial = i.serial)
	WHERE i.ord = (SELECT max(ord) FROM instruments WHERE serial = i.serial) `

func scanInstrument(s scanner) (batch.Instrument, error) {
	var i batch.Instrument
	var at, owned int64
	err := s.Scan(&i.Serial, &i.Kind, &i.MakerNumber, &at, &i.By, &i.Owner.Name, &i.Owner.Contact, &owned, &i.Owner.By)
	i.At, i.Owner.At = instant(at), instant(owned)
	return i, err
}

// Instrument returns what is known of an instrument; ErrUnknown where nothing was entered for its serial number.
func (db *DB) Instrument(ctx context.Context, serial string) (batch.Instrument, error) {
	return findInstrument(ctx, db.reader, strings.TrimSpace(serial))
}

func findInstrument(ctx context.Context, q querier, serial string) (batch.Instrument, error) {
	i, err := scanInstrument(q.QueryRowContext(ctx, selectInstrument+`AND i.serial = ?`, serial))
	return i, unknown(err, "instrument", serial)
}

// Instruments returns at most limit instruments whose serial number, owner or maker's number contains part, letters of either case; those
// of the newest visit first.
func (db *DB) Instruments(ctx context.Context, part string, limit int) ([]batch.InstrumentRow, error) {
	const what = "reading the instruments"
	found, err := list(ctx, db.reader, scanInstrument, selectInstrument+`ORDER BY coalesce((SELECT max(at) FROM visits WHERE serial = i.serial), i.at) DESC`)
	if err != nil {
		return nil, translate(err, what)
	}
	part = strings.ToLower(strings.TrimSpace(part)) // SQLite knows the case of ASCII alone
	found = slices.DeleteFunc(found, func(i batch.Instrument) bool {
		return !slices.ContainsFunc([]string{i.Serial, i.MakerNumber, i.Owner.Name}, func(has string) bool { return strings.Contains(strings.ToLower(has), part) })
	})
	found = found[:min(len(found), limit)]
	rows := make([]batch.InstrumentRow, len(found))
	for n, i := range found {
		rows[n].Instrument = i
		visits, err := db.Visits(ctx, i.Serial)
		if err != nil {
			return nil, err
		}
		for _, v := range visits {
			if v.Number > 0 {
				rows[n].Visits++
			}
			rows[n].Newest = v
		}
		promises, err := db.Promises(ctx, i.Serial)
		if err != nil {
			return nil, err
		}
		for at := range promises {
			if p := &promises[at]; p.EndedAt.IsZero() && (rows[n].Promise == nil || p.Due < rows[n].Promise.Due) {
				rows[n].Promise = p
			}
		}
	}
	return rows, nil
}

// EnterInstrument says what an instrument is: its Kind and MakerNumber count from then on. ErrInput: no serial number; ErrExists: it is somebody's badge.
func (db *DB) EnterInstrument(ctx context.Context, by string, i batch.Instrument) error {
	return db.write(ctx, "entering an instrument", func(t *tx) error {
		if err := t.may(by, batch.Keep); err != nil {
			return err
		}
		return t.enterInstrument(by, i)
	})
}

func (t *tx) enterInstrument(by string, i batch.Instrument) error {
	i.Serial, i.MakerNumber = strings.TrimSpace(i.Serial), strings.TrimSpace(i.MakerNumber)
	if !batch.IsSerial(i.Serial) {
		return fmt.Errorf("%w: serial number %q; allowed: %s", ErrInput, batch.Shown(i.Serial), batch.AllowedSerial)
	}
	if err := t.refuseBadges("serial number", i.Serial); err != nil {
		return err
	}
	old, err := findInstrument(t.ctx, t, i.Serial)
	switch {
	case err == nil && old.Kind == i.Kind && old.MakerNumber == i.MakerNumber:
		return nil
	case err != nil && !errors.Is(err, ErrUnknown):
		return err
	}
	if err := t.fact(`INSERT INTO instruments (id, station, at, by, serial, kind, maker_number) VALUES (?, ?, ?, ?, ?, ?, ?)`, by, i.Serial, i.Kind, i.MakerNumber); err != nil {
		return err
	}
	return t.audit(by, "instrument entered", i.Serial, strings.TrimSuffix(i.Kind+"; "+i.MakerNumber, "; "))
}

// fact adds a row that begins with id, station, at and by.
func (t *tx) fact(query, by string, rest ...any) error {
	id, err := newID()
	if err != nil {
		return err
	}
	return t.exec(query, append([]any{id, t.station, nanos(t.at), by}, rest...)...)
}

// about runs what adds something to an instrument that is entered.
func (db *DB) about(ctx context.Context, what, by, serial string, right batch.Right, add func(t *tx) error) error {
	return db.write(ctx, what, func(t *tx) error {
		if err := t.may(by, right); err != nil {
			return err
		}
		if _, err := findInstrument(t.ctx, t, serial); err != nil {
			return err
		}
		return add(t)
	})
}

// longestWords bounds what is written of an instrument, characters.
const longestWords = 4000

// words checks what a person wrote; empty says that it may be.
func words(what, text string, empty bool) (string, error) {
	text = strings.TrimSpace(text)
	switch n := utf8.RuneCountInString(text); {
	case n == 0 && !empty:
		return "", fmt.Errorf("%w: found no %s; write it in words", ErrInput, what)
	case n > longestWords:
		return "", fmt.Errorf("%w: %s of %d characters; allowed are %d", ErrInput, what, n, longestWords)
	case !utf8.ValidString(text):
		return "", fmt.Errorf("%w: %s that is no text in UTF-8", ErrInput, what)
	}
	return text, nil
}

// SetOwner says whose an instrument is from now on. ErrUnknown: no such instrument; ErrInput: too long.
func (db *DB) SetOwner(ctx context.Context, by, serial string, o batch.Owner) error {
	return db.about(ctx, "entering an owner", by, serial, batch.Keep, func(t *tx) error { return t.setOwner(by, serial, o) })
}

func (t *tx) setOwner(by, serial string, o batch.Owner) (err error) {
	if o.Name, err = words("owner", o.Name, true); err != nil {
		return err
	}
	if o.Contact, err = words("address", o.Contact, true); err != nil {
		return err
	}
	if err := t.fact(`INSERT INTO owners (id, station, at, by, serial, name, contact) VALUES (?, ?, ?, ?, ?, ?, ?)`, by, serial, o.Name, o.Contact); err != nil {
		return err
	}
	detail := "" // who it is stands in one table alone
	if o.Name == "" {
		detail = "nobody's who is known"
	}
	return t.audit(by, "owner entered", serial, detail)
}

// Owners returns whose an instrument was, the first before.
func (db *DB) Owners(ctx context.Context, serial string) ([]batch.Owner, error) {
	all, err := list(ctx, db.reader, func(s scanner) (o batch.Owner, err error) {
		var at int64
		err = s.Scan(&o.Name, &o.Contact, &at, &o.By)
		o.At = instant(at)
		return o, err
	}, `SELECT name, contact, at, by FROM owners WHERE serial = ? ORDER BY ord`, serial)
	return all, translate(err, "reading the owners of "+serial)
}

// FitStrings says which strings an instrument was given, and when. ErrUnknown; ErrInput: no day.
func (db *DB) FitStrings(ctx context.Context, by string, set batch.StringSet) error {
	return db.about(ctx, "entering a set of strings", by, set.Serial, batch.Measure, func(t *tx) error { return t.fitStrings(by, set) })
}

func (t *tx) fitStrings(by string, set batch.StringSet) error {
	if _, err := batch.ParseDay(string(set.Fitted)); err != nil {
		return err
	}
	text, err := json.Marshal(set.Strings)
	if err != nil {
		return err
	}
	if err := t.fact(`INSERT INTO string_sets (id, station, at, by, serial, fitted, name, strings) VALUES (?, ?, ?, ?, ?, ?, ?, ?)`,
		by, set.Serial, string(set.Fitted), set.Name, string(text)); err != nil {
		return err
	}
	return t.audit(by, "strings fitted", set.Serial, set.Name)
}

// StringSets returns an instrument's strings over time, by the day on which they were fitted.
func (db *DB) StringSets(ctx context.Context, serial string) ([]batch.StringSet, error) {
	return stringSets(ctx, db.reader, serial)
}

func stringSets(ctx context.Context, q querier, serial string) ([]batch.StringSet, error) {
	all, err := list(ctx, q, func(s scanner) (set batch.StringSet, err error) {
		var at int64
		var text string
		if err := s.Scan(&set.ID, &set.Serial, &set.Fitted, &set.Name, &text, &at, &set.By); err != nil {
			return set, err
		}
		set.At = instant(at)
		if err := json.Unmarshal([]byte(text), &set.Strings); err != nil {
			return set, fmt.Errorf("%w: a set of strings of %s: %w", ErrCorrupt, set.Serial, err)
		}
		return set, nil
	}, `SELECT id, serial, fitted, name, strings, at, by FROM string_sets WHERE serial = ? ORDER BY fitted, ord`, serial)
	return all, translate(err, "reading the strings of "+serial)
}

// AddInstrumentNote keeps a note. ErrUnknown; ErrInput: nothing written, or too much.
func (db *DB) AddInstrumentNote(ctx context.Context, by string, n batch.InstrumentNote) error {
	return db.about(ctx, "keeping a note", by, n.Serial, batch.Measure, func(t *tx) (err error) {
		if n.Text, err = words("note", n.Text, false); err != nil {
			return err
		}
		if err := t.isVisit(n.Serial, n.VisitID); err != nil {
			return err
		}
		if err := t.fact(`INSERT INTO instrument_notes (id, station, at, by, serial, visit_id, text) VALUES (?, ?, ?, ?, ?, ?, ?)`, by, n.Serial, n.VisitID, n.Text); err != nil {
			return err
		}
		return t.audit(by, "note kept", n.Serial, n.Text)
	})
}

// InstrumentNotes returns an instrument's notes, the oldest first.
func (db *DB) InstrumentNotes(ctx context.Context, serial string) ([]batch.InstrumentNote, error) {
	all, err := list(ctx, db.reader, func(s scanner) (n batch.InstrumentNote, err error) {
		var at int64
		err = s.Scan(&n.ID, &n.Serial, &n.VisitID, &n.Text, &at, &n.By)
		n.At = instant(at)
		return n, err
	}, `SELECT id, serial, visit_id, text, at, by FROM instrument_notes WHERE serial = ? ORDER BY ord`, serial)
	return all, translate(err, "reading the notes of "+serial)
}

// Promise keeps a promise. ErrUnknown; ErrInput: no day, or nothing promised.
func (db *DB) Promise(ctx context.Context, by string, p batch.Promise) error {
	return db.about(ctx, "keeping a promise", by, p.Serial, batch.Measure, func(t *tx) (err error) {
		if p.Due, err = batch.ParseDay(string(p.Due)); err != nil {
			return err
		}
		if p.What, err = words("promise", p.What, false); err != nil {
			return err
		}
		if err := t.fact(`INSERT INTO promises (id, station, at, by, serial, due, what) VALUES (?, ?, ?, ?, ?, ?, ?)`, by, p.Serial, string(p.Due), p.What); err != nil {
			return err
		}
		return t.audit(by, "promised", p.Serial, fmt.Sprintf("by %s: %s", p.Due, p.What))
	})
}

// EndPromise says how a promise was kept or given up. ErrUnknown; ErrState: it was before; ErrInput: no words.
func (db *DB) EndPromise(ctx context.Context, by, id, how string) error {
	return db.write(ctx, "ending a promise", func(t *tx) error {
		if err := t.may(by, batch.Measure); err != nil {
			return err
		}
		p, err := scanPromise(t.row(selectPromise+`WHERE p.id = ?`, id))
		if err != nil {
			return unknown(err, "promise", id)
		}
		if !p.EndedAt.IsZero() {
			return fmt.Errorf("%w: %s said at %s: %s", ErrState, p.EndedBy, p.EndedAt.Local().Format("2006-01-02 15:04"), p.Ended)
		}
		if how, err = words("word on how it was kept", how, false); err != nil {
			return err
		}
		if err := t.fact(`INSERT INTO promise_ends (id, station, at, by, promise_id, words) VALUES (?, ?, ?, ?, ?, ?)`, by, id, how); err != nil {
			return err
		}
		return t.audit(by, "promise ended", p.Serial, p.What+": "+how)
	})
}

const selectPromise = `SELECT p.id, p.serial, p.due, p.what, p.at, p.by, coalesce(e.at, 0), coalesce(e.by, ''), coalesce(e.words, '')
	FROM promises p LEFT JOIN promise_ends e ON e.promise_id = p.id `

func scanPromise(s scanner) (p batch.Promise, err error) {
	var at, ended int64
	err = s.Scan(&p.ID, &p.Serial, &p.Due, &p.What, &at, &p.By, &ended, &p.EndedBy, &p.Ended)
	p.At, p.EndedAt = instant(at), instant(ended)
	return p, err
}

// Promises returns what was promised for an instrument, by the day on which it is due.
func (db *DB) Promises(ctx context.Context, serial string) ([]batch.Promise, error) {
	all, err := list(ctx, db.reader, scanPromise, selectPromise+`WHERE p.serial = ? ORDER BY p.due, p.ord`, serial)
	return all, translate(err, "reading what was promised for "+serial)
}

// PromisesDue returns the promises of all instruments that are to be kept by a day, by the day on which they are due.
func (db *DB) PromisesDue(ctx context.Context, by batch.Day) ([]batch.Promise, error) {
	all, err := list(ctx, db.reader, scanPromise, selectPromise+`WHERE p.due <= ? AND e.ord IS NULL ORDER BY p.due, p.ord`, string(by))
	return all, translate(err, "reading what was promised")
}

// House says for whom the record is kept.
func (db *DB) House(ctx context.Context) (batch.House, error) {
	h := batch.Factory
	err := db.reader.QueryRowContext(ctx, `SELECT kind FROM houses ORDER BY ord DESC LIMIT 1`).Scan(&h)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		err = nil
	case err == nil && h != batch.Factory && h != batch.Builder: // a page of something else, where the file was written over
		h, err = batch.Factory, ErrCorrupt
	}
	return h, translate(err, "reading for whom the record is kept")
}

// SetHouse says for whom the record is kept from now on. ErrInput: no such house.
func (db *DB) SetHouse(ctx context.Context, by string, h batch.House) error {
	return db.write(ctx, "saying for whom the record is kept", func(t *tx) error {
		if err := t.may(by, batch.Keep); err != nil {
			return err
		}
		if h != batch.Factory && h != batch.Builder {
			return fmt.Errorf("%w: found house %q; allowed: %q, %q", ErrInput, batch.Shown(string(h)), batch.Factory, batch.Builder)
		}
		if err := t.fact(`INSERT INTO houses (id, station, at, by, kind) VALUES (?, ?, ?, ?, ?)`, by, string(h)); err != nil {
			return err
		}
		return t.audit(by, "house chosen", string(h), "")
	})
}
