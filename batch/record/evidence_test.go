package record

import (
	"context"
	"database/sql"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"golang.org/x/mod/sumdb/tlog"

	"sagitta/batch"
	"sagitta/inspect"
)

// aside does something to a record's file without the program, without triggers that would refuse it, and undoes it after the look.
func (s *shop) aside(t *testing.T, change func(tx *sql.Tx) error, look func(tx *sql.Tx)) {
	t.Helper()
	raw := must(sql.Open("sqlite", "file:"+s.path+"?_pragma=busy_timeout(5000)&_txlock=immediate"))(t)
	defer func() { _ = raw.Close() }()
	tx := must(raw.Begin())(t)
	defer func() { _ = tx.Rollback() }()
	triggers := must(list(s.ctx, tx, func(r scanner) (name string, err error) { return name, r.Scan(&name) }, `SELECT name FROM sqlite_schema WHERE type = 'trigger'`))(t)
	for _, name := range triggers {
		must(tx.Exec(`DROP TRIGGER ` + name))(t)
	}
	if err := change(tx); err != nil {
		t.Fatal(err)
	}
	look(tx)
}

// other is a value that a column does not hold.
const other = `CASE typeof(%[1]s) WHEN 'integer' THEN %[1]s + 100000 WHEN 'real' THEN %[1]s + 0.5 WHEN 'text' THEN %[1]s || 'x' WHEN 'blob' THEN x'0102' ELSE 1 END`

// What was changed is named by its table, order number and what it belongs to.
func TestVerifyNamesWhatDiffers(t *testing.T) {
	s := newShop(t, serials(2)...)
	in := s.start("QM-2611-0002")
	s.read(in, 1, 0.1)
	s.verdict(in, inspect.Rework, 0.5, 0.5)
	for _, c := range []struct{ name, change, words string }{
		{"a limit", `UPDATE characteristics SET upper = upper * 3`, "rows 1 to 1"},
		{"a reading", `UPDATE readings SET value = 0.2`, "row 1 of readings (neck QM-2611-0002)"},
		{"a batch", `UPDATE batches SET planned = 7`, "row 1 of batches (batch QM-2611)"},
		{"a neck", `UPDATE necks SET at = at + 1 WHERE ord = 2`, "rows 1 to 2 of necks (neck QM-2611-0001)"},
		{"an entry", `UPDATE evidence SET entry = replace(entry, 'readings', 'reading') WHERE entry LIKE '%readings%'`, "the table reading"},
		{"an entry's digest", `UPDATE evidence SET hashes = zeroblob(32) WHERE ord = 1`, "entry 1 of the evidence is not as it was written"},
		{"an entry removed", `DELETE FROM evidence WHERE ord = 2`, "entry 2 of the evidence is missing"},
		{"the newest entry removed", `DELETE FROM evidence WHERE ord = (SELECT max(ord) FROM evidence)`, "no entry of the evidence covers it"},
	} {
		s.aside(t, func(tx *sql.Tx) error { _, err := tx.Exec(c.change); return err }, func(tx *sql.Tx) {
			err := verifyEvidence(s.ctx, tx)
			words := c.words
			if c.name == "a limit" {
				words = "row 1 of characteristics (neck QM-2611-0002)"
			}
			wantErr(t, err, ErrAudit, words)
		})
	}
}

// The tree's parts are those of RFC 6962: the root at each size is worked out from the entries alone, and a record that grew proves by
// it that what was there is still there.
func TestTreeIsTheStandards(t *testing.T) {
	s := newShop(t, serials(1)...)
	in := s.start("QM-2611-0001")
	for fret := range 12 {
		s.read(in, 1+fret, 0.1)
	}
	entries := must(list(s.ctx, s.reader, func(r scanner) (e string, err error) { return e, r.Scan(&e) }, `SELECT entry FROM evidence ORDER BY ord`))(t)
	var root func(e []string) tlog.Hash
	root = func(e []string) tlog.Hash {
		if len(e) == 1 {
			return tlog.RecordHash([]byte(e[0]))
		}
		k := 1
		for k*2 < len(e) {
			k *= 2
		}
		return tlog.NodeHash(root(e[:k]), root(e[k:]))
	}
	stored := treeHashes{s.ctx, s.reader}
	for n := range entries {
		if got := must(tlog.TreeHash(int64(n+1), stored))(t); got != root(entries[:n+1]) {
			t.Errorf("the root of %d entries is %v, want %v", n+1, got, root(entries[:n+1]))
		}
	}
	old, whole := int64(5), int64(len(entries))
	proof := must(tlog.ProveTree(whole, old, stored))(t)
	if err := tlog.CheckTree(proof, whole, root(entries), old, root(entries[:old])); err != nil {
		t.Error(err)
	}
}

// What the program wrote in a way that no entry covers is found, and a table that nobody thought of keeps nothing.
func TestNothingIsWrittenBesideTheTree(t *testing.T) {
	s := newShop(t, serials(1)...)
	must(s.writer.Exec(`INSERT INTO shift_notes SELECT 1, 'n', 'bench 1', 1, 'x', 'x'`))(t)
	wantErr(t, s.VerifyAudit(s.ctx), ErrAudit, "row 1 of shift_notes", "no entry of the evidence covers it")
	must(s.writer.Exec(`CREATE TABLE thoughts (ord INTEGER PRIMARY KEY, at INTEGER)`))(t)
	wantErr(t, s.write(s.ctx, "thinking", func(t *tx) error { return t.exec(`INSERT INTO thoughts VALUES (1, 1)`) }), ErrAudit, "the table thoughts")
	must(s.writer.Exec(`DROP TRIGGER people_not_changed`))(t)
	must(s.AddPerson(s.ctx, "", "Ada Wynn", "inspector"))(t)
	wantErr(t, s.write(s.ctx, "changing", func(t *tx) error { return t.exec(`UPDATE people SET name = 'x'`) }), ErrAudit, "rows of people are never changed")
}

// What the tree leaves out is named here once more, so that a table is left out only on purpose; every other refuses to be changed.
func TestTreeLeavesOutWhatIsNamed(t *testing.T) {
	s := newShop(t)
	want := []string{"batch_tally", "characteristic_tally", "checkpoints", "evidence", "first_tally", "goose_db_version", "neck_first", "neck_status",
		"restated", "serial_grams", "sessions", "uncounted"}
	if got := slices.Sorted(slices.Values(outsideTree)); !slices.Equal(got, want) {
		t.Errorf("left out are %q, want %q", got, want)
	}
	tables := must(tablesOfFacts(s.ctx, s.reader))(t)
	for name := range tables {
		for _, kind := range []string{"_not_changed", "_not_removed"} {
			var has bool
			s.ok(s.reader.QueryRow(`SELECT EXISTS (SELECT 1 FROM sqlite_schema WHERE type = 'trigger' AND name = ?)`, name+kind).Scan(&has))
			if !has {
				t.Errorf("%s lacks the trigger %s", name, name+kind)
			}
		}
	}
}

// Triggers, views, indexes and tables are compared with those that the migrations make.
func TestSchemaIsCompared(t *testing.T) {
	for _, c := range []struct{ change, words string }{
		{`CREATE TRIGGER zeroes AFTER INSERT ON gauge_checks BEGIN SELECT 1; END`, "trigger zeroes, which this program does not make"},
		{`DROP TRIGGER readings_not_changed`, "trigger readings_not_changed is missing"},
		{`DROP INDEX verdicts_inspection`, "index verdicts_inspection is missing"},
		{`CREATE TABLE more (x)`, "table more, which this program does not make"},
		{`ALTER TABLE uncounted ADD COLUMN x`, "table uncounted is not as this program makes it"},
		{`DROP VIEW judgements; CREATE VIEW judgements AS SELECT * FROM counting_verdicts`, "view judgements is not as this program makes it"},
	} {
		s := newShop(t)
		must(s.writer.Exec(c.change))(t)
		moment := must(s.reader.BeginTx(context.Background(), nil))(t)
		wantErr(t, verifySchema(s.ctx, moment), ErrAudit, c.words)
		s.ok(moment.Rollback())
	}
}

// Rows are digested as they are written, where that is sure: what such a digest is of is what is read afterwards, whatever the values are.
func TestDigestAsWritten(t *testing.T) {
	s := newShop(t, serials(1)...)
	in := s.start("QM-2611-0001")
	var all []batch.Reading
	for i, v := range []float64{0, math.Copysign(0, -1), 1, -5, 0.1, 1e-300, 1 << 53, 1e18, 9.3e18, -1e300, math.MaxFloat64} {
		r := crown(in, 1+i, v)
		r.Decoded, r.U, r.Raw = -v, math.Abs(v), [][]byte{nil, {}, {0}, []byte("x\x00y")}[i%4]
		r.Sent, r.Reason = []string{"", "0.1", "ä\xff漢", "12"}[i%4], strings.Repeat("r", i*97)
		all = append(all, r)
	}
	must(s.AppendReadings(s.ctx, all))(t)
	if sum := s.evidence.sums["readings"]; sum == nil || sum.loose || sum.count != len(all) {
		t.Errorf("%d readings were not digested as they were written: %+v", len(all), sum)
	}
	all[3].Sent = "1\x002" // is not seen whole as it is written
	must(s.AppendReadings(s.ctx, all))(t)
	if len(s.evidence.sums) != 0 {
		t.Error("a text with a NUL was digested as it was written")
	}
	_, err := s.AppendReading(s.ctx, batch.Reading{InspectionID: "none", Point: batch.Point{Kind: batch.Crown}})
	wantErr(t, err, ErrInput, "no such inspection")
	s.read(in, 1, 2)
	s.ok(s.VerifyAudit(s.ctx))
}

// Where a commit cannot be told to have been taken, the tree is read again before the next; and a tree that is read is the one that was kept.
func TestTreeIsReadAgain(t *testing.T) {
	s := newShop(t, serials(1)...)
	in := s.start("QM-2611-0001")
	for i := range 21 {
		s.read(in, 1, 0.1)
		kept := s.evidence.edge
		if i%3 == 0 {
			s.evidence.size, s.evidence.edge = unread, edge{}
		}
		s.ok(s.evidence.begin(s.ctx, s.writer))
		for level := range kept {
			if s.evidence.size>>level&1 == 1 && kept[level] != s.evidence.edge[level] {
				t.Errorf("of %d entries, level %d is another", s.evidence.size, level)
			}
		}
	}
	gone, cancel := context.WithCancel(s.ctx)
	err := s.write(gone, "a note", func(t *tx) error {
		defer cancel()
		return t.exec(`INSERT INTO shift_notes VALUES (1, 'n', 'bench 1', 1, 'x', 'x')`)
	})
	if !errors.Is(err, context.Canceled) && !errors.Is(err, sql.ErrTxDone) {
		t.Errorf("a context that ended gives %v", err)
	}
	s.read(in, 1, 0.1)
	s.ok(s.VerifyAudit(s.ctx))
}
