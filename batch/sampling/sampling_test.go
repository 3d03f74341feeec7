package sampling

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
)

// entry is one worked example of testdata/reference/statistics/acceptance_sampling.json; its source stands in the file.
type entry struct {
	Name             string
	Inputs, Expected map[string]json.RawMessage
}

// references reads the entries whose name holds a word, and fails when there is none.
func references(t *testing.T, word string) []entry {
	t.Helper()
	text, err := os.ReadFile("../../testdata/reference/statistics/acceptance_sampling.json")
	if err != nil {
		t.Fatal(err)
	}
	var doc struct{ Entries []entry }
	if err := json.Unmarshal(text, &doc); err != nil {
		t.Fatal(err)
	}
	doc.Entries = slices.DeleteFunc(doc.Entries, func(e entry) bool { return !strings.Contains(e.Name, word) })
	if len(doc.Entries) == 0 {
		t.Fatalf("no entry %q", word)
	}
	return doc.Entries
}

func decode[T any](t *testing.T, from map[string]json.RawMessage, key string) T {
	t.Helper()
	var v T
	if err := json.Unmarshal(from[key], &v); err != nil {
		t.Fatalf("%s: %v", key, err)
	}
	return v
}

// Source: MIL-STD-105E, Tables I, II-A, II-B and II-C (acceptance_sampling.json).
func TestLookup(t *testing.T) {
	looked := 0
	for _, e := range references(t, "look-ups") {
		for _, row := range decode[[][]any](t, e.Expected, "rows") {
			lot, level, aql, severity := int(row[0].(float64)), row[1].(string), row[2].(float64), Severity(row[3].(string))
			p, err := Lookup(lot, aql, level, severity)
			if err != nil {
				t.Errorf("%v: %v", row, err)
				continue
			}
			want := Plan{row[4].(string), int(row[7].(float64)), int(row[8].(float64)), int(row[9].(float64)), row[6].(string), row[10].(bool)}
			if p != want {
				t.Errorf("%v: %+v, want %+v", row, p, want)
			}
			looked++
		}
	}
	if looked != 60 {
		t.Errorf("%d look-ups, want 60", looked)
	}
}

// Source: MIL-STD-105E, Table I.
func TestCodeLetters(t *testing.T) {
	for _, row := range decode[[][]any](t, references(t, "Code letters")[0].Expected, "rows") {
		for i, level := range Levels {
			if code, err := codeLetter(int(row[0].(float64)), level); err != nil || code != row[i+1] {
				t.Errorf("lot %v level %s: %s, want %v (%v)", row[0], level, code, row[i+1], err)
			}
		}
	}
}

// Source: MIL-STD-105E, Tables II-A and II-B, whole rows as printed (from memory; the same in ISO 2859-1:1999): the sample
// sizes and acceptance numbers in the order of the AQLs, with the arrows followed: "80/1" is 80 with acceptance number 1.
func TestWholeRows(t *testing.T) {
	for _, c := range []struct {
		lot      int
		severity Severity
		code     string
		from     float64
		want     string
	}{
		{501, Normal, "J", 0.10, "125/0 80/0 50/0 125/1 80/1 80/2 80/3 80/5 80/7 80/10 80/14 80/21 50/21"},
		{501, Tightened, "J", 0.15, "125/0 80/0 200/1 125/1 80/1 80/2 80/3 80/5 80/8 80/12 80/18 50/18"},
		{501, Reduced, "J", 0.10, "50/0 32/0 20/0 50/0 32/0 32/1 32/1 32/2 32/3 32/5 32/7 32/10 20/10"},
		{2, Normal, "A", 4.0, "3/0 2/0 5/1 3/1 2/1 2/2 2/3 2/5 2/7 2/10 2/14 2/21 2/30"},
		{2, Tightened, "A", 6.5, "3/0 2/0 5/1 3/1 2/1 2/2 2/3 2/5 2/8 2/12 2/18 2/27"},
		{2, Reduced, "A", 4.0, "2/0 2/0 2/0 2/0 2/1 2/2 2/3 2/5 2/7 2/10 2/14 2/21 2/30"},
		{9, Reduced, "B", 4.0, "2/0 2/0 2/0 2/0 2/1 2/2 2/3 2/5 2/7 2/10 2/14 2/21 2/30"},
		{60, Normal, "E", 100, "13/21 13/30 13/44 8/44 5/44 3/44"},
		{60, Tightened, "E", 100, "13/18 13/27 13/41 8/41 5/41 3/41"},
	} {
		var got []string
		for _, aql := range AQLs[slices.Index(AQLs, c.from):] {
			p, err := Lookup(c.lot, aql, "II", c.severity)
			if err != nil {
				t.Fatal(err)
			}
			if p.Code != c.code {
				t.Errorf("lot %d: letter %s, want %s", c.lot, p.Code, c.code)
			}
			got = append(got, fmt.Sprintf("%d/%d", p.N, p.Accept))
		}
		if line := strings.Join(got, " "); !strings.HasPrefix(line, c.want) {
			t.Errorf("%s %s:\n%s, want\n%s", c.code, c.severity, line, c.want)
		}
	}
}

// Laws of the tables: every cell leads to a plan of its own AQL's column; tightened never accepts a poorer lot more readily
// than normal, nor normal than reduced; only reduced plans have a gap.
func TestTableLaws(t *testing.T) {
	for _, lot := range []int{2, 9, 16, 26, 51, 91, 151, 281, 501, 1201, 3201, 10001, 35001, 150001, 500001} {
		for _, level := range Levels {
			for _, aql := range AQLs {
				accepted := map[Severity]float64{}
				for _, s := range []Severity{Tightened, Normal, Reduced} {
					p, err := Lookup(lot, aql, level, s)
					if err != nil {
						t.Fatal(err)
					}
					if p.N < 2 || p.Reject <= p.Accept || (s != Reduced && p.Reject != p.Accept+1) || p.CheckAll != (p.N >= lot) {
						t.Errorf("lot %d level %s AQL %v %s: %+v", lot, level, aql, s, p)
					}
					if accepted[s], err = p.AcceptanceOfDefects(3 * aql / 100); err != nil {
						t.Fatal(err)
					}
				}
				if !(accepted[Tightened] <= accepted[Normal]+1e-12) || !(accepted[Normal] <= accepted[Reduced]+1e-12) {
					t.Errorf("lot %d level %s AQL %v: at three times the AQL accepted %v", lot, level, aql, accepted)
				}
			}
		}
	}
}

func TestLookupErrors(t *testing.T) {
	for _, c := range []struct {
		lot      int
		aql      float64
		level    string
		severity Severity
		want     string
	}{
		{1, 1, "II", Normal, "lot: found 1; allowed: 2 or more"},
		{-5, 1, "II", Normal, "lot: found -5"},
		{100, 1.1, "II", Normal, "aql: found 1.1; allowed: 0.01, 0.015"},
		{100, math.NaN(), "II", Normal, "aql: found NaN"},
		{100, 1, "IV", Normal, `level: found "IV"; allowed: S-1, S-2, S-3, S-4, I, II, III`},
		{100, 1, "II", Discontinued, `severity: found "discontinued"; allowed: normal, tightened, reduced`},
		{100, 1, "II", "lax", `severity: found "lax"`},
	} {
		if _, err := Lookup(c.lot, c.aql, c.level, c.severity); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v, want %q", err, c.want)
		}
	}
}

// FuzzLookup: any lot, AQL of the table, level and severity gives a plan.
func FuzzLookup(f *testing.F) {
	f.Add(1, uint8(0), uint8(0), uint8(0))
	f.Add(500001, uint8(1), uint8(6), uint8(1))
	f.Fuzz(func(t *testing.T, lot int, aql, level, severity uint8) {
		s := []Severity{Normal, Tightened, Reduced}[severity%3]
		p, err := Lookup(lot, AQLs[int(aql)%len(AQLs)], Levels[int(level)%len(Levels)], s)
		if (err != nil) != (lot < 2) {
			t.Fatalf("lot %d: %v", lot, err)
		}
		if err == nil && (p.N < 2 || p.Reject <= p.Accept || p.Accept < 0) {
			t.Fatalf("lot %d: %+v", lot, p)
		}
	})
}

func BenchmarkLookup(b *testing.B) {
	for b.Loop() {
		if _, err := Lookup(1000, 0.15, "II", Normal); err != nil {
			b.Fatal(err)
		}
	}
}
