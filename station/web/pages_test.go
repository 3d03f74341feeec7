package web

import (
	"archive/zip"
	"bytes"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"sagitta/batch"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

func TestEmptyPagesSayWhatToDo(t *testing.T) {
	s := openShop(t)
	webtest.Wants(t, s.Get("/batches", 200), "No batch has been opened yet", "Import one first")
	webtest.Wants(t, s.Get("/specs", 200), "No specification is on file yet", "Start from an example", "No quality manager is on file yet.", `href="/people">Add one`)
	webtest.Wants(t, s.Get("/gauges", 200), "No gauge is on file yet")
	webtest.Wants(t, s.Get("/people", 200), "Add the first person")
	webtest.Wants(t, s.Get("/necks", 200), "Any part of the serial number")
}

func TestBatchPageAnswersFirst(t *testing.T) {
	s := openShop(t).fill()
	page := s.Get("/batches/QM-2611", 200)
	webtest.Wants(t, page, "2 of 30 may ship; 1 waits for rework", "rocker", "QM-2611-0030", "not inspected", "workbook.xlsx?unit=in", "Close the batch")
	if strings.Index(page, "may ship") > strings.Index(page, "<table") {
		t.Error("a table stands before the answer")
	}
	webtest.Wants(t, s.Get("/batches", 200), "QM-2611", "1 batch is open; 2 of 30 necks in it may ship", "on the bench")
}

func TestOpenBatchKeepsWhatWasTypedBesideItsErrors(t *testing.T) {
	s := openShop(t).fill()
	form := url.Values{"number": {"QM-2613"}, "spec": {s.Spec.ID}, "planned": {"2.5"}, "serials": {"QM-2613-0001..QM-2613-02"}, "pattern": {"QM-("}, "note": {"<b>bold</b>"}, "by": {"Tove Aske"}}
	page := s.Post("/batches", form, http.StatusUnprocessableEntity)
	webtest.Wants(t, page, "2.5 is not a whole number", "is not a range", "is not a regular expression", `value="QM-2613"`, "QM-2613-0001..QM-2613-02", "&lt;b&gt;bold&lt;/b&gt;",
		`aria-describedby="planned-error`, `id="planned-error"`)
	if strings.Contains(page, "<b>bold") {
		t.Error("what was typed is not escaped")
	}
	form = url.Values{"number": {"QM-2613"}, "spec": {s.Spec.ID}, "planned": {"3"}, "serials": {"QM-2611-0001"}, "by": {"Tove Aske"}}
	webtest.Wants(t, s.Post("/batches", form, http.StatusConflict), "QM-2611")
	form.Set("serials", "QM-2613-0001..QM-2613-0003")
	if to := s.Post("/batches", form, http.StatusSeeOther); to != "/batches/QM-2613" {
		t.Errorf("after opening the page goes to %q", to)
	}
	webtest.Wants(t, s.Get("/batches/QM-2613", 200), "None of 3 has been inspected yet", "QM-2613-0003")
	webtest.Wants(t, s.Post("/batches", form, http.StatusConflict), "QM-2613")
	// 07945 is the worked example of ISO/IEC 7064, MOD 11,10.
	form.Set("number", "QM-2615")
	form.Set("pattern", "")
	form.Set("check", string(batch.Mod11x10))
	form.Set("serials", "07946")
	webtest.Wants(t, s.Post("/batches", form, http.StatusUnprocessableEntity), "Serial number 07946 ends in", "MOD 11,10) is 5")
	form.Set("serials", "0794..0795")
	if to := s.Post("/batches", form, http.StatusSeeOther); to != "/batches/QM-2615" {
		t.Errorf("to %q", to)
	}
	webtest.Wants(t, s.Get("/batches/QM-2615", 200), "Serial numbers end in a check character: ISO/IEC 7064 MOD 11,10")
	webtest.Wants(t, s.Get("/batches/QM-2615/necks", 200), "07945")
	webtest.Wants(t, s.Post("/batches", url.Values{}, http.StatusUnprocessableEntity), "Give batch number", "Choose one of the list", "Neither serial numbers nor a pattern")
}

func TestAddNecksAndCloseBatch(t *testing.T) {
	s := openShop(t).fill()
	by := url.Values{"by": {"Tove Aske"}, "serials": {"QM-2611-0031\nQM-2611-0031"}}
	webtest.Wants(t, s.Post("/batches/QM-2611/necks", by, 422), "already on line 1")
	by.Set("serials", "QM-2611-0031")
	s.Post("/batches/QM-2611/necks", by, 303)
	webtest.Wants(t, s.Get("/batches/QM-2611/necks?page=2", 200), "QM-2611-0031")
	webtest.Wants(t, s.Post("/batches/QM-2611/close", url.Values{}, 422), "Choose one of the list")
	s.Post("/batches/QM-2611/close", url.Values{"by": {"Tove Aske"}}, 303)
	page := s.Get("/batches/QM-2611", 200)
	webtest.Wants(t, page, "closed")
	if strings.Contains(page, "Take to the bench") || strings.Contains(page, "Close the batch") {
		t.Error("a closed batch still offers to be worked on")
	}
}

func TestWorkbookDownloadOpens(t *testing.T) {
	s := openShop(t).fill()
	for unit, name := range map[string]string{"mm": "QM-2611 mm.xlsx", "in": "QM-2611 inch.xlsx"} {
		w := s.Do(webtest.Request(http.MethodGet, "/batches/QM-2611/workbook.xlsx?unit="+unit, nil))
		if w.Code != 200 {
			t.Fatalf("status %d: %s", w.Code, w.Body)
		}
		// IANA's media type of an Office Open XML workbook.
		if got := w.Header().Get("Content-Type"); got != "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet" {
			t.Errorf("content type %q", got)
		}
		if got := w.Header().Get("Content-Disposition"); !strings.Contains(got, `filename="`+name+`"`) {
			t.Errorf("content disposition %q, want the name %q", got, name)
		}
		data := w.Body.Bytes()
		if _, err := zip.NewReader(bytes.NewReader(data), int64(len(data))); err != nil {
			t.Fatal(err)
		}
		f, err := excelize.OpenReader(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		rows, err := f.GetRows("Necks")
		if err != nil || len(rows) < 31 {
			t.Errorf("%d rows of necks, %v", len(rows), err)
		}
		if err := f.Close(); err != nil {
			t.Error(err)
		}
	}
	webtest.Wants(t, s.Get("/batches/QM-2611/workbook.xlsx?unit=furlong", 422), "furlong", "mm and in")
	s.Get("/batches/QM-9999/workbook.xlsx", 404)
}

func TestHostileSerialIsEscapedEverywhere(t *testing.T) {
	s := openShop(t).fill()
	hostile := `"><script>alert(1)</script>`
	s.Post("/batches/QM-2611/necks", url.Values{"by": {"Tove Aske"}, "serials": {hostile}}, 303)
	s.Inspect(hostile, 0.5, 0)
	for _, path := range []string{"/batches/QM-2611/necks?page=2", "/necks?q=script", site.NeckPath(hostile)} {
		w := s.Do(webtest.Request(http.MethodGet, path, nil))
		if w.Code == 303 {
			w = s.Do(webtest.Request(http.MethodGet, w.Header().Get("Location"), nil))
		}
		if body := w.Body.String(); w.Code != 200 || strings.Contains(body, "<script>alert") || !strings.Contains(body, "&lt;script&gt;alert") {
			t.Errorf("%s: status %d, the serial number is not escaped or not there", path, w.Code)
		}
	}
}
