package record

import (
	"context"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/sampling"
	"sagitta/inspect"
)

// stationsRange is how far the order numbers of one station's rows lie from another's in a file that holds both: below zero,
// since new rows are numbered on from the highest.
const stationsRange = 1 << 40

// ordered are the columns that hold order numbers, of any table; in "audit" it is the place in the trail.
var ordered = []string{"ord", "verdict_ord", "last_reading", "after_reading", "upto_reading", "last_doubt", "first_neck", "last_neck"}

// derived are the tables that are worked out from the others and never sent.
var derived = []string{"neck_status", "batch_tally", "neck_first", "first_tally", "characteristic_tally", "serial_grams", "uncounted", "restated"}

// busy is a station's record in which something of every kind has happened, to the same serial numbers of the same batch.
func busy(t *testing.T, station string) *shop {
	t.Helper()
	s := newStation(t, station, serials(4)...)
	g := s.carriage()
	s.check(g.ID, true)
	for _, serial := range serials(3) {
		s.pass(g.ID, serial)
	}
	in := s.start("QM-2611-0004")
	s.verdict(in, inspect.Rework, 0.5, 0.5)
	must(s.AppendRework(s.ctx, batch.ReworkAction{NeckID: in.NeckID, InspectionID: in.ID, By: "Ossian Reed", What: "truss rod", Turns: 0.25, Direction: "tighten"}))(t)
	s.settle(s.draw(sampling.Normal), 0, false)
	s.check(g.ID, false)
	s.ok(s.clear("Mara Quill", s.neck("QM-2611-0001").ID, "measured by hand"))
	must(s.RaiseAlarm(s.ctx, batch.Alarm{Kind: "drift", Subject: "gauge", Words: "it drifts"}))(t)
	s.ok(s.AcknowledgeAlarm(s.ctx, "Mara Quill", must(s.OpenAlarms(s.ctx))(t)[0].ID, "seen"))
	return s
}

// Rows of two stations lie in one file: the same serial numbers, numbers of batches and attempts, and every key and reference
// holds. The station whose file it is goes on as before.
func TestStationsMeet(t *testing.T) {
	here, there := busy(t, "bench 1"), busy(t, "bench 2")
	for _, s := range []*shop{here, there} {
		s.ok(s.CloseBatch(s.ctx, "Mara Quill", "QM-2611"))
	}
	before := must(here.Counts(here.ctx, here.batch.ID))(t)
	conn := must(here.writer.Conn(here.ctx))(t)
	do := func(query string, args ...any) {
		t.Helper()
		must(conn.ExecContext(here.ctx, query, args...))(t)
	}
	do(`ATTACH ? AS there`, there.path)
	do(`BEGIN`)
	do(`PRAGMA defer_foreign_keys = ON`)
	moved := 0
	tables := tablesIn(t, there)
	for _, table := range tables {
		var columns []string
		for _, c := range columnsOf(t, there, table) {
			if slices.Contains(ordered, c) || table == "audit" && c == "seq" {
				c = fmt.Sprintf("%q - %d", c, stationsRange)
			} else {
				c = fmt.Sprintf("%q", c)
			}
			columns = append(columns, c)
		}
		n := must(conn.ExecContext(here.ctx, `INSERT INTO main.`+table+` SELECT `+strings.Join(columns, ", ")+` FROM there.`+table))(t)
		moved += int(must(n.RowsAffected())(t))
	}
	do(`COMMIT`)
	do(`DETACH there`)
	s := here
	s.ok(conn.Close())
	if len(tables) < 20 || moved < 60 {
		t.Fatalf("%d rows of %d tables", moved, len(tables))
	}
	for query, want := range map[string]int{
		`SELECT count(*) FROM pragma_foreign_key_check`:            0,
		`SELECT count(*) FROM necks WHERE serial = 'QM-2611-0001'`: 2,
		`SELECT count(*) FROM doubts d WHERE NOT EXISTS (SELECT 1 FROM readings r WHERE r.ord > d.after_reading AND r.ord <= d.upto_reading)`: 0,
		`SELECT count(*) FROM standing_doubts`: 4,
		`SELECT count(DISTINCT c.verdict_ord) FROM characteristics c JOIN verdicts v ON v.ord = c.verdict_ord`:                              8,
		`SELECT count(*) FROM doubt_clearances c JOIN doubts d ON d.ord = c.last_doubt AND d.station = c.station AND d.neck_id = c.neck_id`: 2,
	} {
		var n int
		s.ok(s.reader.QueryRow(query).Scan(&n))
		if n != want {
			t.Errorf("%s: %d, want %d", query, n, want)
		}
	}
	if after := must(s.Counts(s.ctx, s.batch.ID))(t); !reflect.DeepEqual(after, before) {
		t.Errorf("counts %+v, before %+v", after, before)
	}
	opened := must(s.OpenBatch(s.ctx, "Mara Quill", batch.Batch{Number: "QM-2612", Spec: s.spec}, []string{"QM-2612-0001"}))(t)
	s.verdict(s.start("QM-2612-0001"), inspect.Pass, 0.3, 0.3)
	if c := must(s.Counts(s.ctx, opened.ID))(t); c.Passed != 1 {
		t.Errorf("the next neck: %+v", c)
	}
	_, err := s.AddNecks(s.ctx, "Mara Quill", opened.ID, []string{"QM-2611-0001"})
	wantErr(t, err, ErrExists, "QM-2611-0001")
	var lowest int64
	s.ok(s.reader.QueryRow(`SELECT min(ord) FROM verdicts WHERE station = 'bench 1'`).Scan(&lowest))
	if lowest < 1 {
		t.Errorf("a verdict of this station has the order number %d", lowest)
	}
}

// A key is an ID, holds the station, is of one inspection, study, draw or code, which one station makes, or is random.
func TestNoKeyIsOfOneStationOnly(t *testing.T) {
	s := newShop(t)
	own := []string{"readings (inspection_id, seq)", "study_readings (study_id, seq)", "outgoing_necks (audit_id, neck_id)", "characteristics (verdict_ord, place)",
		"sessions (token)", "sign_on_codes (digest)", "sign_on_code_uses (code_id)"} // of random bits, and of one code
	seen := 0
	for _, table := range tablesIn(t, s) {
		keys := must(list(s.ctx, s.reader, func(r scanner) (key string, err error) { return key, r.Scan(&key) },
			`SELECT group_concat(c.name, ', ') FROM pragma_index_list(?) i, pragma_index_info(i.name) c WHERE i."unique" = 1 GROUP BY i.name`, table))(t)
		for _, key := range keys {
			seen++
			if key != "id" && !strings.HasSuffix(key, ", station") && !slices.Contains(own, table+" ("+key+")") {
				t.Errorf("%s (%s) is unique in one station only", table, key)
			}
		}
	}
	if seen < 25 {
		t.Errorf("%d keys", seen)
	}
}

// A serial number is taken once, whatever the station was called when it was registered.
func TestSerialsOfARenamedStation(t *testing.T) {
	s := newShop(t, serials(2)...)
	s.ok(s.Close())
	db := must(Open(s.path, Options{Station: "bench 1, by the window", Now: clock()}))(t)
	defer func() { s.ok(db.Close()) }()
	_, err := db.AddNecks(s.ctx, "Mara Quill", s.batch.ID, []string{"QM-2611-0003", "QM-2611-0002"})
	wantErr(t, err, ErrExists, "QM-2611-0002")
	v := verdictOf(batch.Inspection{}, inspect.Pass, 0.3, 0.3)
	_, err = db.AppendStories(s.ctx, "Mara Quill", batch.Import{BatchID: s.batch.ID, Origin: batch.Imported, Source: "old.csv"}, func(yield func(batch.Story, error) bool) {
		for _, serial := range []string{"QM-2611-0003", "QM-2611-0002"} {
			if !yield(batch.Story{Serial: serial, Attempts: []batch.StoryAttempt{{Station: "bench 9", Inspector: "Ossian Reed", StartedAt: s.batch.OpenedAt, Verdicts: []batch.Verdict{v}}}}, nil) {
				return
			}
		}
	})
	wantErr(t, err, ErrExists, "QM-2611-0002")
	if all := must(db.Necks(s.ctx, s.batch.ID))(t); len(all) != 2 {
		t.Errorf("%d necks", len(all))
	}
}

func tablesIn(t *testing.T, s *shop) []string {
	t.Helper()
	all := must(list(s.ctx, s.reader, func(r scanner) (name string, err error) { return name, r.Scan(&name) },
		`SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%' AND name NOT LIKE 'goose_%' AND name NOT LIKE 'serial_parts%' ORDER BY name`))(t)
	return slices.DeleteFunc(all, func(name string) bool { return slices.Contains(derived, name) })
}

func columnsOf(t *testing.T, s *shop, table string) []string {
	t.Helper()
	return must(list(context.Background(), s.reader, func(r scanner) (name string, err error) { return name, r.Scan(&name) }, `SELECT name FROM pragma_table_info(?) ORDER BY cid`, table))(t)
}
