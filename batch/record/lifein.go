package record

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
)

// ReadLife reads the file of an instrument. The error is ErrInput and says what was found and what is allowed.
func ReadLife(text []byte) (Life, error) {
	var l Life
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	d.DisallowUnknownFields()
	if err := d.Decode(&l); err != nil {
		return l, fmt.Errorf("%w: it is no file of an instrument: %v", ErrInput, err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return l, fmt.Errorf("%w: something follows its end", ErrInput)
	}
	if l.Format != LifeFormat {
		return l, fmt.Errorf("%w: found format %q; allowed: %q. A newer program may have written it", ErrInput, batch.Shown(l.Format), LifeFormat)
	}
	for name, rows := range l.Rows {
		if !slices.ContainsFunc(lifeTables, func(t lifeTable) bool { return t.name == name }) {
			return l, fmt.Errorf("%w: found rows of %q, which no file of an instrument has", ErrInput, batch.Shown(name))
		}
		for _, row := range rows {
			if err := row.read(name); err != nil {
				return l, err
			}
		}
	}
	return l, l.check()
}

// read turns the values of a row of a table from those of a file into those that the record holds.
func (row LifeRow) read(table string) error {
	for column, v := range row {
		if column == "ord" {
			return fmt.Errorf("%w: found an order number in %s; they are each record's own", ErrInput, table)
		}
		read, err := lifeValue(column, v)
		if err != nil {
			return fmt.Errorf("%w: %s: %s: %v", ErrInput, table, batch.Shown(column), err)
		}
		row[column] = read
	}
	return nil
}

// lifeValue is a value as the record holds it.
func lifeValue(column string, v any) (any, error) {
	switch v := v.(type) {
	case json.Number:
		if n, err := v.Int64(); err == nil {
			return n, nil
		}
		return v.Float64()
	case string:
		if column == "at" {
			at, err := time.Parse(time.RFC3339Nano, v)
			if err != nil {
				return nil, fmt.Errorf("found %q; allowed: a moment such as 2026-11-02T10:00:00Z", batch.Shown(v))
			}
			return nanos(at), nil
		}
		return v, nil
	case map[string]any:
		text, ok := v["base64"].(string)
		if !ok || len(v) != 1 {
			return nil, errors.New(`found an object; allowed: {"base64": "..."}`)
		}
		return base64.StdEncoding.DecodeString(text)
	case nil:
		return nil, nil
	}
	return nil, fmt.Errorf("found %T; allowed: a number, a text, null or bytes", v)
}

// check refuses a file whose rows are of another instrument, or hang on rows that it has not.
func (l *Life) check() error {
	if !batch.IsSerial(l.Serial) || strings.TrimSpace(l.Serial) != l.Serial {
		return fmt.Errorf("%w: serial number %q; allowed: %s", ErrInput, batch.Shown(l.Serial), batch.AllowedSerial)
	}
	ids := map[string]map[any]bool{}
	for _, of := range []string{"specs", "batches", "necks", "visits", "inspections", "verdicts", "readings", "doubts", "doubt_causes", "promises", "photographs"} {
		ids[of] = map[any]bool{nil: true, "": true}
		for _, row := range l.Rows[of] {
			if id, is := row["id"].(string); !is || id == "" || ids[of][id] {
				return fmt.Errorf("%w: a row of %s has no id of its own", ErrInput, of)
			}
			ids[of][row["id"]] = true
		}
	}
	parents := map[string]string{"neck_id": "necks", "inspection_id": "inspections", "verdict_id": "verdicts", "verdict_ord": "verdicts", "visit_id": "visits", "batch_id": "batches", "spec_id": "specs",
		"after_reading": "readings", "upto_reading": "readings", "last_doubt": "doubts", "cause_id": "doubt_causes", "promise_id": "promises", "photograph_id": "photographs"}
	for name, rows := range l.Rows {
		for _, row := range rows {
			if serial, has := row["serial"]; has && serial != l.Serial {
				return fmt.Errorf("%w: a row of %s is of %v, and the file is of %s", ErrInput, name, serial, l.Serial)
			}
			for column, of := range parents {
				if id, has := row[column]; has && !ids[of][id] && (name != "doubt_causes" || column != "batch_id") {
					return fmt.Errorf("%w: a row of %s names a row of %s that is not in the file, %v", ErrInput, name, of, id)
				}
			}
		}
	}
	return nil
}

// TakeInLife takes in all of an instrument that the record does not have yet, in one commit, and returns how many rows that were. What it has stays as
// it is; a row that is there under the same key must be the same. ErrInput: a file that cannot be taken in; ErrExists: the serial number, a visit's number or a batch's number is
// another one's here.
func (db *DB) TakeInLife(ctx context.Context, by string, l Life) (added int, err error) {
	err = db.write(ctx, "taking in "+l.Serial, func(t *tx) error {
		if err := t.may(by, batch.Keep); err != nil {
			return err
		}
		if err := t.refuseBadges("serial number", l.Serial); err != nil {
			return err
		}
		in := lifeIn{tx: t, life: l, fresh: map[string]bool{}}
		if err := in.compare(); err != nil {
			return err
		}
		for _, table := range lifeTables {
			if err := in.table(table); err != nil {
				return err
			}
		}
		if added = in.added; added == 0 {
			return nil
		}
		if err := in.derive(); err != nil {
			return err
		}
		text, err := l.Text()
		if err != nil {
			return err
		}
		return t.audit(by, "instrument taken in", l.Serial, fmt.Sprintf("rows: %d; sha256 %s", added, sumOf(text)))
	})
	if repeated(err) {
		err = fmt.Errorf("taking in %s: %w: a row of it (%v)", l.Serial, ErrExists, err)
	}
	return added, err
}

// lifeIn is a life that is taken in.
type lifeIn struct {
	*tx
	life  Life
	fresh map[string]bool // tables' rows that were added, by table and id
	added int
}

// compare refuses a life that is not the one of that serial number here.
func (in *lifeIn) compare() error {
	here, err := lifeOf(in.ctx, in.tx, in.life.Serial)
	if err != nil {
		return err
	}
	same := slices.ContainsFunc([]string{"necks", "instruments"}, func(of string) bool {
		return slices.ContainsFunc(here.Rows[of], func(old LifeRow) bool {
			return slices.ContainsFunc(in.life.Rows[of], func(row LifeRow) bool { return row["id"] == old["id"] })
		})
	})
	if len(here.Rows["necks"])+len(here.Rows["instruments"]) > 0 && !same {
		return fmt.Errorf("%w: %s is the serial number of another instrument here", ErrExists, in.life.Serial)
	}
	return nil
}

// has says that a row is there.
func (in *lifeIn) has(table, key string, value any) (is bool, err error) {
	err = in.row(`SELECT EXISTS (SELECT 1 FROM "`+table+`" WHERE "`+key+`" = ?)`, value).Scan(&is)
	return is, err
}

// same says that a row is there, whosever it is; ErrExists where it is another one than in the file.
func (in *lifeIn) same(table lifeTable, row LifeRow) (bool, error) {
	there, err := lifeRows(in.ctx, in.tx, lifeTable{name: table.name, where: "id = ?1", order: table.order, ords: table.ords}, row["id"])
	if err != nil || len(there) == 0 {
		return false, err
	}
	text, err := json.Marshal(there[0])
	if err != nil {
		return false, err
	}
	var old LifeRow
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	if err := errors.Join(d.Decode(&old), old.read(table.name)); err != nil {
		return false, err
	}
	if !reflect.DeepEqual(old, row) {
		return true, fmt.Errorf("%w: the row %v of %s is another one here than in the file", ErrExists, row["id"], table.name)
	}
	return true, nil
}

// table adds the rows of a table that are not there.
func (in *lifeIn) table(table lifeTable) error {
	rows := in.life.Rows[table.name]
	if len(rows) == 0 {
		return nil
	}
	columns, err := in.columns(table.name)
	if err != nil {
		return err
	}
	for _, row := range rows {
		there := false
		switch table.name {
		case "characteristics":
			there = !in.fresh[fmt.Sprint("verdicts ", row["verdict_ord"])]
		case "gauge_entries":
			there, err = in.has(table.name, "gauge_id", row["gauge_id"])
		default:
			there, err = in.same(table, row)
		}
		if err != nil {
			return err
		}
		if !there {
			if err := in.add(table, columns, row); err != nil {
				return err
			}
		}
	}
	return nil
}

// columns are those that a table has here.
func (in *lifeIn) columns(table string) ([]string, error) {
	rows, err := in.QueryContext(in.ctx, `SELECT * FROM "`+table+`" LIMIT 0`)
	if err != nil {
		return nil, err
	}
	defer func() { _ = rows.Close() }()
	return rows.Columns()
}

// add adds a row, and with a verdict its entry in the trail.
func (in *lifeIn) add(table lifeTable, columns []string, row LifeRow) error {
	if err := in.refuseOther(table.name, row); err != nil {
		return err
	}
	var names []string
	var values []any
	for column, v := range row {
		if !slices.Contains(columns, column) {
			return fmt.Errorf("%w: %s has no %q here; a newer program may have written the file", ErrInput, table.name, batch.Shown(column))
		}
		if _, is := table.ords[column]; is {
			var err error
			if v, err = in.ordOf(column, v); err != nil {
				return err
			}
		}
		names, values = append(names, `"`+column+`"`), append(values, v)
	}
	if err := in.exec(`INSERT INTO "`+table.name+`" (`+strings.Join(names, ", ")+`) VALUES `+places(len(names)), values...); err != nil {
		return err
	}
	in.added++
	in.fresh[fmt.Sprint(table.name, " ", row["id"])] = true
	return in.beside(table.name, row)
}

// refuseOther refuses what is known under its name and is another here.
func (in *lifeIn) refuseOther(table string, row LifeRow) error {
	switch table {
	case "batches":
		is, err := in.has(table, "number", row["number"])
		if is {
			err = fmt.Errorf("%w: batch %v is another one here", ErrExists, row["number"])
		}
		return err
	case "visits":
		var is bool
		err := in.row(`SELECT EXISTS (SELECT 1 FROM visits WHERE serial = ? AND number = ?)`, row["serial"], row["number"]).Scan(&is)
		if is {
			err = fmt.Errorf("%w: visit %v of %s is another one here", ErrExists, row["number"], in.life.Serial)
		}
		return err
	case "specs":
		var text string
		err := in.row(`SELECT text FROM specs WHERE name = ? AND revision = ? ORDER BY ord DESC LIMIT 1`, row["name"], row["revision"]).Scan(&text)
		if err == nil && text != row["text"] {
			return fmt.Errorf("%w: specification %v, revision %v, is another one here", ErrExists, row["name"], row["revision"])
		}
		if !errors.Is(err, sql.ErrNoRows) {
			return err
		}
	}
	return nil
}

// ordOf is the order number here of a row that a column names by its id; 0 where it names none.
func (in *lifeIn) ordOf(column string, id any) (ord int64, err error) {
	if id == nil {
		return 0, nil
	}
	table := map[string]string{"verdict_ord": "verdicts", "last_doubt": "doubts"}[column]
	if table == "" {
		table = "readings"
	}
	err = in.row(`SELECT ord FROM "`+table+`" WHERE id = ?`, id).Scan(&ord)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, fmt.Errorf("%w: found %v as %s, which names no row", ErrInput, id, column)
	}
	return ord, err
}

// beside writes what goes with a row: what a neck is searched by, and a verdict's entry in the trail.
func (in *lifeIn) beside(table string, row LifeRow) error {
	id, _ := row["id"].(string)
	switch table {
	case "necks":
		var ord int64
		n := batch.Neck{ID: id}
		if err := in.row(`SELECT ord, serial, batch_id FROM necks WHERE id = ?`, id).Scan(&ord, &n.Serial, &n.BatchID); err != nil {
			return err
		}
		marks := grams{}
		marks.add(ord, n.Serial)
		return errors.Join(in.besideNeck(ord, n), marks.write(in.tx))
	case "verdicts":
		v, err := scanVerdict(in.row(selectVerdict+`FROM verdicts v WHERE v.id = ?`, id))
		if err != nil {
			return err
		}
		i, err := scanInspection(in.row(selectInspection+`WHERE i.id = ?`, v.InspectionID))
		if err != nil {
			return err
		}
		_, sum, err := digest(in.ctx, in.tx, digestVersion, in.row(selectDigested+`WHERE id = ?`, id))
		if err != nil {
			return err
		}
		by := v.DecidedBy
		if by == "" {
			by = i.Inspector
		}
		return in.audit(by, auditVerdict, attemptWords(i.Serial, i.Attempt), verdictDetail(&v, sum))
	}
	return nil
}

// derive works out what is kept beside the rows.
func (in *lifeIn) derive() error {
	necks, err := list(in.ctx, in.tx, func(s scanner) (id string, err error) { return id, s.Scan(&id) }, `SELECT id FROM necks WHERE serial = ? ORDER BY ord`, in.life.Serial)
	for _, id := range necks {
		if err := in.refreshNeck(id); err != nil {
			return err
		}
	}
	return err
}
