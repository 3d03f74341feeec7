package command

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/export"
	"sagitta/station/web"
)

// scale names the sizes to measure instead of 10,000 and 100,000 necks, with commas between, e.g. 1000000, which takes
// minutes to write.
const scale = "SAGITTA_SCALE"

// BenchmarkOneBatch measures one batch of many necks: its page, looking at its first and at another characteristic, what other
// limits would have done, the last page of necks, necks by a reason, and its report.
func BenchmarkOneBatch(b *testing.B) {
	sizes := os.Getenv(scale)
	if sizes == "" {
		sizes = "10000,100000"
	}
	for size := range strings.SplitSeq(sizes, ",") {
		necks, err := strconv.Atoi(size)
		if err != nil {
			b.Fatalf("%s: %v", scale, err)
		}
		dir := filepath.Join(b.TempDir(), size)
		if code, _, errs := sagitta(b, "", "demo", "--history", size, "--batch-size", size, "--out", dir); code != exitDone {
			b.Fatal(errs)
		}
		oneBatch(b, dir, necks)
	}
}

func oneBatch(b *testing.B, dir string, necks int) {
	a := openStation(b, dir)
	defer func() { _ = a.Close() }()
	pages, err := web.New(web.Options{Bench: a.Bench, Record: a.Record, Station: a.Name})
	if err != nil {
		b.Fatal(err)
	}
	all, err := a.Record.Batches(b.Context())
	if err != nil {
		b.Fatal(err)
	}
	number := all[0].Number
	page := "http://127.0.0.1/batches/" + number
	rows, err := a.Record.Characteristics(b.Context(), batch.Scope{BatchID: all[0].ID}, "relief", batch.SplitNone)
	if err != nil || len(rows) == 0 {
		b.Fatalf("relief: %v, %v", rows, err)
	}
	of := url.Values{"of": {rows[len(rows)-1].Key()}}.Encode()
	for _, m := range []struct{ name, path string }{
		{"page", page},
		{"chart", page + "/charts?" + of},
		{"whatif", page + "/what-if?" + of + "&upper=0.5"},
		{"lastnecks", page + "/necks?page=" + strconv.Itoa(max(1, necks/200-1))},
		{"reason", page + "/necks?reason=relief"},
	} {
		b.Run(m.name+"/"+strconv.Itoa(necks), func(b *testing.B) {
			for b.Loop() {
				w := httptest.NewRecorder()
				pages.ServeHTTP(w, httptest.NewRequestWithContext(b.Context(), http.MethodGet, m.path, nil))
				if w.Code != http.StatusOK {
					b.Fatalf("%s: status %d", m.path, w.Code)
				}
			}
			perNeck(b, necks)
		})
	}
	b.Run("report/"+strconv.Itoa(necks), func(b *testing.B) {
		for b.Loop() {
			if err := report(b.Context(), a.Record, number); err != nil {
				b.Fatal(err)
			}
		}
		perNeck(b, necks)
	})
}

func report(ctx context.Context, db *record.DB, number string) error {
	err := export.Workbook(ctx, io.Discard, db, number, export.Options{Unit: "mm", Location: time.Local, Now: time.Now(), Station: "bench"})
	if err != nil {
		return fmt.Errorf("the workbook of %s: %w", number, err)
	}
	return nil
}

func perNeck(b *testing.B, necks int) {
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(necks), "ns/neck")
}
