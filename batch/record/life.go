package record

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"sagitta/batch"
)

// Life is all that a record holds of one instrument: its rows as they were written, with the keys under which they are known everywhere. It is
// what a file of an instrument has.
type Life struct {
	Format string               `json:"format"`
	Serial string               `json:"serial"`
	Rows   map[string][]LifeRow `json:"rows"` // by table, in the order in which they were written
}

// LifeRow is a row by its columns. A moment ("at") is written as RFC 3339 has it, bytes as {"base64": "..."}; order numbers, which are a file's own, are not in it: what
// refers to one names the row by its id.
type LifeRow map[string]any

// LifeFormat is what a file of an instrument says that it is.
const LifeFormat = "sagitta instrument 1"

// lifeTable is a table with rows of an instrument.
type lifeTable struct {
	name, where string            // which are the instrument's; ?1 is its serial number
	order       string            // its rows' order where that is not ord
	ords        map[string]string // columns that hold another row's order number: the query that gives its id for the row x
}

const (
	itsNecks       = `(SELECT id FROM necks WHERE serial = ?1)`
	itsBatches     = `(SELECT batch_id FROM necks WHERE serial = ?1)`
	itsInspections = `(SELECT i.id FROM inspections i JOIN necks n ON n.id = i.neck_id WHERE n.serial = ?1)`
	itsVerdicts    = `(SELECT v.id FROM verdicts v JOIN inspections i ON i.id = v.inspection_id JOIN necks n ON n.id = i.neck_id WHERE n.serial = ?1)`
	itsCauses      = `(SELECT d.cause_id FROM doubts d JOIN necks n ON n.id = d.neck_id WHERE n.serial = ?1)`
	ofInspections  = `inspection_id IN ` + itsInspections
	newestReading  = `SELECT id FROM readings WHERE inspection_id = x.inspection_id AND ord <= x.%s ORDER BY ord DESC LIMIT 1`
)

// lifeTables are the tables, each after those that it refers to. What belongs to a lot, a chart or a gauge and not to an instrument is in none: audits of lots,
// alarms, events of gauges. Signatures and the trail stay in the record that they were made in, which alone can show that they are whole.
var lifeTables = []lifeTable{
	{name: "specs", where: `id IN (SELECT spec_id FROM batches WHERE id IN ` + itsBatches + `)`},
	{name: "batches", where: `id IN ` + itsBatches},
	{name: "batch_closures", where: `batch_id IN ` + itsBatches},
	{name: "necks", where: `serial = ?1`},
	{name: "instruments", where: `serial = ?1`},
	{name: "owners", where: `serial = ?1`},
	{name: "visits", where: `serial = ?1`},
	{name: "visit_ends", where: `visit_id IN (SELECT id FROM visits WHERE serial = ?1)`},
	{name: "string_sets", where: `serial = ?1`},
	{name: "instrument_notes", where: `serial = ?1`},
	{name: "promises", where: `serial = ?1`},
	{name: "promise_ends", where: `promise_id IN (SELECT id FROM promises WHERE serial = ?1)`},
	{name: "photographs", where: `serial = ?1`},
	{name: "photograph_ends", where: `photograph_id IN (SELECT id FROM photographs WHERE serial = ?1)`},
	{name: "inspections", where: `neck_id IN ` + itsNecks},
	{name: "inspection_events", where: ofInspections},
	{name: "climates", where: ofInspections},
	{name: "handings", where: ofInspections},
	{name: "whole_inspections", where: ofInspections},
	{name: "gauge_entries", where: `ord IN (SELECT max(ord) FROM gauge_entries WHERE gauge_id IN (SELECT gauge_id FROM readings WHERE ` + ofInspections + `) GROUP BY gauge_id)`},
	{name: "gauge_checks", where: `id IN (SELECT check_id FROM readings WHERE ` + ofInspections + `) OR id IN (SELECT check_id FROM doubt_answers WHERE cause_id IN ` + itsCauses + `)`},
	{name: "readings", where: ofInspections},
	{name: "verdicts", where: ofInspections},
	{name: "characteristics", where: `verdict_ord IN (SELECT ord FROM verdicts WHERE id IN ` + itsVerdicts + `)`, order: "verdict_ord, place",
		ords: map[string]string{"verdict_ord": `SELECT id FROM verdicts WHERE ord = x.verdict_ord`}},
	{name: "rework_actions", where: `neck_id IN ` + itsNecks},
	{name: "carried", where: `verdict_id IN ` + itsVerdicts, ords: readingRange},
	{name: "doubt_causes", where: `id IN ` + itsCauses},
	{name: "doubts", where: `neck_id IN ` + itsNecks, ords: readingRange},
	{name: "doubt_answers", where: `cause_id IN ` + itsCauses},
	{name: "doubt_clearances", where: `neck_id IN ` + itsNecks,
		ords: map[string]string{"last_doubt": `SELECT id FROM doubts WHERE neck_id = x.neck_id AND ord <= x.last_doubt ORDER BY ord DESC LIMIT 1`}},
}

var readingRange = map[string]string{"after_reading": fmt.Sprintf(newestReading, "after_reading"), "upto_reading": fmt.Sprintf(newestReading, "upto_reading")}

// Life returns all that the record holds of an instrument or neck by its serial number, all of one moment. ErrUnknownSerial where it knows none.
func (db *DB) Life(ctx context.Context, serial string) (Life, error) {
	serial = strings.TrimSpace(serial)
	moment, err := db.reader.BeginTx(ctx, nil)
	if err != nil {
		return Life{}, translate(err, "reading the life of "+serial)
	}
	defer func() { _ = moment.Rollback() }() // nothing was written
	l, err := lifeOf(ctx, moment, serial)
	if err == nil && len(l.Rows) == 0 {
		return l, fmt.Errorf("serial number %q: %w", batch.Shown(serial), ErrUnknownSerial)
	}
	return l, translate(err, "reading the life of "+serial)
}

func lifeOf(ctx context.Context, q querier, serial string) (Life, error) {
	l := Life{Format: LifeFormat, Serial: serial, Rows: map[string][]LifeRow{}}
	for _, table := range lifeTables {
		rows, err := lifeRows(ctx, q, table, serial)
		if err != nil {
			return l, err
		}
		if len(rows) > 0 {
			l.Rows[table.name] = rows
		}
	}
	return l, nil
}

// lifeRows reads the rows of a table that are of an instrument, by its serial number, or whatever else its condition asks for.
func lifeRows(ctx context.Context, q querier, table lifeTable, of any) ([]LifeRow, error) {
	order := table.order
	if order == "" {
		order = "ord"
	}
	columns := "x.*"
	for column, id := range table.ords {
		columns += `, (` + id + `) AS "` + column + ` id"`
	}
	return list(ctx, q, func(s scanner) (LifeRow, error) { return lifeRow(table.name, s) },
		`SELECT `+columns+` FROM (SELECT * FROM "`+table.name+`" WHERE `+table.where+`) x ORDER BY `+order, of)
}

// lifeRow takes a row as it is written in a file.
func lifeRow(table string, s scanner) (LifeRow, error) {
	columns, err := s.(interface{ Columns() ([]string, error) }).Columns()
	if err != nil {
		return nil, err
	}
	values, into := make([]any, len(columns)), make([]any, len(columns))
	for i := range values {
		into[i] = &values[i]
	}
	if err := s.Scan(into...); err != nil {
		return nil, err
	}
	row := LifeRow{}
	for i, column := range columns {
		switch v := values[i].(type) {
		case []byte:
			row[column] = map[string]any{"base64": v}
		case int64:
			row[column] = v
			if column == "at" {
				row[column] = instant(v).Format(time.RFC3339Nano)
			}
		default:
			row[column] = v
		}
	}
	for column := range row {
		if of, is := strings.CutSuffix(column, " id"); is {
			row[of] = row[column]
			delete(row, column)
		}
	}
	delete(row, "ord")
	switch table { // how they stand at another station
	case "gauge_entries":
		row["retired"] = int64(1)
	case "gauge_checks":
		row["last_reading"] = nil
	}
	return row, nil
}

// Text is the life as a file: indented JSON, keys in their order, so that the same life gives the same bytes.
func (l *Life) Text() ([]byte, error) {
	var out bytes.Buffer
	e := json.NewEncoder(&out)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	err := e.Encode(l)
	return out.Bytes(), err
}

// Photographs are the digests of the photographs whose files belong to it.
func (l *Life) Photographs() (digests []string) {
	seen := map[string]bool{}
	for _, row := range l.Rows["photographs"] {
		if digest, ok := row["digest"].(string); ok && !seen[digest] {
			seen[digest] = true
			digests = append(digests, digest)
		}
	}
	return digests
}
