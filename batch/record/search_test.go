package record

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"sagitta/batch"
)

// A search finds what a look at every serial number finds, whatever the length of the part, among necks registered one by
// one and in sets, and in a record from before the index of short parts.
func TestSearchEqualsALookAtEveryNeck(t *testing.T) {
	const limit = 7
	random := rand.New(rand.NewPCG(3, 3))
	var first []string
	for i := range 700 { // several blocks, marks that stand in few of them
		first = append(first, fmt.Sprintf("Qm%d-%c%c%04d", i%3, 'A'+rune(i/40), 'a'+rune(random.IntN(4)), i))
	}
	first = append(first, "7", "ß%_", "Äb\\c", "zz")
	s := newShop(t)
	b := must(s.OpenBatch(s.ctx, "Mara Quill", batch.Batch{Number: "S", Spec: s.batch.Spec}, nil))(t)
	must(s.AddNecks(s.ctx, "Mara Quill", b.ID, first))(t)
	keepStories(t, s, b.ID, "W-", 300, random)
	must(s.AddNecks(s.ctx, "Mara Quill", b.ID, []string{"last~1"}))(t)
	var serials []string
	for _, n := range must(s.Necks(s.ctx, b.ID))(t) {
		serials = append(serials, n.Serial)
	}
	slices.Reverse(serials)
	parts := []string{"7", "ß%_", "Äb\\c", "q", "~", "~1", "%", "_", "ß", "Ä", "\\c", "zz", "Z", "!", "!!", "W-", "w", "-", "0007", "QM0-", "-aa", "'", `"`, `"1`}
	for range 60 {
		serial := []rune(serials[random.IntN(len(serials))])
		n := min(1+random.IntN(3), len(serial))
		from := random.IntN(len(serial) - n + 1)
		parts = append(parts, string(serial[from:from+n]))
	}
	check := func() {
		t.Helper()
		for _, part := range parts {
			var want []string
			if slices.Contains(serials, part) {
				want = append(want, part)
			}
			for _, serial := range serials {
				if serial != part && strings.Contains(folded(serial), folded(part)) {
					want = append(want, serial)
				}
			}
			want = want[:min(len(want), limit)]
			var got []string
			for _, n := range must(s.SearchNecks(s.ctx, " "+part+" ", limit))(t) {
				got = append(got, n.Serial)
			}
			if !slices.Equal(got, want) {
				t.Errorf("%q: got %q, want %q", part, got, want)
			}
		}
	}
	check()
	grams := func() [][]any {
		return must(list(s.ctx, s.reader, func(r scanner) ([]any, error) {
			var text string
			var block int64
			err := r.Scan(&text, &block)
			return []any{text, block}, err
		}, `SELECT gram, block FROM serial_grams ORDER BY gram, block`))(t)
	}
	before := grams()
	must(s.writer.Exec(`DELETE FROM serial_grams`))(t)
	s.ok(s.Close())
	s.DB = must(Open(s.path, Options{Station: "bench 1", Now: clock()}))(t)
	if after := grams(); !reflect.DeepEqual(before, after) {
		t.Errorf("made anew the marks of serial numbers are %v, were %v", after, before)
	}
	check()
}

// What a set of stories adds to its batch's tally is what the rows of its necks add up to.
func TestTallyOfStoriesEqualsTheirStatus(t *testing.T) {
	path := filepath.Join(t.TempDir(), "record.db")
	fill(t, path, planOf(t, 600))
	db := must(Open(path, Options{Station: "bench 1"}))(t)
	defer func() { _ = db.Close() }()
	ctx := t.Context()
	for _, b := range must(db.Batches(ctx))(t) {
		var want batch.Counts
		reasons := map[string]int{}
		for _, n := range must(db.Necks(ctx, b.ID))(t) {
			want.Registered++
			want.Imported++
			first := true
			for _, in := range must(db.Inspections(ctx, n.ID))(t) {
				v := must(db.LatestVerdict(ctx, in.ID))(t)
				want.Inspections++
				if first {
					want.Inspected++
					if v.Disposition == "pass" {
						want.FirstPass++
					}
				}
				first = false
			}
			switch n.Disposition {
			case "pass":
				want.Passed++
			case "rework":
				want.Rework++
			case "repair":
				want.Repair++
			case "concession":
				want.Concession++
			case "scrap":
				want.Scrap++
			}
			if n.FirstFailing != "" {
				reasons["all"]++
			}
		}
		got := b.Counts
		for _, r := range got.Reasons {
			reasons["all"] -= r.Necks
		}
		got.Planned, got.Reasons = 0, nil
		if !reflect.DeepEqual(got, want) || reasons["all"] != 0 {
			t.Errorf("%s: got %+v, want %+v, reasons off by %d", b.Number, got, want, reasons["all"])
		}
	}
	if err := db.VerifyAudit(ctx); err != nil {
		t.Error(err)
	}
}
