package export

import (
	"fmt"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
)

// The columns of Gauges.
const (
	gaugeName = iota
	gaugeMeasures
	gaugeIdentity
	gaugeDecoder
	gaugeResolution
	gaugeCalibration
	gaugeRepeatability
	gaugeReference
	gaugeCertificate
	gaugeDue
	gaugeDueWord
	gaugeChecked
	gaugeBy
	gaugeResult
	gaugeZero
	gaugeShift
	gaugeMaster
	gaugeError
	gaugeAfter
	gaugeWhy
	gaugeFound
	gaugeLeft
)

// What is said of a certificate and of a check.
const (
	inDate    = "in date"
	overdue   = "overdue"
	noneFiled = "no due date"
	noCheck   = "no check"
	noneDue   = "none needed"
)

var (
	dueWords   = []word{{inDate, good}, {overdue, bad}, {noneFiled, unsure}}
	checkWords = []word{{tell.Checked(true), good}, {tell.Checked(false), bad}, {noCheck, unsure}, {noneDue, good}}
)

// due says whether a gauge's certificate holds on the day of the report.
func (b *book) due(g *batch.Gauge) string {
	switch {
	case g.CertificateDue.IsZero():
		return noneFiled
	case g.CertificateOverdue(b.opt.Now):
		return overdue
	}
	return inDate
}

// writeGauges writes one row for each check of each gauge, with the gauge's own data before it, so that either can be
// filtered; a gauge without a check has one row.
func (b *book) writeGauges() error {
	u, length, fine := " ("+b.unit.String()+")", numberFormat(b.decimals), numberFormat(b.decimals+1)
	t, err := b.newTable("Gauges", []column{
		gaugeName:          {head: "Gauge", width: 22, format: textFormat},
		gaugeMeasures:      {head: "Used for", width: 20, format: textFormat},
		gaugeIdentity:      {head: "Adapter", width: 22, format: textFormat},
		gaugeDecoder:       {head: "Decoder", width: 18, format: textFormat},
		gaugeResolution:    {head: "Resolution" + u, width: 12, format: fine},
		gaugeCalibration:   {head: "Calibration u" + u, width: 12, format: fine},
		gaugeRepeatability: {head: "Repeatability u" + u, width: 13, format: fine},
		gaugeReference:     {head: "Reference u" + u, width: 12, format: fine},
		gaugeCertificate:   {head: "Calibration certificate", width: 18, format: textFormat},
		gaugeDue:           {head: "Calibration due", width: 12, format: dayFormat},
		gaugeDueWord:       {head: "Certificate", width: 13, format: textFormat, words: dueWords},
		gaugeChecked:       {head: "Checked", width: 19, format: timeFormat},
		gaugeBy:            {head: "By", width: 16, format: textFormat},
		gaugeResult:        {head: "Check", width: 10, format: textFormat, words: checkWords},
		gaugeZero:          {head: "Zero" + u, width: 10, format: length},
		gaugeShift:         {head: "Zero's shift" + u, width: 10, format: length},
		gaugeMaster:        {head: "On the master" + u, width: 10, format: length},
		gaugeError:         {head: "Error on the master" + u, width: 11, format: length},
		gaugeAfter:         {head: "Made after", width: 14, format: textFormat},
		gaugeWhy:           {head: "Found", width: 44, format: textFormat},
		gaugeFound:         {head: "Calibrated, as found", width: 16, format: textFormat},
		gaugeLeft:          {head: "Calibrated, as left", width: 16, format: textFormat},
	})
	if err != nil {
		return err
	}
	for i := range b.gauges {
		g := &b.gauges[i]
		if len(g.Checks) == 0 {
			b.gauge(t, g)
			if g.NoCheck() {
				t.text(gaugeResult, noneDue)
			} else {
				t.text(gaugeResult, noCheck)
			}
			if err := t.write(); err != nil {
				return err
			}
		}
		for j := range g.Checks {
			if t.full() {
				return fmt.Errorf("gauge checks are more than one sheet holds; allowed are %d", b.opt.rowLimit-1)
			}
			c := &g.Checks[j]
			b.gauge(t, g)
			t.time(gaugeChecked, c.At)
			t.text(gaugeBy, c.By)
			t.text(gaugeResult, tell.Checked(c.Good))
			t.length(gaugeZero, &c.ZeroMM)
			t.length(gaugeShift, &c.ShiftMM)
			if m := c.WorstMaster(); m != nil {
				deviation := m.ErrorMM()
				t.length(gaugeMaster, &m.ReadMM)
				t.length(gaugeError, &deviation)
			}
			t.text(gaugeAfter, c.After)
			t.text(gaugeWhy, tell.Minus(c.Why))
			if err := t.write(); err != nil {
				return err
			}
		}
	}
	return t.close()
}

// gauge sets the cells of the gauge itself and of its newest certificate.
func (b *book) gauge(t *table, g *batch.GaugeReport) {
	var kinds []string
	for _, k := range g.Measures {
		kinds = append(kinds, string(k))
	}
	t.text(gaugeName, g.Name)
	t.text(gaugeMeasures, strings.Join(kinds, ", "))
	t.text(gaugeIdentity, g.Identity())
	if strings.ContainsRune(g.Decoder, '\n') {
		t.text(gaugeDecoder, "own definition")
	} else {
		t.text(gaugeDecoder, g.Decoder)
	}
	for _, v := range []struct {
		at int
		mm float64
	}{{gaugeResolution, g.ResolutionMM}, {gaugeCalibration, g.CalibrationU}, {gaugeRepeatability, g.RepeatabilityU}, {gaugeReference, g.ReferenceU}} {
		if v.mm > 0 {
			t.length(v.at, &v.mm)
		}
	}
	t.text(gaugeCertificate, g.Certificate)
	t.day(gaugeDue, g.CertificateDue)
	t.text(gaugeDueWord, b.due(&g.Gauge))
	if n := len(g.Certificates); n > 0 {
		c := &g.Certificates[n-1]
		t.text(gaugeFound, tell.CalibrationState(c.Found, c.LimitMM, b.unit.Unit))
		t.text(gaugeLeft, tell.CalibrationState(c.Left, c.LimitMM, b.unit.Unit))
	}
}
