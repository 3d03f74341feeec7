package command

import (
	"bytes"
	"html"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"sagitta/batch/record/recordtest"
	"sagitta/batch/tell"
	"sagitta/station/bench"
	"sagitta/station/demo"
	"sagitta/station/web"
)

// What every outlet says of a batch is the same sentence, in every state that a batch can have: its page and the list of
// batches, its audits' page, the workbook's summary, the report and the demo's last line.
func TestOneSentence(t *testing.T) {
	for _, state := range recordtest.States {
		t.Run(string(state), func(t *testing.T) {
			s := recordtest.In(t, state)
			c := recordtest.Must(s.Counts(t.Context(), s.Batch.ID))(t)
			want := tell.Batch(c)
			onBench := recordtest.Must(bench.New(t.Context(), bench.Options{Record: s.DB}))(t)
			handler := recordtest.Must(web.New(web.Options{Record: s.DB, Bench: onBench}))(t)
			page := func(path string) string {
				r := httptest.NewRequest("GET", path, http.NoBody)
				r.Host = "127.0.0.1:8470"
				w := httptest.NewRecorder()
				handler.ServeHTTP(w, r)
				if w.Code != http.StatusOK {
					t.Fatalf("%s: status %d", path, w.Code)
				}
				return html.UnescapeString(w.Body.String())
			}
			said := map[string]string{"the list of batches": page("/batches"), "the batch's page": page("/batches/" + recordtest.Number)}
			if c.Audit != nil {
				said["the audit's page"] = page("/audits/" + c.Audit.ID)
			}
			book := filepath.Join(t.TempDir(), "book.xlsx")
			code, out, errs := sagitta(t, "", "report", "--data", filepath.Dir(s.Path), "-o", book, recordtest.Number)
			if code != exitDone {
				t.Fatalf("report: code %d, %s", code, errs)
			}
			said["the report"] = out
			f := recordtest.Must(excelize.OpenFile(book))(t)
			defer func() { _ = f.Close() }()
			said["the workbook"] = recordtest.Must(f.GetCellValue("Summary", "A3"))(t)
			var last bytes.Buffer
			if err := demo.Summary(t.Context(), &last, s.DB, recordtest.Number); err != nil {
				t.Fatal(err)
			}
			lines := strings.Split(strings.TrimSpace(last.String()), "\n")
			said["the demo's last line"] = lines[len(lines)-1]
			for where, text := range said {
				if !strings.Contains(text, want) {
					t.Errorf("%s does not say %q: %.400s", where, want, text)
				}
			}
		})
	}
}
