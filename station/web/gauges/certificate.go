package gauges

import (
	"fmt"
	"mime"
	"net/http"
	"net/url"
	"path"
	"slices"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect/unit"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// certificateForm asks for a new calibration certificate of a gauge. Lengths stand in the page's unit.
func (s *server) certificateForm(c *site.Request, g batch.Gauge) (*form.Form, error) {
	lengths := c.Unit()
	by, err := c.ByField(batch.Certify)
	by.Name, by.Label = "cert_by", "Entered by"
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "cert_number", Label: "Certificate number", Kind: "text", Needed: true},
		{Name: "cert_laboratory", Label: "Laboratory", Kind: "text", Allowed: "who calibrated it, e.g. an accredited laboratory or the own gauge room"},
		{Name: "cert_issued", Label: "Calibrated on", Kind: "date", Allowed: "year-month-day", Needed: true},
		{Name: "cert_due", Label: "Next calibration due", Kind: "date", Allowed: "year-month-day; from the day after it is locked out", Needed: true},
		{Name: "cert_u", Label: "Uncertainty, k = 2", Kind: "number", Unit: lengths.String(), Allowed: "the certificate's expanded uncertainty U, " + show.Exact(0, lengths) + " to " + show.Exact(1, lengths), Value: show.ExactValue(2*g.CalibrationU, lengths)},
		{Name: "cert_correction", Label: "Correction table", Kind: "area", Rows: 5, Unit: lengths.String(), Value: pairLines(calibrationPairs(g), lengths), Allowed: "one line a point: indicated, error (indicated minus true); empty: none"},
		{Name: "cert_limit", Label: "Largest deviation allowed", Kind: "number", Unit: lengths.String(), Allowed: "at every point below, " + show.Exact(0, lengths) + " to " + show.Exact(1, lengths) + "; needed where deviations are given"},
		{Name: "cert_found", Label: "As found", Kind: "area", Rows: 4, Unit: lengths.String(), Allowed: "before it was adjusted; one line a point: true length, deviation (indicated minus true); empty: no figures"},
		{Name: "cert_found_word", Label: "As found, the laboratory says", Kind: "select", Allowed: "counts where no deviations are given", Options: wordOptions()},
		{Name: "cert_left", Label: "As left", Kind: "area", Rows: 4, Unit: lengths.String(), Allowed: "as it came back; the same way"},
		{Name: "cert_left_word", Label: "As left, the laboratory says", Kind: "select", Allowed: "counts where no deviations are given", Options: wordOptions()},
		{Name: "cert_file", Label: "The certificate's file", Kind: "file", Accept: ".pdf,.xml,.png,.jpg,.jpeg,.txt,.csv", Allowed: fmt.Sprintf("kept with the record, up to %d MB", batch.LargestCertificate>>20)},
		by,
	}}}}, err
}

// wordOptions are what a laboratory says of a gauge without figures.
func wordOptions() []form.Option {
	options := make([]form.Option, len(batch.CalibrationWords))
	for i, w := range batch.CalibrationWords {
		options[i] = form.Option{Value: w, Label: tell.CalibrationWord(w)}
	}
	return options
}

// stateFrom reads how a gauge was at its laboratory.
func stateFrom(f *form.Form, name string, lengths unit.Unit) batch.CalibrationState {
	s := batch.CalibrationState{Word: f.Choice(name + "_word")}
	for _, p := range f.Pairs(name, lengths) {
		s.Points = append(s.Points, batch.Deviation{NominalMM: p[0], DeviationMM: p[1]})
	}
	return s
}

// addCertificate keeps a certificate with its file; its figures become the gauge's.
func (s *server) addCertificate(c *site.Request) error {
	g, err := show.GaugeOf(c.Request.Context(), s.opt.Record, c.Param("id"))
	if err != nil {
		return err
	}
	f, err := s.certificateForm(c, g)
	if err != nil {
		return err
	}
	f.Fill(c)
	lengths := c.Unit()
	cert := batch.Certificate{GaugeID: g.ID, Number: f.Text("cert_number", 120), Laboratory: f.Text("cert_laboratory", 200), Issued: f.Date("cert_issued"), Due: f.Date("cert_due"), U: f.Length("cert_u", lengths, 0, 1) / 2}
	for _, name := range []string{"cert_issued", "cert_due"} {
		if f.Field(name).Value == "" {
			f.Field(name).Fail("Nothing is here. Give the day, year-month-day.")
		}
	}
	if f.Ok() && !cert.Due.After(cert.Issued) {
		f.Field("cert_due").Fail("%s is not after the calibration, %s.", show.Day(cert.Due), show.Day(cert.Issued))
	}
	cert.LimitMM, cert.Found, cert.Left = f.Length("cert_limit", lengths, 0, 1), stateFrom(f, "cert_found", lengths), stateFrom(f, "cert_left", lengths)
	if len(cert.Found.Points)+len(cert.Left.Points) > 0 && cert.LimitMM == 0 {
		f.Field("cert_limit").Fail("Deviations are given below. Give the largest that is allowed.")
	}
	for _, p := range f.Pairs("cert_correction", lengths) {
		cert.Correction = append(cert.Correction, batch.CalibrationPoint{IndicatedMM: p[0], ErrorMM: p[1]})
	}
	by := f.Choice("cert_by")
	name, file, err := site.Upload(c, "cert_file", batch.LargestCertificate)
	if err != nil {
		f.RefuseAt("cert_file", err)
	}
	if f.Ok() {
		cert.FileName = path.Base(name)
		if kept, err := s.opt.Record.AddCertificate(c.Request.Context(), by, cert, file); err == nil {
			if kept.Doubted > 0 && s.opt.Bench != nil {
				if err := s.opt.Bench.ReloadDoubt(c.Request.Context()); err != nil {
					return err
				}
			}
			return s.gaugesChanged(c, "/gauges/"+url.PathEscape(g.ID)+"#certificates")
		} else {
			f.Refuse(err)
		}
	}
	if name != "" {
		f.Field("cert_file").Fail("%s is not kept yet: choose it again.", path.Base(name))
	}
	return s.showGauge(c, c.Refused(f), g, gaugeForms{Certificate: f})
}

// certificateFile sends a certificate's file as it was kept, always to be saved: what a laboratory sent is not run here.
func (s *server) certificateFile(c *site.Request) error {
	cert, file, err := s.opt.Record.CertificateFile(c.Request.Context(), c.Param("certificate"))
	if err != nil {
		return err
	}
	if cert.GaugeID != c.Param("id") || len(file) == 0 {
		return batch.Absent.Errorf("No file came with this certificate.")
	}
	c.Header("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": cert.FileName}))
	c.Data(http.StatusOK, "application/octet-stream", file)
	return nil
}

// certificateLine is one certificate in the gauge's history.
type certificateLine struct {
	batch.Certificate
	Newest              bool
	Overdue             bool
	FoundWord, LeftWord string // how it was found and left
}

// certificatesOf lists a gauge's certificates, the newest first.
func (s *server) certificatesOf(c *site.Request, g batch.Gauge) ([]certificateLine, error) {
	all, err := s.opt.Record.Certificates(c.Request.Context(), g.ID)
	lines := make([]certificateLine, len(all))
	for i, cert := range all {
		lines[i] = certificateLine{Certificate: cert, Newest: i == len(all)-1}
		lines[i].FoundWord, lines[i].LeftWord = tell.CalibrationState(cert.Found, cert.LimitMM, c.Unit()), tell.CalibrationState(cert.Left, cert.LimitMM, c.Unit())
		lines[i].Overdue = lines[i].Newest && g.CertificateOverdue(s.opt.Now())
	}
	slices.Reverse(lines)
	return lines, err
}
