package web

import (
	"fmt"
	"mime"
	"net/http"
	"net/url"
	"path"
	"slices"

	"github.com/gin-gonic/gin"

	"sagitta/batch"
	"sagitta/station/bench"
)

// certificateForm asks for a new calibration certificate of a gauge. Lengths stand in the page's unit.
func (s *server) certificateForm(c *gin.Context, g batch.Gauge) (*form, error) {
	lengths := unitOf(c)
	by, err := s.byField(c, batch.QualityManager)
	by.Name, by.Label = "cert_by", "Entered by"
	return &form{Groups: []fieldGroup{{Fields: []field{
		{Name: "cert_number", Label: "Certificate number", Kind: "text", Needed: true},
		{Name: "cert_laboratory", Label: "Laboratory", Kind: "text", Allowed: "who calibrated it, e.g. an accredited laboratory or the own gauge room"},
		{Name: "cert_issued", Label: "Calibrated on", Kind: "date", Allowed: "year-month-day", Needed: true},
		{Name: "cert_due", Label: "Next calibration due", Kind: "date", Allowed: "year-month-day; from the day after it is locked out", Needed: true},
		{Name: "cert_u", Label: "Uncertainty, k = 2", Kind: "number", Unit: lengths.String(), Allowed: "the certificate's expanded uncertainty U, " + exact(0, lengths) + " to " + exact(1, lengths), Value: exactValue(2*g.CalibrationU, lengths)},
		{Name: "cert_correction", Label: "Correction table", Kind: "area", Rows: 5, Unit: lengths.String(), Value: pairLines(calibrationPairs(g), lengths), Allowed: "one line a point: indicated, error (indicated minus true); empty: none"},
		{Name: "cert_file", Label: "The certificate's file", Kind: "file", Accept: ".pdf,.xml,.png,.jpg,.jpeg,.txt,.csv", Allowed: fmt.Sprintf("kept with the record, up to %d MB", batch.LargestCertificate>>20)},
		by,
	}}}}, err
}

// addCertificate keeps a certificate with its file; its figures become the gauge's.
func (s *server) addCertificate(c *gin.Context) {
	g, found := s.findGauge(c)
	if !found {
		return
	}
	f, err := s.certificateForm(c, g)
	if err != nil {
		s.fail(c, err)
		return
	}
	f.fill(c)
	lengths := unitOf(c)
	cert := batch.Certificate{GaugeID: g.ID, Number: f.text("cert_number", 120), Laboratory: f.text("cert_laboratory", 200), Issued: f.date("cert_issued"), Due: f.date("cert_due"), U: f.length("cert_u", lengths, 0, 1) / 2}
	for _, name := range []string{"cert_issued", "cert_due"} {
		if f.field(name).Value == "" {
			f.field(name).fail("Nothing is here. Give the day, year-month-day.")
		}
	}
	if f.ok() && !cert.Due.After(cert.Issued) {
		f.field("cert_due").fail("%s is not after the calibration, %s.", day(cert.Due), day(cert.Issued))
	}
	for _, p := range f.pairs("cert_correction", lengths) {
		cert.Correction = append(cert.Correction, batch.CalibrationPoint{IndicatedMM: p[0], ErrorMM: p[1]})
	}
	by := f.choice("cert_by")
	name, file, err := upload(c, "cert_file", batch.LargestCertificate)
	if err != nil {
		f.field("cert_file").fail("%s", bench.Sentence(err))
	}
	if f.ok() {
		cert.FileName = path.Base(name)
		if _, err := s.opt.Record.AddCertificate(c.Request.Context(), by, cert, file); err == nil {
			s.gaugesChanged(c, "/gauges/"+url.PathEscape(g.ID)+"#certificates")
			return
		} else {
			f.Error = bench.Sentence(err)
		}
	}
	if name != "" {
		f.field("cert_file").fail("%s is not kept yet: choose it again.", path.Base(name))
	}
	s.showGauge(c, http.StatusUnprocessableEntity, g, gaugeForms{Certificate: f})
}

// certificateFile sends a certificate's file as it was kept, always to be saved: what a laboratory sent is not run here.
func (s *server) certificateFile(c *gin.Context) {
	cert, file, err := s.opt.Record.CertificateFile(c.Request.Context(), c.Param("certificate"))
	if err != nil {
		s.fail(c, err)
		return
	}
	if cert.GaugeID != c.Param("id") || len(file) == 0 {
		s.refuse(c, http.StatusNotFound, "No file came with this certificate.")
		return
	}
	c.Header("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": cert.FileName}))
	c.Data(http.StatusOK, "application/octet-stream", file)
}

// certificateLine is one certificate in the gauge's history.
type certificateLine struct {
	batch.Certificate
	Newest  bool
	Overdue bool
}

// certificatesOf lists a gauge's certificates, the newest first.
func (s *server) certificatesOf(c *gin.Context, g batch.Gauge) ([]certificateLine, error) {
	all, err := s.opt.Record.Certificates(c.Request.Context(), g.ID)
	lines := make([]certificateLine, len(all))
	for i, cert := range all {
		lines[i] = certificateLine{Certificate: cert, Newest: i == len(all)-1}
		lines[i].Overdue = lines[i].Newest && g.CertificateOverdue(s.opt.Now())
	}
	slices.Reverse(lines)
	return lines, err
}
