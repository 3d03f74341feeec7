package faults

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
)

var flips = flag.Int("flips", 24, "how many bits and pages are turned")

const pageSize = 4096

// fates are what becomes of a turned bit, in the order in which it is looked for.
const (
	foundOpening = "found as the record is opened"
	foundUse     = "found as pages are read"
	foundVerify  = "found by verify"
	harmless     = "not found, and every row is as it was" // it hit a free page, or bytes of a page that nothing stands in
	tailLost     = "not found: the log ends one or two commits earlier, as if cut short"
	derivedOnly  = "not found, and only what is worked out from other rows differs"
	unseen       = "not found, and rows differ"
)

// Single bits and whole pages of a record's file and of its log turn over. No flip makes the program panic, and none that changes a
// row of a fact stays unseen; the end of the log may lose its last two commits, which nothing tells from a commit that was in progress.
// The long form: go test ./station/faults -v -run Flips -flips 1000 -timeout 1h.
func TestFlips(t *testing.T) {
	closed := newRecord(t)
	if err := (&worker{path: closed, out: io.Discard, ctx: t.Context()}).run(2); err != nil {
		t.Fatal(err)
	}
	if err := dropCopies(t, closed); err != nil {
		t.Fatal(err)
	}
	unclosed, earlier := atWork(t)
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	for _, of := range []struct {
		what, path, part string
		pages            bool
	}{
		{"bits of the file", closed, "", false}, {"pages of the file", closed, "", true},
		{"bits of the log", unclosed, "-wal", false}, {"pages of the log", unclosed, "-wal", true},
	} {
		t.Run(of.what, func(t *testing.T) {
			before := folderAt(t, filepath.Dir(of.path))
			start, err := stateAside(t, of.path, nil)
			if err != nil {
				t.Fatal(err)
			}
			fates := map[string]int{}
			for n := range max(1, *flips/4) {
				rng := rand.New(rand.NewPCG(seed, uint64(n)))
				turned := maps.Clone(before)
				name := filepath.Base(of.path) + of.part
				turned[name] = slices.Clone(before[name])
				at := turn(turned[name], of.pages, rng)
				fate, found := fateOf(t, turned, start, earlier)
				fates[fate]++
				switch fate {
				case unseen:
					t.Errorf("at byte %d of %d: %s: %v", at, len(turned[name]), fate, found)
				case derivedOnly:
					t.Logf("at byte %d of %d: %v", at, len(turned[name]), found)
				}
			}
			for _, fate := range slices.Sorted(maps.Keys(fates)) {
				t.Logf("%4d %s", fates[fate], fate)
			}
		})
	}
}

// atWork is a record as a station has it that works, with the newest commits in its log alone, and what it held before each of them.
func atWork(t *testing.T) (path string, earlier []state) {
	t.Helper()
	w := &worker{path: newRecord(t), out: io.Discard, ctx: t.Context(), round: 1}
	db, err := record.Open(w.path, record.Options{Station: "bench 1"})
	if err != nil {
		t.Fatal(err)
	}
	w.db = db
	for _, a := range w.acts() {
		if a.name == "verdict" { // after which the log is written into the file
			break
		}
		s, err := stateOf(w.path)
		if err == nil {
			err = a.do()
		}
		if err != nil {
			t.Fatalf("%s: %v", a.name, err)
		}
		earlier = append(earlier, s)
	}
	path = folderAt(t, filepath.Dir(w.path)).put(t)
	t.Cleanup(func() { _ = os.RemoveAll(filepath.Dir(path)) })
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	return path, earlier
}

// turn turns a bit over, or fills a page with chance, and says where.
func turn(b []byte, page bool, rng *rand.Rand) int {
	at := rng.IntN(len(b))
	if !page {
		b[at] ^= 1 << rng.IntN(8)
		return at
	}
	at -= at % pageSize
	for i := at; i < min(len(b), at+pageSize); i++ {
		b[i] = byte(rng.Uint32())
	}
	return at
}

// fateOf says what finds a turned bit, and how.
func fateOf(t *testing.T, turned folder, start state, earlier []state) (fate string, found error) {
	t.Helper()
	path := turned.put(t)
	defer func() { _ = os.RemoveAll(filepath.Dir(path)) }()
	now, unread := stateAside(t, path, nil)
	db, err := record.Open(path, record.Options{Station: "bench 1"})
	if err != nil {
		return foundOpening, err
	}
	used := use(t.Context(), db)
	verified := db.VerifyAudit(t.Context())
	closed := db.Close()
	switch {
	case used != nil:
		return foundUse, used
	case verified != nil:
		return foundVerify, verified
	case closed != nil:
		return foundUse, closed
	case unread != nil:
		return unseen, unread
	case start.differs(now) == "":
		return harmless, nil
	case slices.ContainsFunc(earlier[max(0, len(earlier)-2):], func(s state) bool { return s.differs(now) == "" }):
		return tailLost, nil
	case start.facts().differs(now.facts()) == "":
		return derivedOnly, errors.New(start.differs(now))
	}
	return unseen, errors.New(start.differs(now))
}

// derived are the tables that are worked out from others, and those of sessions and of the migrations.
var derived = []string{"neck_status", "batch_tally", "neck_first", "first_tally", "characteristic_tally", "uncounted", "restated", "serial_grams", "goose_db_version", "sessions"}

// facts leaves out what is derived, the search's own tables too.
func (s state) facts() state {
	left := maps.Clone(s)
	maps.DeleteFunc(left, func(name string, _ tableState) bool {
		return slices.Contains(derived, name) || strings.HasPrefix(name, "serial_parts")
	})
	return left
}

// use reads what pages show.
func use(ctx context.Context, db *record.DB) error {
	batches, err := db.Batches(ctx)
	if err != nil {
		return err
	}
	for _, b := range batches {
		necks, err := db.Necks(ctx, b.ID)
		if err != nil {
			return err
		}
		for _, n := range necks {
			if strings.HasSuffix(n.Serial, "-0001") {
				if _, err := db.NeckStory(ctx, n.Serial); err != nil {
					return err
				}
			}
		}
		if _, err := db.Counts(ctx, b.ID); err != nil {
			return err
		}
		for _, err := range db.EachReading(ctx, b.ID) {
			if err != nil {
				return err
			}
		}
	}
	_, err = db.Audit(ctx, 0)
	if err != nil {
		return err
	}
	if _, err := db.Gauges(ctx); err != nil {
		return err
	}
	if _, err := db.SearchNecks(ctx, "QF-0001", 10); err != nil {
		return fmt.Errorf("search: %w", err)
	}
	_, err = db.Trend(ctx, batch.Scope{})
	return err
}
