package record

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"sagitta/inspect"
)

// judgedShop is a closed record of necks with readings and a verdict each.
func judgedShop(t *testing.T, necks int) *shop {
	t.Helper()
	s := newShop(t, serials(necks)...)
	s.ok(unsafeWrites(s.ctx, s.writer))
	for _, serial := range serials(necks) {
		in := s.start(serial)
		for fret := range 12 {
			s.read(in, 1+fret, float64(fret)/100)
		}
		s.verdict(in, inspect.Pass, 0.3, 0.3)
	}
	s.ok(s.Close())
	return s
}

// salvagedFrom salvages a record and opens what came of it.
func salvagedFrom(t *testing.T, path string) (Salvaged, *DB) {
	t.Helper()
	to := filepath.Join(t.TempDir(), "record.db")
	s, err := Salvage(t.Context(), path, to, "bench 1", clock())
	if err != nil {
		t.Fatal(err)
	}
	db := must(Open(to, Options{Station: "bench 1", Now: clock()}))(t)
	t.Cleanup(func() { _ = db.Close() })
	return s, db
}

// A whole record is salvaged whole, of this schema and an older one.
func TestSalvageOfAWholeRecord(t *testing.T) {
	s := judgedShop(t, 3)
	for name, path := range map[string]string{"this schema": s.path, "an older one": unpacked(t, filepath.Join("..", "..", "testdata", "record", "v20.db.gz"))} {
		before := must(os.ReadFile(path))(t)
		got, db := salvagedFrom(t, path)
		if !got.Whole() {
			t.Errorf("%s: %+v", name, got)
		}
		if err := db.VerifyAudit(t.Context()); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if !bytes.Equal(before, must(os.ReadFile(path))(t)) {
			t.Errorf("%s: the damaged file was changed", name)
		}
		old := must(Open(path, Options{Station: "bench 1"}))(t)
		for _, table := range []string{"necks", "readings", "verdicts", "characteristics", "batch_tally WHERE n <> 0", "neck_status", "first_tally", "neck_first", "serial_grams"} {
			var was, is int
			s.ok(old.reader.QueryRow(`SELECT count(*) FROM ` + table).Scan(&was))
			s.ok(db.reader.QueryRow(`SELECT count(*) FROM ` + table).Scan(&is))
			if was != is || was == 0 && table == "readings" {
				t.Errorf("%s: %s had %d rows and has %d", name, table, was, is)
			}
		}
		if n := len(must(db.SearchNecks(t.Context(), "2611-00", 10))(t)); n != 3 {
			t.Errorf("%s: %d necks are found by a part of their serial number, want 3", name, n)
		}
		b := must(db.Batch(t.Context(), "QM-2611"))(t)
		if was, is := must(old.Counts(t.Context(), b.ID))(t), must(db.Counts(t.Context(), b.ID))(t); fmt.Sprint(was) != fmt.Sprint(is) {
			t.Errorf("%s: counts were %+v and are %+v", name, was, is)
		}
		s.ok(old.Close())
	}
}

// A copy of the file alone of a station that was killed is salvaged: what is in it comes back.
func TestSalvageWithoutTheLog(t *testing.T) {
	s := newShop(t, serials(2)...)
	s.verdict(s.start("QM-2611-0001"), inspect.Pass, 0.3, 0.3)
	s.ok(s.Settle(s.ctx))
	path := filepath.Join(t.TempDir(), "alone.db")
	if err := os.WriteFile(path, must(os.ReadFile(s.path))(t), 0o640); err != nil {
		t.Fatal(err)
	}
	n := must(s.Audit(s.ctx, 1))(t)[0].Seq
	s.verdict(s.start("QM-2611-0002"), inspect.Pass, 0.3, 0.3)
	got, db := salvagedFrom(t, path)
	if !got.Whole() || got.Newest != n {
		t.Errorf("%+v, want entry %d", got, n)
	}
	s.ok(db.VerifyAudit(s.ctx))
}

// Every neck that lost something is named, whatever page is damaged, and those that are named not hurt are as they were.
func TestSalvageNamesTheNecksThatAreHurt(t *testing.T) {
	s := judgedShop(t, 40)
	content := must(os.ReadFile(s.path))(t)
	size := int(binary.BigEndian.Uint16(content[16:]))
	before := contents(t, s.path)
	random := rand.New(rand.NewPCG(15, 5))
	opened, lost := 0, 0
	for round := range 40 {
		damaged := bytes.Clone(content)
		page := 1 + random.IntN(len(content)/size-1)
		what := "zeroed"
		at := damaged[page*size : (page+1)*size]
		switch round % 3 {
		case 0:
			clear(at)
		case 1:
			what = "garbled"
			for i := range at {
				at[i] = byte(random.Uint32())
			}
		case 2:
			what = "a bit flipped in"
			at[random.IntN(size)] ^= 1 << random.IntN(8)
		}
		path := filepath.Join(t.TempDir(), "damaged.db")
		if err := os.WriteFile(path, damaged, 0o640); err != nil {
			t.Fatal(err)
		}
		to := filepath.Join(t.TempDir(), "record.db")
		got, err := Salvage(context.Background(), path, to, "bench 1", clock())
		if err != nil {
			if !errors.Is(err, ErrCorrupt) && !errors.Is(err, ErrNotRecord) && !errors.Is(err, ErrDisk) {
				t.Errorf("page %d %s: %v", page, what, err)
			}
			continue
		}
		opened++
		after := contents(t, to)
		for serial, was := range before {
			if !slices.Equal(was, after[serial]) && !slices.Contains(got.Necks, serial) && got.Nameless == 0 {
				t.Errorf("page %d %s: %s lost something and is not named: %+v", page, what, serial, got)
			}
		}
		lost += len(got.Necks)
	}
	if opened < 35 || lost == 0 {
		t.Errorf("%d of 40 were salvaged, %d necks named", opened, lost)
	}
}

// contents are the readings' values and verdicts' results by serial number.
func contents(t *testing.T, path string) map[string][]string {
	t.Helper()
	db := must(Open(path, Options{ReadOnly: true}))(t)
	defer func() { _ = db.Close() }()
	all := map[string][]string{}
	rows := must(db.reader.Query(`SELECT n.serial, r.seq || ' ' || r.value FROM necks n JOIN inspections i ON i.neck_id = n.id JOIN readings r ON r.inspection_id = i.id
		UNION ALL SELECT n.serial, v.id || v.result FROM necks n JOIN inspections i ON i.neck_id = n.id JOIN verdicts v ON v.inspection_id = i.id`))(t)
	defer func() { _ = rows.Close() }()
	for rows.Next() {
		var serial, text string
		if err := rows.Scan(&serial, &text); err != nil {
			t.Fatal(err)
		}
		all[serial] = append(all[serial], text)
	}
	for _, texts := range all {
		slices.Sort(texts)
	}
	return all
}
