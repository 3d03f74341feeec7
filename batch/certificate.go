package batch

import (
	"fmt"
	"math"
	"strings"
	"time"
)

// LargestCertificate bounds a certificate's file, bytes.
const LargestCertificate = 20 << 20

// Certificate is one calibration of a gauge as its laboratory certified it. It is never changed; the newest counts.
type Certificate struct {
	ID         string
	GaugeID    string
	At         time.Time // when it was entered
	By         string
	Number     string
	Laboratory string
	Issued     time.Time          // day of the calibration, local
	Due        time.Time          // day of the next one, local
	Correction []CalibrationPoint // indicated minus true, mm; none: no correction is made
	U          float64            // standard uncertainty of the calibration, mm: the certificate's expanded one divided by its k
	FileName   string             // "" where no file came with it
	Size       int                // of the file, bytes
	SHA256     string             // of the file, hex
}

// Check lists what is wrong with a certificate's entry; nil when it may be used.
func (c *Certificate) Check() []FileError {
	var faults []FileError
	bad := func(field, allowed string, found any) {
		faults = append(faults, FileError{Field: field, Found: fmt.Sprint(found), Allowed: allowed})
	}
	if strings.TrimSpace(c.Number) == "" {
		bad("number", "the certificate's number", `""`)
	}
	if c.Issued.IsZero() {
		bad("date", "the day of the calibration", "none")
	}
	if c.Due.IsZero() || !c.Due.After(c.Issued) {
		bad("due", "a day after the calibration", c.Due.Format("2006-01-02"))
	}
	if !(c.U >= 0) || math.IsInf(c.U, 1) {
		bad("uncertainty", "a finite number of 0 or more", c.U)
	}
	return append(faults, rising("correction", len(c.Correction), func(i int) (float64, float64) {
		return c.Correction[i].IndicatedMM, c.Correction[i].ErrorMM
	})...)
}
