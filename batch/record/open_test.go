package record

import (
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/sampling"
	"sagitta/inspect"
)

func TestOpenRefuses(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	foreign := filepath.Join(dir, "foreign.db")
	raw := must(sql.Open("sqlite", foreign))(t)
	must(raw.Exec(`CREATE TABLE t (x)`))(t)
	if err := raw.Close(); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, path string
		opt        Options
		kind       error
	}{
		{"folder missing", filepath.Join(dir, "nowhere", "record.db"), Options{Station: "s"}, ErrNoFolder},
		{"a folder", dir, Options{Station: "s"}, ErrNotRecord},
		{"text", write("text.db", strings.Repeat("no database at all ", 100)), Options{Station: "s"}, ErrNotRecord},
		{"another program's database", foreign, Options{Station: "s"}, ErrNotRecord},
		{"none, and an existing one is asked for", filepath.Join(dir, "new.db"), Options{Station: "s", Existing: true}, ErrNoRecord},
		{"none, to be read", filepath.Join(dir, "new.db"), Options{ReadOnly: true}, ErrNoRecord},
		{"no station", filepath.Join(dir, "new.db"), Options{}, ErrInput},
	} {
		db, err := Open(c.path, c.opt)
		if db != nil {
			t.Errorf("%s: opened", c.name)
			continue
		}
		wantErr(t, err, c.kind, c.path)
		if got, want := batch.KindOf(err), batch.KindOf(c.kind); got != want {
			t.Errorf("%s: %v is of kind %d, want %d", c.name, err, got, want)
		}
	}
	if _, err := os.Stat(filepath.Join(dir, "new.db")); err == nil {
		t.Error("a refused opening made a file")
	}
}

func TestSecondStationIsRefusedAndAReaderIsNot(t *testing.T) {
	s := newShop(t, serials(1)...)
	_, err := Open(s.path, Options{Station: "bench 2"})
	wantErr(t, err, ErrInUse, s.path)
	reader := must(Open(s.path, Options{ReadOnly: true}))(t)
	in := s.start("QM-2611-0001")
	if got := must(reader.OpenInspections(s.ctx))(t); len(got) != 1 {
		t.Errorf("a reader beside the station sees %d open inspections, want 1", len(got))
	}
	_, err = reader.AppendReading(s.ctx, crown(in, 1, 0))
	wantErr(t, err, ErrReadOnly)
	wantErr(t, reader.CloseBatch(s.ctx, "x", "QM-2611"), ErrReadOnly)
	s.ok(reader.Close())
	s.ok(s.Close())
	again := must(Open(s.path, Options{Station: "bench 2", Existing: true}))(t)
	s.ok(again.Close())
}

func TestNewerSchemaIsRefused(t *testing.T) {
	s := newShop(t)
	must(s.writer.Exec(`INSERT INTO goose_db_version (version_id, is_applied) VALUES (99, 1)`))(t)
	s.ok(s.Close())
	for _, opt := range []Options{{Station: "bench 1"}, {ReadOnly: true}} {
		_, err := Open(s.path, opt)
		wantErr(t, err, ErrNewer, "its schema is 99", "newer program")
	}
}

// everyTable is a record with rows in every table of facts.
func everyTable(t *testing.T) *shop {
	t.Helper()
	s := newShop(t, serials(1)...)
	in := s.start("QM-2611-0001")
	s.read(in, 1, 0)
	s.ok(s.SetClimate(s.ctx, "x", in.ID, inspect.Climate{HumidityPercent: new(47.0)}))
	s.ok(s.SetHanded(s.ctx, "x", in.ID, "left"))
	s.ok(s.SetInspectionState(s.ctx, "x", in.ID, batch.Parked, "waits"))
	s.verdict(in, inspect.Pass, 0.3, 0.3)
	must(s.AddPerson(s.ctx, "x", "x", batch.Inspector))(t)
	must(s.SaveGauge(s.ctx, "x", batch.Gauge{ID: "g", Name: "g", Sense: 1}))(t)
	must(s.AppendReading(s.ctx, batch.Reading{InspectionID: in.ID, Point: batch.Point{Kind: batch.NutHeight, String: 1}, GaugeID: "g"}))(t)
	must(s.AppendGaugeCheck(s.ctx, batch.GaugeCheck{GaugeID: "g"}))(t)
	s.ok(s.clear("x", in.NeckID, "x"))
	s.check("g", true)
	must(s.AppendReading(s.ctx, batch.Reading{InspectionID: in.ID, Point: batch.Point{Kind: batch.NutHeight, String: 2}, GaugeID: "g"}))(t)
	must(s.AppendGaugeEvent(s.ctx, batch.GaugeEvent{GaugeID: "g", What: batch.CheckDrop}))(t)
	s.afterFall("g", true, true)
	must(s.AddCertificate(s.ctx, "x", batch.Certificate{GaugeID: "g", Number: "1", Issued: clock()(), Due: clock()().AddDate(1, 0, 0)}, nil))(t)
	must(s.AppendRework(s.ctx, batch.ReworkAction{NeckID: in.NeckID, What: "action"}))(t)
	keepStories(t, s, s.batch.ID, "QM-2610-", 1, rand.New(rand.NewPCG(1, 1)))
	drawn := must(s.DrawOutgoing(s.ctx, batch.OutgoingAudit{By: "x", BatchID: s.batch.ID, AQL: 10, Level: "II", Severity: sampling.Normal}))(t)
	must(s.AppendOutgoingFindings(s.ctx, batch.OutgoingFinding{By: "x", AuditID: drawn.ID, NeckID: drawn.Necks[0].NeckID, Conforms: true}))(t)
	must(s.GiveUpOutgoing(s.ctx, "x", drawn.ID, "x"))(t)
	s.put(`INSERT INTO lot_releases VALUES (1, 'r', 'bench 1', 1, 'x', ?, 'x')`, drawn.ID)
	s.ok(s.CloseBatch(s.ctx, "x", "QM-2611"))
	must(s.RaiseAlarm(s.ctx, batch.Alarm{Subject: "x"}))(t)
	s.ok(s.AcknowledgeAlarm(s.ctx, "x", must(s.OpenAlarms(s.ctx))(t)[0].ID, "x"))
	must(s.AddNote(s.ctx, "x", "x"))(t)
	s.put(`INSERT INTO carried SELECT 1, 'c', 'bench 1', 1, v.id, v.inspection_id, 'g', 0, 1 FROM verdicts v LIMIT 1`)
	s.put(`INSERT INTO whole_inspections SELECT 1, 'w', 'bench 1', 1, 'x', i.id FROM inspections i LIMIT 1`)
	s.ok(s.FreezeBase(s.ctx, "x", s.batch.ID, 1, 25, ""))
	s.ok(s.IssueCode(s.ctx, batch.AtTheMachine, "", "d", clock()().AddDate(1, 0, 0)))
	p := must(s.UseCode(s.ctx, "d", "Ulla Brandt", map[batch.SecretKind]string{batch.Password: "h"}))(t)
	s.ok(s.KeepSignOn(s.ctx, p, batch.ByPassword, true))
	s.ok(s.SetRole(batch.WithSeals(s.ctx, batch.Seal{By: p.Name}), p.Name, "x", batch.Repairer, false))
	s.ok(s.SetPeopleSignOn(s.ctx, batch.AtTheMachine, false))
	visit := s.visit("2026-014", "low action")
	s.ok(s.SetOwner(s.ctx, "x", "2026-014", batch.Owner{Name: "o"}))
	s.ok(s.AddInstrumentNote(s.ctx, "x", batch.InstrumentNote{Serial: "2026-014", VisitID: visit.ID, Text: "x"}))
	s.ok(s.Promise(s.ctx, "x", batch.Promise{Serial: "2026-014", Due: "2026-03-01", What: "x"}))
	s.ok(s.EndPromise(s.ctx, "x", must(s.Promises(s.ctx, "2026-014"))(t)[0].ID, "x"))
	s.ok(s.AddPhotographs(s.ctx, "x", "2026-014", []batch.Photograph{{Pin: "fret 7", Digest: strings.Repeat("0", 64)}}))
	s.ok(s.HidePhotograph(s.ctx, "x", must(s.Photographs(s.ctx, "2026-014"))(t)[0].ID, "x"))
	s.ok(s.EndVisit(s.ctx, "x", "2026-014", "x"))
	s.ok(s.SetHouse(s.ctx, "x", batch.Builder))
	st := must(s.StartStudy(s.ctx, "x", "g", crossedPlan()))(t)
	must(s.AppendStudyReading(s.ctx, batch.StudyReading{StudyID: st.ID, Part: "1", Appraiser: "A", Trial: "1"}))(t)
	s.ok(s.EndStudy(s.ctx, "x", st.ID, batch.StudyGivenUp, "x"))
	return s
}

// put writes a row that no test above can bring about, as the program would.
func (s *shop) put(query string, args ...any) {
	s.Helper()
	s.ok(s.write(s.ctx, "a row", func(t *tx) error { return t.exec(query, args...) }))
}

func TestRowsAreNeverChanged(t *testing.T) {
	s := everyTable(t)
	must(s.writer.Exec(`INSERT INTO checkpoints VALUES (1, 1, 'x')`))(t)
	tables := must(list(s.ctx, s.reader, func(r scanner) (name string, err error) { return name, r.Scan(&name) },
		`SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT IN ('goose_db_version', 'sqlite_sequence', 'neck_status', 'batch_tally',
		'neck_first', 'first_tally', 'characteristic_tally', 'uncounted', 'restated', 'serial_grams', 'sessions') AND name NOT LIKE 'serial_parts%'`))(t)
	if len(tables) < 14 {
		t.Fatalf("tables: %v", tables)
	}
	for _, table := range tables {
		column := must(list(s.ctx, s.reader, func(r scanner) (name string, err error) { return name, r.Scan(&name) }, `SELECT name FROM pragma_table_info(?) LIMIT 1`, table))(t)[0]
		for _, change := range []string{fmt.Sprintf(`UPDATE %s SET %s = %s`, table, column, column), `DELETE FROM ` + table} {
			if _, err := s.writer.Exec(change); err == nil || !strings.Contains(err.Error(), "rows of "+table+" are never") {
				t.Errorf("%s: got %v, want a refusal", change, err)
			}
		}
	}
}

func TestBackup(t *testing.T) {
	s := newShop(t, serials(1)...)
	s.read(s.start("QM-2611-0001"), 1, 0.25)
	copied := filepath.Join(t.TempDir(), "copy.db")
	s.ok(s.Backup(s.ctx, copied))
	if err := s.Backup(s.ctx, copied); batch.KindOf(err) != batch.Conflict || !strings.Contains(err.Error(), copied+": there is a file of this name already") || errors.Is(err, ErrExists) {
		t.Errorf("a copy onto an existing file is refused by %v", err)
	}
	db := must(Open(copied, Options{ReadOnly: true}))(t)
	defer func() { s.ok(db.Close()) }()
	s.ok(db.VerifyAudit(s.ctx))
	if in := must(db.OpenInspections(s.ctx))(t); len(in) != 1 || len(must(db.Readings(s.ctx, in[0].ID))(t)) != 1 {
		t.Errorf("the copy holds %+v", in)
	}
}
