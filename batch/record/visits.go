package record

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/batch/files"
	"sagitta/inspect"
)

// NewVisit is what a visit begins with.
type NewVisit struct {
	Serial      string
	Kind        string // where the instrument is not entered yet, or is another than was said
	MakerNumber string
	Owner       batch.Owner // from now on; the zero value: as it was
	Wishes      string      // in the player's own words
	Strings     string      // the name of its set
	// Spec is the text of the visit's specification. Its name is the serial number and its revision the visit's: what the text says of them is
	// replaced by both.
	Spec *inspect.Spec
	At   batch.Day // when its strings were fitted; "" for today
}

// OpenVisit begins an instrument's next visit and enters the instrument where it is not known. ErrInput: a serial number or specification
// that cannot be; ErrState: the visit before has not ended, or the neck is on a bench.
func (db *DB) OpenVisit(ctx context.Context, by string, v NewVisit) (batch.Visit, error) {
	var number int
	v.Serial = strings.TrimSpace(v.Serial)
	err := db.write(ctx, "beginning a visit of "+batch.Shown(v.Serial), func(t *tx) (err error) {
		if err := t.may(by, batch.Keep); err != nil {
			return err
		}
		number, err = t.openVisit(by, v)
		return err
	})
	if err != nil {
		return batch.Visit{}, err
	}
	return db.Visit(ctx, v.Serial, number)
}

func (t *tx) openVisit(by string, v NewVisit) (int, error) {
	wishes, err := words("wishes", v.Wishes, true)
	if err != nil {
		return 0, err
	}
	if err := t.enterInstrument(by, batch.Instrument{Serial: v.Serial, Kind: v.Kind, MakerNumber: v.MakerNumber}); err != nil {
		return 0, err
	}
	if v.Owner.Name != "" || v.Owner.Contact != "" {
		if err := t.setOwner(by, v.Serial, v.Owner); err != nil {
			return 0, err
		}
	}
	before, err := visits(t.ctx, t, v.Serial)
	if err != nil {
		return 0, err
	}
	number := 1
	for _, b := range before {
		number = max(number, b.Number+1)
		if b.Number > 0 && b.EndedAt.IsZero() {
			return 0, fmt.Errorf("%w: visit %d of %s has not ended; end it first", ErrState, b.Number, v.Serial)
		}
		var busy bool
		if err := t.row(`SELECT EXISTS (SELECT 1 FROM neck_status WHERE neck_id = ? AND state IN ('open', 'parked'))`, b.Neck.ID).Scan(&busy); err != nil {
			return 0, err
		}
		if busy {
			return 0, fmt.Errorf("%w: an inspection of %s in batch %s is in progress; finish it or give it up first", ErrState, v.Serial, b.Batch.Number)
		}
	}
	spec := *v.Spec
	spec.Name, spec.Revision = v.Serial, fmt.Sprint(number)
	text := files.WriteSpec(&spec)
	read, err := files.ReadSpec(v.Serial+".toml", text)
	if err != nil {
		return 0, err
	}
	r := batch.SpecRevision{Name: read.Name, Revision: read.Revision, Text: string(text), Spec: read.WithDefaults(), AddedBy: by, Reason: wishes}
	if err := t.addSpec(by, v.Serial+".toml", &r); err != nil {
		return 0, err
	}
	b, err := t.openBatch(by, batch.Batch{Number: batch.VisitBatch(v.Serial, number), Spec: r, Planned: 1})
	if err != nil {
		return 0, err
	}
	if err := t.fact(`INSERT INTO visits (id, station, at, by, serial, number, batch_id, wishes) VALUES (?, ?, ?, ?, ?, ?, ?, ?)`,
		by, v.Serial, number, b.ID, wishes); err != nil {
		return 0, err
	}
	b.Visit = number
	if _, err := t.addNecks(by, b, []string{v.Serial}); err != nil {
		return 0, err
	}
	if err := t.audit(by, "visit begun", v.Serial, strings.TrimSuffix(fmt.Sprintf("visit %d; %s", number, wishes), "; ")); err != nil {
		return 0, err
	}
	return number, t.stringsOf(by, v, r.Spec.Strings)
}

// stringsOf notes a visit's strings where they are others than those that the instrument had.
func (t *tx) stringsOf(by string, v NewVisit, strung []inspect.String) error {
	had, err := stringSets(t.ctx, t, v.Serial)
	if err != nil || len(strung) == 0 {
		return err
	}
	if n := len(had); n > 0 && (v.Strings == "" || had[n-1].Name == v.Strings) && slices.EqualFunc(had[n-1].Strings, strung, sameString) {
		return nil
	}
	fitted := v.At
	if fitted == "" {
		fitted = batch.DayOf(t.at)
	}
	return t.fitStrings(by, batch.StringSet{Serial: v.Serial, Fitted: fitted, Name: v.Strings, Strings: strung})
}

// sameString tells whether two strings are of one kind at one pitch; where they run is the neck's matter.
func sameString(a, b inspect.String) bool {
	mass := func(s inspect.String) float64 {
		if s.MassGPerM == nil {
			return 0
		}
		return *s.MassGPerM
	}
	return a.Number == b.Number && a.Name == b.Name && a.PitchHz == b.PitchHz && a.DiameterMM == b.DiameterMM && mass(a) == mass(b) &&
		a.PlainString == b.PlainString && a.Material == b.Material
}

// EndVisit ends an instrument's open visit with its result in words, which may be none. ErrUnknown: no such instrument; ErrState: no visit is open, or an
// inspection is in progress.
func (db *DB) EndVisit(ctx context.Context, by, serial, result string) error {
	return db.about(ctx, "ending a visit of "+serial, by, serial, batch.Keep, func(t *tx) error {
		result, err := words("result", result, true)
		if err != nil {
			return err
		}
		all, err := visits(t.ctx, t, serial)
		if err != nil {
			return err
		}
		at := slices.IndexFunc(all, func(v batch.Visit) bool { return v.Number > 0 && v.EndedAt.IsZero() })
		if at < 0 {
			return fmt.Errorf("%w: no visit of %s is open", ErrState, serial)
		}
		return t.endVisit(by, all[at].Batch, result)
	})
}

// endVisit ends the visit that a batch is, and closes the batch.
func (t *tx) endVisit(by string, b batch.Batch, result string) error {
	if err := t.closeBatch(by, b); err != nil {
		return err
	}
	var id, serial string
	if err := t.row(`SELECT id, serial FROM visits WHERE batch_id = ?`, b.ID).Scan(&id, &serial); err != nil {
		return err
	}
	if err := t.fact(`INSERT INTO visit_ends (id, station, at, by, visit_id, words) VALUES (?, ?, ?, ?, ?, ?)`, by, id, result); err != nil {
		return err
	}
	return t.audit(by, "visit ended", serial, strings.TrimSuffix(fmt.Sprintf("visit %d; %s", b.Visit, result), "; "))
}

// isVisit refuses a visit that is none of the instrument's; "" is none and allowed.
func (t *tx) isVisit(serial, id string) error {
	if id == "" {
		return nil
	}
	var is bool
	if err := t.row(`SELECT EXISTS (SELECT 1 FROM visits WHERE id = ? AND serial = ?)`, id, serial).Scan(&is); err != nil {
		return err
	}
	if !is {
		return fmt.Errorf("visit %q of %s: %w", id, serial, ErrUnknown)
	}
	return nil
}

// Visits returns an instrument's visits, the first before, and with Number 0 the inspections of shop's batches under its serial number.
func (db *DB) Visits(ctx context.Context, serial string) ([]batch.Visit, error) {
	all, err := visits(ctx, db.reader, strings.TrimSpace(serial))
	return all, translate(err, "reading the visits of "+serial)
}

// Visit returns one visit of an instrument by its number; ErrUnknown where there is none.
func (db *DB) Visit(ctx context.Context, serial string, number int) (batch.Visit, error) {
	all, err := db.Visits(ctx, serial)
	if err != nil {
		return batch.Visit{}, err
	}
	at := slices.IndexFunc(all, func(v batch.Visit) bool { return v.Number == number && number > 0 })
	if at < 0 {
		return batch.Visit{}, fmt.Errorf("visit %d of %s: %w", number, serial, ErrUnknown)
	}
	return all[at], nil
}

func visits(ctx context.Context, q querier, serial string) ([]batch.Visit, error) {
	type row struct {
		batch.Visit
		batchID string
	}
	rows, err := list(ctx, q, func(s scanner) (r row, err error) {
		var registered, opened, ended int64
		err = s.Scan(&r.ID, &r.Serial, &r.Number, &r.batchID, &r.Neck.ID, &r.Wishes, &registered, &opened, &r.OpenedBy, &ended, &r.EndedBy, &r.Result)
		r.Neck.Serial, r.Neck.BatchID, r.Neck.RegisteredAt = r.Serial, r.batchID, instant(registered)
		r.OpenedAt, r.EndedAt = instant(opened), instant(ended)
		return r, err
	}, `SELECT coalesce(v.id, ''), n.serial, coalesce(v.number, 0), n.batch_id, n.id, coalesce(v.wishes, ''), n.at, coalesce(v.at, n.at), coalesce(v.by, n.by),
		coalesce(e.at, 0), coalesce(e.by, ''), coalesce(e.words, '')
		FROM necks n LEFT JOIN visits v ON v.batch_id = n.batch_id LEFT JOIN visit_ends e ON e.visit_id = v.id WHERE n.serial = ? ORDER BY n.ord`, serial)
	if err != nil {
		return nil, err
	}
	all := make([]batch.Visit, len(rows))
	for i, r := range rows {
		all[i] = r.Visit
		if all[i].Batch, err = findBatch(ctx, q, `WHERE b.id = ?`, r.batchID); err != nil {
			return nil, err
		}
		all[i].Neck.BatchNumber, all[i].Neck.Visit = all[i].Batch.Number, r.Number
		if all[i].Number == 0 { // a factory's inspection ends with its batch
			all[i].EndedAt = all[i].Batch.ClosedAt
		}
	}
	return all, nil
}
