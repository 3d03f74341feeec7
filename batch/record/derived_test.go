package record

import (
	"database/sql"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"sagitta/batch/tell"
	"sagitta/inspect"
)

// notDerived are the tables outside the tree that nothing is shown of: what is volatile, the tree itself, and the schema's number.
var notDerived = []string{"sessions", "evidence", "checkpoints", "goose_db_version"}

// besideTheRows are all tables but those of facts and of notDerived, with their columns.
func besideTheRows(t *testing.T, s *shop) map[string][]string {
	t.Helper()
	facts := must(tablesOfFacts(s.ctx, s.reader))(t)
	tables := map[string][]string{}
	_ = must(list(s.ctx, s.reader, func(r scanner) (struct{}, error) {
		var table, column string
		err := r.Scan(&table, &column)
		if _, is := facts[table]; !is && !slices.Contains(notDerived, table) {
			tables[table] = append(tables[table], column)
		}
		return struct{}{}, err
	}, `SELECT t.name, c.name FROM sqlite_schema t JOIN pragma_table_info(t.name) c WHERE t.type = 'table' AND t.name NOT LIKE 'sqlite\_%' ESCAPE '\' AND t.sql NOT LIKE 'CREATE VIRTUAL%'`))(t)
	return tables
}

// Every column of every table that is derived is changed, in its first and in its last row, rows are removed and added: it is found, and
// the sentence names the table. A new derived table that is not worked out anew fails here.
func TestEveryDerivedChangeIsFound(t *testing.T) {
	s := everyTable(t)
	s.ok(s.VerifyAudit(s.ctx))
	// + 1 as far as it can be: a count that is one off is found, and a value that is a little off.
	const other = `CASE typeof(%[1]s) WHEN 'integer' THEN %[1]s + 1 WHEN 'real' THEN %[1]s + 0.001 WHEN 'text' THEN %[1]s || 'x' WHEN 'blob' THEN %[1]s || x'01' ELSE 1 END`
	changes := 0
	for table, columns := range besideTheRows(t, s) {
		all := make([]string, len(columns))
		for i, c := range columns {
			all[i] = fmt.Sprintf(other, `"`+c+`"`)
		}
		queries := map[string]string{"a row added": fmt.Sprintf(`INSERT INTO "%[1]s" SELECT %[2]s FROM "%[1]s" ORDER BY 1 DESC LIMIT 1`, table, strings.Join(all, ", "))}
		switch table {
		case "serial_parts_data", "serial_parts_idx": // inside of the index: what it does not refer to is never read
			queries = map[string]string{}
		case "uncounted", "restated":
			queries = map[string]string{"a row added": `INSERT INTO ` + table + ` SELECT id FROM necks LIMIT 1`}
		}
		for _, row := range []string{"ASC", "DESC"} {
			order := make([]string, len(columns))
			for i := range columns {
				order[i] = fmt.Sprintf("%q %s", columns[i], row)
			}
			which := fmt.Sprintf(`("%[1]s") IS (SELECT "%[1]s" FROM "%[2]s" ORDER BY %[3]s LIMIT 1)`, strings.Join(columns, `", "`), table, strings.Join(order, ", "))
			queries[row+" removed"] = fmt.Sprintf(`DELETE FROM "%s" WHERE %s`, table, which)
			for i, c := range columns {
				queries[row+" changed "+c] = fmt.Sprintf(`UPDATE "%s" SET "%s" = %s WHERE %s`, table, c, all[i], which)
			}
		}
		for what, query := range queries {
			var changed int64
			s.aside(t, func(tx *sql.Tx) error {
				r, err := tx.Exec(query)
				if unfitRow(err) { // it would be another row's key: a key that no row has
					r, err = tx.Exec(strings.ReplaceAll(query, "+ 1 ", "+ 1000 "))
				}
				if err == nil {
					changed, err = r.RowsAffected()
				}
				return err
			}, func(tx *sql.Tx) {
				if changed == 0 && (table == "uncounted" || table == "restated") {
					return // none is there
				}
				changes++
				if changed != 1 {
					t.Errorf("%s: %s: %d rows changed", table, what, changed)
				}
				err := verifyDerived(s.ctx, tx)
				if err == nil && strings.HasPrefix(table, "serial_parts") { // what only the index's own order is kept in
					var state string
					s.ok(tx.QueryRow(`PRAGMA integrity_check(1)`).Scan(&state))
					if state != "ok" {
						return
					}
				}
				if err == nil && table == "serial_parts_idx" && everyPartIsFound(t, s, tx) { // the index does without it
					return
				}
				if err == nil {
					t.Errorf("%s: %s: it was not found", table, what)
				}
			})
		}
	}
	if t.Logf("%d changes, all found", changes); changes < 120 {
		t.Errorf("%d changes are too few", changes)
	}
}

// everyPartIsFound says whether the search finds each neck by each part of its serial number.
func everyPartIsFound(t *testing.T, s *shop, tx *sql.Tx) bool {
	t.Helper()
	for _, n := range must(list(s.ctx, tx, scanSerial, selectSerials))(t) {
		text := []rune(n.serial)
		for i := range len(text) - 2 {
			var found bool
			s.ok(tx.QueryRow(`SELECT EXISTS (SELECT 1 FROM serial_parts WHERE serial_parts MATCH ? AND rowid = ?)`, `"`+string(text[i:i+3])+`"`, n.ord).Scan(&found))
			if !found {
				return false
			}
		}
	}
	return true
}

// The index of a large record lies in many pages: one that is no longer referred to is missed by the search, and that is found.
func TestSearchThatMissesIsFound(t *testing.T) {
	s := newShop(t, serials(1200)...)
	s.ok(s.VerifyAudit(s.ctx))
	pages := must(list(s.ctx, s.reader, func(r scanner) (term string, err error) { return term, r.Scan(&term) }, `SELECT quote(term) FROM serial_parts_idx`))(t)
	if len(pages) < 3 {
		t.Fatalf("%d pages", len(pages))
	}
	found := 0
	for _, page := range pages {
		s.aside(t, func(tx *sql.Tx) error {
			_, err := tx.Exec(`DELETE FROM serial_parts_idx WHERE term = ` + page)
			return err
		}, func(tx *sql.Tx) {
			err := verifyDerived(s.ctx, tx)
			if err != nil {
				found++
				wantErr(t, err, ErrDerived, "the search by a part of a serial number does not find")
			} else if !everyPartIsFound(t, s, tx) {
				t.Error("the search misses a neck, which was not found")
			}
		})
	}
	if found == 0 {
		t.Errorf("of %d pages that are not referred to none was found", len(pages))
	}
}

// What is said of a change names the neck or batch and what it means, and it is true: nothing that was measured is another.
func TestVerifyTellsWhatIsShown(t *testing.T) {
	s := newShop(t, serials(2)...)
	s.verdict(s.start("QM-2611-0001"), inspect.Pass, 0.3, 0.3)
	s.verdict(s.start("QM-2611-0002"), inspect.Rework, 0.5, 0.5)
	for _, c := range []struct {
		change string
		words  []string
	}{
		{`UPDATE neck_status SET disposition = 'pass'`, []string{"neck QM-2611-0002", "what lists and counts show of it is not what its inspections and verdicts say", `disposition stands as "pass", worked out anew it is "rework"`}},
		{`UPDATE batch_tally SET n = 2 WHERE key = 'now pass'`, []string{"batch QM-2611", "the counts shown of it are not those of its necks", "QM-2611, now pass", "n stands as 2, worked out anew it is 1"}},
		{`DELETE FROM batch_tally WHERE key = 'now rework'`, []string{"batch QM-2611, now rework", "a row is missing"}},
		{`UPDATE neck_first SET passed = 1`, []string{"neck QM-2611-0002", "yields and breakdowns", "passed stands as 1, worked out anew it is 0"}},
		{`UPDATE first_tally SET passed = inspected`, []string{"batch QM-2611, month", "the yields shown of it", "passed stands as"}},
		{`UPDATE characteristic_tally SET s1 = s1 + 0.01 WHERE name = 'relief'`, []string{"batch QM-2611, month", "relief, bass side, fret 7", "the means, spreads and capability shown of it are not those of its verdicts"}},
		{`UPDATE characteristic_tally SET ref = ref + 0.01, s1 = s1 - n * 0.01, s2 = s2 - 2 * 0.01 * s1 + n * 0.01 * 0.01 WHERE name = 'relief'`, []string{"a value of one of its verdicts"}},
		{`INSERT INTO serial_grams VALUES ('zz', 0)`, []string{`"zz" in the serial numbers of necks 0 to 255`, "the search by one or two characters", "a row that nothing gives"}},
		{`DELETE FROM serial_grams WHERE gram = 'qm'`, []string{`"qm" in the serial numbers`, "a row is missing"}},
		{`INSERT INTO serial_parts (rowid, serial) VALUES (7, 'QM-2611-0007')`, []string{"serial number of no neck", "the search by a part of a serial number"}},
		{`INSERT INTO serial_parts (serial_parts, rowid, serial) VALUES ('delete', 2, 'QM-2611-0002')`, []string{"serial number QM-2611-0002", "a row is missing"}},
		{`INSERT INTO uncounted SELECT id FROM necks WHERE ord = 2`, []string{"neck QM-2611-0002", "still to be counted"}},
		{`INSERT INTO batch_tally VALUES ('x', 'now pass', 1)`, []string{"batch x", tell.DerivedAdded}},
		{`UPDATE neck_first SET hour = hour + 1`, []string{"first_tally", "hour"}},
	} {
		s.aside(t, func(tx *sql.Tx) error { _, err := tx.Exec(c.change); return err }, func(tx *sql.Tx) {
			err := verifyDerived(s.ctx, tx)
			wantErr(t, err, ErrDerived, append(c.words, "What was measured and judged is as it was written")...)
			if t.Failed() {
				t.Fatalf("%s: %v", c.change, err)
			}
			s.ok(verifyEvidence(s.ctx, tx))
		})
	}
}

// However a record came to be, and in whatever zone its station's clock was, what is derived is found as it must be.
func TestWhatIsDerivedIsFoundWhole(t *testing.T) {
	for seed := range uint64(4) {
		s := randomHistory(t, 100+seed, 150)
		s.ok(s.VerifyAudit(s.ctx))
	}
	empty := newShop(t)
	empty.ok(empty.VerifyAudit(empty.ctx))
	s := newShop(t, serials(1)...)
	s.verdict(s.start("QM-2611-0001"), inspect.Pass, 0.3, 0.3)
	keepStories(t, s, s.batch.ID, "ÄÖ-œß-İıſK-漢字-", 7, rand.New(rand.NewPCG(1, 2)))
	s.ok(s.VerifyAudit(s.ctx))
	s.aside(t, func(tx *sql.Tx) error {
		_, err := tx.Exec(`UPDATE neck_first SET hour = hour + 1; UPDATE first_tally SET value = substr('0' || (CAST(value AS INTEGER) + 1), -2) WHERE dimension = 'hour'`)
		return err
	}, func(tx *sql.Tx) { s.ok(verifyDerived(s.ctx, tx)) })
}
