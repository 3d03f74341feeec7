package gauges

import (
	"bytes"
	"io"
	"mime/multipart"
	"net/http"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/station/web/webtest"
)

// send posts a certificate's form with its file.
func (s *shop) send(path string, fields map[string]string, name string, file []byte) (int, string) {
	s.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	for k, v := range fields {
		if err := form.WriteField(k, v); err != nil {
			s.Fatal(err)
		}
	}
	part, err := form.CreateFormFile("cert_file", name)
	if err == nil {
		_, err = io.Copy(part, bytes.NewReader(file))
	}
	if err == nil {
		err = form.Close()
	}
	if err != nil {
		s.Fatal(err)
	}
	req := webtest.Request(http.MethodPost, path, &body)
	req.Header.Set("Content-Type", form.FormDataContentType())
	w := s.Do(req)
	return w.Code, w.Body.String()
}

// A certificate is kept with its file, which comes back byte for byte; its figures become the gauge's, and it locks the
// gauge out when it has run out.
func TestCertificateIsKeptWithItsFile(t *testing.T) {
	s := openShop(t)
	path := "/gauges/" + s.Gauge.ID
	file := append([]byte("%PDF-1.7\n"), bytes.Repeat([]byte{0, 1, 2, 255}, 1<<20)...) // longer than a request may be elsewhere
	fields := map[string]string{"cert_number": "QL-77", "cert_laboratory": "Quillmere gauge room", "cert_issued": "2026-01-10", "cert_due": "2026-01-09", "cert_u": "0.003", "cert_correction": "0 0\n1 0.004", "cert_by": "Tove Aske"}
	code, page := s.send(path+"/certificates", fields, "ql-77.pdf", file)
	if code != 422 {
		t.Fatalf("status %d for a due day before the calibration", code)
	}
	webtest.Wants(t, page, "2026-01-09 is not after the calibration, 2026-01-10", `value="QL-77"`)
	fields["cert_due"] = "2027-01-10"
	if code, page = s.send(path+"/certificates", fields, "ql-77.pdf", file); code != 303 {
		t.Fatalf("status %d\n%.2000s", code, page)
	}
	page = s.Get(path, 200)
	webtest.Wants(t, page, "QL-77", "in force", "Quillmere gauge room", "ql-77.pdf", "2027-01-10", "0.0030")
	all := webtest.Must[[]batch.Certificate](s)(s.Rec.Certificates(t.Context(), s.Gauge.ID))
	w := s.Do(webtest.Request(http.MethodGet, path+"/certificates/"+all[0].ID, nil))
	if !bytes.Equal(w.Body.Bytes(), file) || !strings.Contains(w.Header().Get("Content-Disposition"), "attachment; filename=ql-77.pdf") {
		t.Errorf("the file came back with %d bytes, %v", w.Body.Len(), w.Header())
	}
	if g := webtest.Must[[]batch.Gauge](s)(s.Rec.Gauges(t.Context()))[0]; g.Certificate != "QL-77" || g.CalibrationU != 0.0015 || len(g.Calibration) != 2 || g.Calibration[1].ErrorMM != 0.004 {
		t.Errorf("the gauge: %+v", g)
	}
	fields["cert_number"], fields["cert_issued"], fields["cert_due"] = "QL-12", "2020-01-10", "2021-01-10"
	if code, page = s.send(path+"/certificates", fields, "", nil); code != 303 {
		t.Fatalf("status %d\n%.2000s", code, page)
	}
	webtest.Wants(t, s.Get(path, 200), "ran out", "Its calibration ran out on 2021-01-10. It is locked out", "QL-77", "QL-12")
	if code, page = s.send(path+"/certificates", fields, "big.pdf", make([]byte, batch.LargestCertificate+1)); code != 422 || !strings.Contains(page, "at most 20971520 are allowed") {
		t.Errorf("status %d for a file that is too long", code)
	}
}

// A certificate says how the gauge was found and left, and what was found outside its limits casts doubt: the page tells what, why and
// how many.
func TestCertificateAsFoundCastsDoubt(t *testing.T) {
	s := openShop(t)
	path := "/gauges/" + s.Gauge.ID
	rests := len(webtest.Must[[]batch.Doubt](s)(s.Rec.Doubts(t.Context(), batch.DoubtFilter{GaugeID: s.Gauge.ID})))
	fields := map[string]string{"cert_number": "QL-77", "cert_issued": "2099-01-10", "cert_due": "2099-12-31", "cert_u": "0.003", "cert_by": "Tove Aske",
		"cert_found": "0 0\n5 -0.030", "cert_left": "0 0\n5 0.001"}
	code, page := s.send(path+"/certificates", fields, "", nil)
	if code != 422 {
		t.Fatalf("status %d without the largest deviation allowed", code)
	}
	webtest.Wants(t, page, "Give the largest that is allowed")
	fields["cert_limit"] = "0.010"
	if code, page = s.send(path+"/certificates", fields, "", nil); code != 303 {
		t.Fatalf("status %d\n%.2000s", code, page)
	}
	all := webtest.Must[[]batch.Doubt](s)(s.Rec.Doubts(t.Context(), batch.DoubtFilter{GaugeID: s.Gauge.ID}))
	if len(all) <= rests {
		t.Fatalf("%d doubts, before it %d", len(all), rests)
	}
	page = s.Get(path, 200)
	webtest.Wants(t, page, "as found: 0.000 at 0.000, −0.030 at 5.000 mm (allowed 0.010)<br>as left: 0.000 at 0.000, &#43;0.001 at 5.000 mm (allowed 0.010)",
		"Certificate QL-77 found the carriage indicator outside what is allowed: its corrected readings were off by −0.033 mm at 5 mm (allowed 0.010); nothing before proves it.",
		"back to the last check that passed and that it could not have passed as it was found")
}
