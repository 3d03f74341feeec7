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
	"sagitta/testdata/usb"
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
	webtest.Wants(t, s.Post("/batches", url.Values{}, http.StatusUnprocessableEntity), "Give batch number", "Choose one of the list", "Neither serial numbers nor a pattern")
}

func TestAddNecksAndCloseBatch(t *testing.T) {
	s := openShop(t).fill()
	by := url.Values{"by": {"Tove Aske"}, "serials": {"QM-2611-0031\nQM-2611-0031"}}
	webtest.Wants(t, s.Post("/batches/QM-2611/necks", by, 422), "already on line 1")
	by.Set("serials", "QM-2611-0031")
	s.Post("/batches/QM-2611/necks", by, 303)
	webtest.Wants(t, s.Get("/batches/QM-2611", 200), "QM-2611-0031")
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

func TestGaugePages(t *testing.T) {
	s := openShop(t).fill()
	webtest.Wants(t, s.Get("/gauges", 200), "carriage indicator live, zeroed 07:12", "crown heights")
	page := s.Get("/gauges/"+s.Gauge.ID, 200)
	webtest.Wants(t, page, "QC-118", "/dev/ttyUSB3, USB "+usb.Vendor+":"+usb.Product+", serial number "+usb.Serial, "failed", "at most 0.010 mm is allowed", "zero limit", "<svg", "USB "+usb.Vendor+":"+usb.Product+", serial number QM-1")
	if to := s.Post("/gauges/"+s.Gauge.ID+"/check", nil, 303); to != "/" || s.checked != s.Gauge.ID {
		t.Errorf("the check goes to %q, the bench checks %q", to, s.checked)
	}

	page = s.Post("/gauges", url.Values{"name": {"height gauge"}, "resolution": {"5"}, "zero_limit": {"a lot"}, "usb_vendor": {"xyz"}, "calibration": {"1 0.1\n0.5 0.1"}, "by": {"Mara Quill"}}, 422)
	webtest.Wants(t, page, "5 mm is outside 0.0001 mm to 1 mm", "&#34;a lot&#34; is not a length", "not four hex digits", "Tick what the gauge", "Line 2: 0.5 mm does not rise", `value="height gauge"`, "Look again at", `href="#at-resolution"`, `value="a lot"`)
	form := url.Values{"name": {"height gauge"}, "measures": {"action", "nut height"}, "resolution": {"0.0005in"}, "sense": {"-1"}, "zero_limit": {"0.02"}, "port": {"/dev/ttyUSB3"},
		"decoder": {decoders()[0]}, "capture": {"stream"}, "calibration": {"0 0\n1, 0.002\n"}, "u_repeatability": {"0.004"}, "by": {"Mara Quill"}}
	webtest.Wants(t, s.Post("/gauges", form, 422), "Mara Quill is entered as inspector", "Say where they come from", `value="0.004"`)
	form.Set("by", "Tove Aske")
	form.Set("u_reason", "20 readings of the flat")
	to := s.Post("/gauges", form, 303)
	if s.changed != 1 {
		t.Errorf("the station heard of %d changes, want 1", s.changed)
	}
	// 0.0005 in is 0.0127 mm: an inch is 25.4 mm exactly (international yard and pound agreement, 1959).
	webtest.Wants(t, s.Get(to, 200), "0.0127", "serial number "+usb.Serial, "action, nut heights", "&#43;0.002", "20 readings of the flat")
	form.Set("by", "Mara Quill") // what verdicts do not rest on, anybody may change
	form.Set("name", "depth gauge")
	form.Del("u_reason")
	form.Set("decoder", decoders()[0])
	form.Set("port", "")
	form.Set("path", "/dev/ttyS0")
	form.Set("resolution", "0.0127")
	s.Post(to, form, 303)
	form.Set("u_repeatability", "0")
	webtest.Wants(t, s.Post(to, form, 422), "Mara Quill is entered as inspector", "Say where they come from")
	said := false
	for _, e := range webtest.Must[[]batch.Event](s)(s.Rec.Audit(t.Context(), 50)) {
		said = said || e.By == "Tove Aske" && strings.HasSuffix(e.Detail, "its figures are from: 20 readings of the flat")
	}
	if !said {
		t.Error("the audit does not say where the typed uncertainty comes from")
	}
	s.Post(to+"/retire", url.Values{"by": {"Mara Quill"}}, 303)
	webtest.Wants(t, s.Get("/gauges", 200), "Retired gauges (1)")
	s.Get("/gauges/none", 404)
}

func TestHostileSerialIsEscapedEverywhere(t *testing.T) {
	s := openShop(t).fill()
	hostile := `"><script>alert(1)</script>`
	s.Post("/batches/QM-2611/necks", url.Values{"by": {"Tove Aske"}, "serials": {hostile}}, 303)
	s.Inspect(hostile, 0.5, 0)
	for _, path := range []string{"/batches/QM-2611", "/necks?q=script", site.NeckPath(hostile)} {
		w := s.Do(webtest.Request(http.MethodGet, path, nil))
		if w.Code == 303 {
			w = s.Do(webtest.Request(http.MethodGet, w.Header().Get("Location"), nil))
		}
		if body := w.Body.String(); w.Code != 200 || strings.Contains(body, "<script>alert") || !strings.Contains(body, "&lt;script&gt;alert") {
			t.Errorf("%s: status %d, the serial number is not escaped or not there", path, w.Code)
		}
	}
}
