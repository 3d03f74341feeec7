package record

import (
	"fmt"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
)

// A disk that is full is played by a limit on the file's pages; SQLite reports both as SQLITE_FULL.
func TestDiskFull(t *testing.T) {
	s := newShop(t, serials(1)...)
	in := s.start("QM-2611-0001")
	must(s.writer.Exec(`PRAGMA wal_checkpoint(TRUNCATE)`))(t)
	var pages int
	s.ok(s.writer.QueryRow(`PRAGMA page_count`).Scan(&pages))
	s.ok(s.writer.QueryRow(`PRAGMA max_page_count = ` + fmt.Sprint(pages+4)).Scan(&pages))

	var kept []string
	var failure error
	for i := 0; failure == nil; i++ {
		if i > 10_000 {
			t.Fatal("the limit never took hold")
		}
		r := crown(in, 1+i%22, float64(i))
		r.Raw = make([]byte, 300)
		if r, failure = s.AppendReading(s.ctx, r); failure == nil {
			kept = append(kept, r.ID)
		}
	}
	wantErr(t, failure, ErrDiskFull, "crown", "disk is full")
	v := verdictOf(in, inspect.Rework, 0.5, 0.5)
	for range 200 {
		v.Result.Characteristics = append(v.Result.Characteristics, v.Result.Characteristics[0])
	}
	_, err := s.AppendVerdict(s.ctx, v)
	wantErr(t, err, ErrDiskFull, "verdict")
	if len(must(s.Verdicts(s.ctx, in.ID))(t)) != 0 || must(s.Inspection(s.ctx, in.ID))(t).State != batch.Open {
		t.Error("a verdict that did not fit left something behind")
	}
	s.ok(s.Close())

	db := must(Open(s.path, Options{Station: "bench 1"}))(t)
	defer func() { s.ok(db.Close()) }()
	s.ok(db.VerifyAudit(s.ctx))
	got := must(db.Readings(s.ctx, in.ID))(t)
	if len(got) != len(kept) || len(kept) == 0 {
		t.Fatalf("%d readings are there, %d were acknowledged", len(got), len(kept))
	}
	for i := range got {
		if got[i].ID != kept[i] {
			t.Fatalf("reading %d is %s, acknowledged was %s", i+1, got[i].ID, kept[i])
		}
	}
	must(db.AppendReading(s.ctx, crown(in, 1, 0)))(t) // there is room again
}
