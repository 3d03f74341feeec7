package record

import (
	"database/sql"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/mod/sumdb/tlog"

	"sagitta/batch"
	"sagitta/batch/anchor"
)

// tampering is something that is done to a record's file without the program.
type tampering struct {
	what    string
	table   string   // that it is done to, "" where it is none of facts
	queries []string // each alone
}

// tamperings are every column of every table changed, and rows added, removed and exchanged.
func (s *shop) tamperings(t *testing.T, tables map[string]factTable) (all []tampering) {
	t.Helper()
	for _, name := range slices.Sorted(maps.Keys(tables)) {
		table := tables[name]
		var rows int
		s.ok(s.reader.QueryRow(`SELECT count(*) FROM "` + name + `"`).Scan(&rows))
		if rows == 0 {
			t.Errorf("%s has no row to change", name)
			continue
		}
		newest := fmt.Sprintf(`(%[1]s) = (SELECT %[1]s FROM "%[2]s" ORDER BY %[3]s DESC LIMIT 1)`, table.order, name, strings.ReplaceAll(table.order, ",", " DESC,"))
		values, changed := make([]string, len(table.columns)), tampering{what: "every column changed", table: name}
		for i, column := range table.columns {
			values[i] = fmt.Sprintf(other, column)
			changed.queries = append(changed.queries, fmt.Sprintf(`UPDATE "%s" SET %s = %s WHERE %s`, name, column, values[i], newest))
		}
		all = append(all, changed,
			tampering{"a row added", name, []string{fmt.Sprintf(`INSERT INTO "%s" SELECT %s FROM "%s" WHERE %s`, name, strings.Join(values, ", "), name, newest)}},
			tampering{"the newest row removed", name, []string{fmt.Sprintf(`DELETE FROM "%s" WHERE %s`, name, newest)}})
		if rows > 1 && table.numbered {
			all = append(all, tampering{"rows exchanged", name, []string{fmt.Sprintf(`UPDATE "%[1]s" SET %[2]s = -%[2]s WHERE %[2]s IN (SELECT %[2]s FROM "%[1]s" ORDER BY %[2]s LIMIT 2);
				UPDATE "%[1]s" SET %[2]s = (SELECT -sum(%[2]s) FROM "%[1]s" WHERE %[2]s < 0) + %[2]s WHERE %[2]s < 0`, name, table.key)}})
		}
	}
	return all
}

// verifyTampered is what verify looks at but for the schema and what is derived, which a forger is taken to have mended.
func (s *shop) verifyTampered(tx *sql.Tx) error {
	var entry, verdict int64
	if err := tx.QueryRow(`SELECT (SELECT coalesce(max(seq), 0) FROM audit), (SELECT coalesce(max(ord), 0) FROM verdicts)`).Scan(&entry, &verdict); err != nil {
		return err
	}
	return errors.Join(verifyEvidence(s.ctx, tx), verifyChain(s.ctx, tx, entry, verdict))
}

// madeAnew is what somebody does who has the file and this program's source, and not the key: the digests of verdicts, the trail's hashes and the
// evidence are worked out anew for what stands there now, laid out as they were.
func (s *shop) madeAnew(t *testing.T, tx *sql.Tx) {
	t.Helper()
	s.trailAnew(t, tx)
	entries := must(list(s.ctx, tx, func(r scanner) (e string, err error) { return e, r.Scan(&e) }, `SELECT entry FROM evidence ORDER BY ord`))(t)
	must(tx.Exec(`DELETE FROM evidence`))(t)
	v := verifying{ctx: s.ctx, q: tx, tables: must(tablesOfFacts(s.ctx, tx))(t), open: map[string]*facts{}}
	var lines [][]entryLine
	for _, e := range entries {
		of, err := entryLines(e)
		s.ok(err)
		lines = append(lines, of)
	}
	var left []entryLine
	for _, name := range slices.Sorted(maps.Keys(v.tables)) {
		left = append(left, entryLine{table: name, columns: len(v.tables[name].columns), to: 1<<63 - 1})
	}
	var ord int64
	for i, of := range append(lines, left) {
		entry := entryHead
		for _, l := range of {
			f := must(v.facts(l.table))(t)
			var err error
			l.count, l.sum, err = f.digest(l.to, l.columns)
			s.ok(err)
			if l.count > 0 {
				entry = string(l.append([]byte(entry)))
			}
		}
		if i == len(lines) && entry == entryHead {
			break
		}
		hashes := must(tlog.StoredHashes(ord, []byte(entry), &v.edge))(t)
		copy(v.edge[:], hashes)
		ord++
		must(tx.Exec(`INSERT INTO evidence (ord, entry, hashes) VALUES (?, ?, ?)`, ord, entry, joined(hashes)))(t)
	}
	for _, f := range v.open {
		s.ok(f.rows.Close())
	}
}

// trailAnew works out the digests of verdicts and the trail's hashes.
func (s *shop) trailAnew(t *testing.T, tx *sql.Tx) {
	t.Helper()
	verdicts := must(tx.Query(selectDigested + `ORDER BY ord`))(t)
	var sums []string
	for verdicts.Next() {
		_, sum, err := digest(s.ctx, tx, digestVersion, verdicts)
		s.ok(err)
		sums = append(sums, sum)
	}
	s.ok(errors.Join(verdicts.Err(), verdicts.Close()))
	entries := must(list(s.ctx, tx, scanAudit, selectAudit+`ORDER BY seq`))(t)
	must(tx.Exec(`UPDATE audit SET seq = -seq`))(t)
	before := ""
	for i, e := range entries {
		was := e.Seq
		if e.Seq = int64(i + 1); e.What == auditVerdict {
			if len(sums) == 0 {
				e.What = "note"
			} else {
				e.Detail, sums = verdictDetail(&batch.Verdict{}, sums[0]), sums[1:]
			}
		}
		before = chain(before, e.station, e.Event)
		must(tx.Exec(`UPDATE audit SET seq = ?, what = ?, detail = ?, hash = ? WHERE seq = ?`, e.Seq, e.What, e.Detail, before, -was))(t)
	}
	for _, sum := range sums {
		e := batch.Event{Seq: int64(len(entries) + 1), What: auditVerdict, Detail: verdictDetail(&batch.Verdict{}, sum)}
		entries = append(entries, auditRow{e, "bench 1"})
		before = chain(before, "bench 1", e)
		must(tx.Exec(insertAudit+` VALUES (?, 'bench 1', ?, '', ?, '', ?, ?)`, e.Seq, nanos(e.At), e.What, e.Detail, before))(t)
	}
}

// signedAnew signs all with another key, which the trail names in place of the right one.
func (s *shop) signedAnew(t *testing.T, tx *sql.Tx, k *anchor.Key) {
	t.Helper()
	must(tx.Exec(`DELETE FROM checkpoints`))(t)
	must(tx.Exec(`UPDATE audit SET detail = ? WHERE what = ?`, k.Public, auditKey))(t)
	s.madeAnew(t, tx)
	var size int64
	s.ok(tx.QueryRow(`SELECT max(ord) FROM evidence`).Scan(&size))
	c := must(k.Sign(size, must(tlog.TreeHash(size, treeHashes{s.ctx, tx}))(t), time.Now()))(t)
	must(tx.Exec(`INSERT INTO checkpoints VALUES (1, ?, ?)`, size, c.Note))(t)
}

// outcome is how often something was found, of how many times.
type outcome struct{ found, of int }

func (o *outcome) add(found bool) {
	o.of++
	if found {
		o.found++
	}
}

func (o *outcome) String() string {
	switch o.found {
	case o.of:
		return "found"
	case 0:
		return "not found"
	}
	return fmt.Sprintf("%d of %d", o.found, o.of)
}

// workedOut are the columns that are made anew together with the evidence: a change of them alone is gone then.
var workedOut = []string{`"seq"`, `"hash"`}

// Everything that can be done to a record's file is done: by itself it is found and named; where all is made anew it is found by the checkpoints in the
// record while they are there, without them by nothing in the file, and always by one that had left the building. The table says so.
func TestTampering(t *testing.T) {
	s := everyTable(t)
	k, forger := newKey(t), newKey(t)
	s.ok(s.UseKey(s.ctx, k.Public))
	for _, name := range []string{"b", "c", "d"} { // of the trail the newest is changed, and not where it names the key
		must(s.AddPerson(s.ctx, "x", name, batch.Inspector))(t)
	}
	c := s.signed(t, k)
	s.ok(s.VerifyAudit(s.ctx))
	tables := must(tablesOfFacts(s.ctx, s.reader))(t)
	var table strings.Builder
	table.WriteString(tamperingHead)
	changes := 0
	for _, of := range s.tamperings(t, tables) {
		var alone, kept, removed, outside outcome
		for _, query := range of.queries {
			changes++
			change := func(tx *sql.Tx) error { _, err := tx.Exec(query); return err }
			s.aside(t, change, func(tx *sql.Tx) {
				err := verifyEvidence(s.ctx, tx)
				alone.add(err != nil)
				if wantErr(t, err, ErrAudit, of.table); t.Failed() {
					t.Fatalf("%s: %s: %v", of.table, query, err)
				}
				if of.table == "audit" && slices.ContainsFunc(workedOut, func(column string) bool { return strings.Contains(query, "SET "+column+" = ") && len(of.queries) > 1 }) {
					return
				}
				s.madeAnew(t, tx)
				kept.add(verifyEvidence(s.ctx, tx) != nil)
				must(tx.Exec(`DELETE FROM checkpoints`))(t)
				removed.add(s.verifyTampered(tx) != nil)
				b := must(besideOf(s.ctx, tx, c))(t)
				outside.add(b.Short || b.Other)
			})
		}
		line(&table, of.table, of.what, len(of.queries), alone.String(), kept.String(), removed.String(), outside.String())
	}
	for _, of := range s.othersDo(t, c, forger) {
		line(&table, of[0], of[1], 1, of[2:]...)
	}
	golden := filepath.Join("testdata", "tampering.txt")
	if *update {
		if err := os.WriteFile(golden, []byte(table.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if want := must(os.ReadFile(golden))(t); string(want) != table.String() {
		t.Errorf("the table has changed; look at it, then -update:\n%s", table.String())
	}
	if t.Logf("%d changes of %d tables", changes, len(tables)); changes < 300 {
		t.Errorf("%d changes are too few", changes)
	}
}

// othersDo is done to what is no table of facts, and to all of them: what, to what, and what is found of it.
func (s *shop) othersDo(t *testing.T, c anchor.Checkpoint, forger *anchor.Key) (lines [][]string) {
	t.Helper()
	word := func(err error) string {
		var o outcome
		o.add(err != nil)
		return o.String()
	}
	const none = "-" // nothing of the kind is to be made anew
	for _, of := range [][3]string{
		{"evidence", "an entry changed", `UPDATE evidence SET entry = entry || 'x' WHERE ord = 2`},
		{"evidence", "an entry's hashes changed", `UPDATE evidence SET hashes = zeroblob(length(hashes)) WHERE ord = 2`},
		{"evidence", "an entry removed", `DELETE FROM evidence WHERE ord = 2`},
		{"evidence", "the newest entry removed", `DELETE FROM evidence WHERE ord = (SELECT max(ord) FROM evidence)`},
		{"evidence", "an entry added", `INSERT INTO evidence SELECT max(ord) + 1, entry, hashes FROM evidence`},
		{"checkpoints", "its size changed", `UPDATE checkpoints SET size = size + 1`},
		{"checkpoints", "its text changed", `UPDATE checkpoints SET note = replace(note, 'at 2', 'at 1')`},
		{"checkpoints", "the newest removed", `DELETE FROM checkpoints`},
	} {
		s.aside(t, func(tx *sql.Tx) error { _, err := tx.Exec(of[2]); return err }, func(tx *sql.Tx) {
			outside := "found"
			if b := must(besideOf(s.ctx, tx, c))(t); b.Unkept && !b.Other && !b.Short {
				outside = "said"
			} else if !b.Other && !b.Short {
				outside = none
			}
			lines = append(lines, []string{of[0], of[1], word(s.verifyTampered(tx)), none, none, outside})
		})
	}
	lines = append(lines, s.tailCut(t, c, word))
	s.aside(t, func(tx *sql.Tx) error { s.signedAnew(t, tx, forger); return nil }, func(tx *sql.Tx) {
		b := must(besideOf(s.ctx, tx, c))(t)
		lines = append(lines, []string{"every table", "signed anew with another key", none, none, word(s.verifyTampered(tx)), word(map[bool]error{true: ErrAudit}[b.Other])})
	})
	for _, of := range [][3]string{
		{"a trigger", "planted", `CREATE TRIGGER zeroes AFTER INSERT ON gauge_checks BEGIN SELECT 1; END`},
		{"a trigger", "removed", `DROP TRIGGER readings_not_changed`},
		{"a trigger", "made to do nothing", `DROP TRIGGER people_not_changed; CREATE TRIGGER people_not_changed BEFORE UPDATE ON people BEGIN SELECT 1; END`},
		{"a view", "that says what counts changed", `DROP VIEW judgements; CREATE VIEW judgements AS SELECT * FROM counting_verdicts`},
		{"a table", "added", `CREATE TABLE more (x)`},
	} {
		lines = append(lines, []string{of[0], of[1], word(s.looked(t, of[2], func(tx *sql.Tx) error { return verifySchema(s.ctx, tx) })), none, none, none})
	}
	for _, table := range []string{"neck_status", "batch_tally", "first_tally", "characteristic_tally"} {
		query := fmt.Sprintf(`DELETE FROM %s`, table)
		lines = append(lines, []string{table, "emptied", word(s.looked(t, query, func(tx *sql.Tx) error { return verifyDerived(s.ctx, tx) })), none, none, none})
	}
	return lines
}

// looked does something to the file, with its triggers, looks and undoes it.
func (s *shop) looked(t *testing.T, change string, look func(tx *sql.Tx) error) error {
	t.Helper()
	raw := must(sql.Open("sqlite", "file:"+s.path+"?_pragma=busy_timeout(5000)&_txlock=immediate"))(t)
	defer func() { _ = raw.Close() }()
	tx := must(raw.Begin())(t)
	defer func() { _ = tx.Rollback() }()
	must(tx.Exec(change))(t)
	return look(tx)
}

// tailCut takes the newest three entries and all that was written with them away.
func (s *shop) tailCut(t *testing.T, c anchor.Checkpoint, word func(error) string) []string {
	t.Helper()
	found := []string{"every table", "the tail cut"}
	tables := must(tablesOfFacts(s.ctx, s.reader))(t)
	s.aside(t, func(tx *sql.Tx) error {
		upTo := map[string]int64{}
		entries, err := list(s.ctx, tx, func(r scanner) (e string, err error) { return e, r.Scan(&e) }, `SELECT entry FROM evidence ORDER BY ord`)
		if err != nil {
			return err
		}
		for _, e := range entries[:len(entries)-3] {
			of, err := entryLines(e)
			if err != nil {
				return err
			}
			for _, l := range of {
				upTo[l.table] = l.to
			}
		}
		for name, table := range tables {
			to, is := upTo[name]
			if !is {
				to = -1 << 63
			}
			if _, err := tx.Exec(fmt.Sprintf(`DELETE FROM "%s" WHERE %s > ?`, name, table.key), to); err != nil {
				return err
			}
		}
		return nil
	}, func(tx *sql.Tx) {
		found = append(found, word(s.verifyTampered(tx)))
		must(tx.Exec(`DELETE FROM evidence WHERE ord > (SELECT max(ord) - 3 FROM evidence)`))(t)
		found = append(found, word(s.verifyTampered(tx)))
		must(tx.Exec(`DELETE FROM checkpoints`))(t)
		found = append(found, word(s.verifyTampered(tx)))
		var o outcome
		o.add(must(besideOf(s.ctx, tx, c))(t).Short)
		found = append(found, o.String())
	})
	return found
}

const tamperingHead = `What sagitta verify finds of what was done to a record's file without the program, written by TestTampering (-update).
alone: nothing else was touched. kept: trail, digests of verdicts, what is derived and evidence were made anew by somebody who has the file and not the key, and the
checkpoints in the record left. removed: those were removed too, of which verify only prints that nothing is signed. outside: the same beside a checkpoint that had left the
building, with --against. The columns seq and hash of the trail are changed alone: who makes it anew writes them.

`

func line(b *strings.Builder, table, what string, times int, found ...string) {
	if times > 1 {
		what = fmt.Sprintf("%s (%d)", what, times)
	}
	text := fmt.Sprintf("%-24s %-36s", table, what)
	for i, of := range found {
		text += fmt.Sprintf(" %s: %-11s", []string{"alone", "kept", "removed", "outside"}[i], of)
	}
	b.WriteString(strings.TrimRight(text, " ") + "\n")
}
