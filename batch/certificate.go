package batch

import (
	"fmt"
	"math"
	"slices"
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
	LimitMM    float64            // largest deviation accepted at a point, mm; 0: none is given
	Found      CalibrationState   // as the laboratory found the gauge
	Left       CalibrationState   // as it left it
	Doubted    int                // inspections that the state it was found in put in doubt
	U          float64            // standard uncertainty of the calibration, mm: the certificate's expanded one divided by its k
	FileName   string             // "" where no file came with it
	Size       int                // of the file, bytes
	SHA256     string             // of the file, hex
}

// CalibrationState is how a gauge was at a laboratory. The deviations decide whether it was within what is allowed, where there are any; else
// the laboratory's word.
type CalibrationState struct {
	Points []Deviation // nominals rising
	Word   string      // one of CalibrationWords
}

// Deviation is what a gauge indicated less what was true, at a nominal length, mm.
type Deviation struct{ NominalMM, DeviationMM float64 }

// What a laboratory says of a gauge without figures.
const (
	NothingSaid   = ""
	WithinLimits  = "within"
	OutsideLimits = "outside"
)

// CalibrationWords are all of them.
var CalibrationWords = []string{NothingSaid, WithinLimits, OutsideLimits}

// Known says whether anything is said of the state.
func (s CalibrationState) Known() bool { return len(s.Points) > 0 || s.Word != NothingSaid }

// Errors are what readings that a correction table corrected were off by at a state's points: the deviation less the correction, as
// readings on masters.
func (c *Certificate) Errors(s CalibrationState, correction []CalibrationPoint) []MasterReading {
	g := Gauge{Calibration: correction}
	all := make([]MasterReading, len(s.Points))
	for i, p := range s.Points {
		all[i] = MasterReading{NominalMM: p.NominalMM, LimitMM: c.LimitMM, ReadMM: g.Correct(p.NominalMM+p.DeviationMM, 0, 0)}
	}
	return all
}

// Outside says whether a gauge in a state, its readings corrected by a table, was outside what is allowed.
func (c *Certificate) Outside(s CalibrationState, correction []CalibrationPoint) bool {
	if len(s.Points) == 0 {
		return s.Word == OutsideLimits
	}
	return slices.ContainsFunc(c.Errors(s, correction), func(m MasterReading) bool { return !m.Good() })
}

// ProvesBetter says whether a check proves that its gauge was not yet as a laboratory found it later: it passed, and in that state it
// would have failed. What counts is the error after the check's zero, linear between the laboratory's points; of what lies beyond them it
// tells nothing. errors are Certificate.Errors.
func (c *GaugeCheck) ProvesBetter(errors []MasterReading) bool {
	if !c.Good || len(errors) == 0 {
		return false
	}
	errors = afterZero(errors)
	return slices.ContainsFunc(c.Masters, func(m MasterReading) bool {
		within := errors[0].NominalMM <= m.NominalMM && m.NominalMM <= errors[len(errors)-1].NominalMM
		return within && m.LimitMM > 0 && math.Abs(errorAt(errors, m.NominalMM)) > m.LimitMM+1e-9
	})
}

// afterZero are a laboratory's errors as readings have them after a check has taken the zero: less the error at a nominal of 0, which is 0
// where they begin above it.
func afterZero(errors []MasterReading) []MasterReading {
	errors = slices.Clone(errors)
	if len(errors) > 0 && errors[0].NominalMM > 0 {
		return slices.Insert(errors, 0, MasterReading{})
	}
	zero := errorAt(errors, 0)
	for i := range errors {
		errors[i].ReadMM -= zero
	}
	return errors
}

// errorAt is the error at a nominal length, mm: linear between the points of errors, beyond them that of the nearest.
func errorAt(errors []MasterReading, mm float64) float64 {
	return interpolate(len(errors), mm, func(i int) (x, y float64) { return errors[i].NominalMM, errors[i].ErrorMM() })
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
	if !(c.LimitMM >= 0) || math.IsInf(c.LimitMM, 1) {
		bad("largest deviation", "a finite number of 0 or more", c.LimitMM)
	}
	for _, state := range []struct {
		name string
		CalibrationState
	}{{"as found", c.Found}, {"as left", c.Left}} {
		if !slices.Contains(CalibrationWords, state.Word) {
			bad(state.name, fmt.Sprintf("one of %q", CalibrationWords), fmt.Sprintf("%q", state.Word))
		}
		if len(state.Points) > 0 && c.LimitMM == 0 {
			bad(state.name, "deviations with the largest that is accepted", "no largest deviation")
		}
		faults = append(faults, rising(state.name, len(state.Points), func(i int) (float64, float64) {
			return state.Points[i].NominalMM, state.Points[i].DeviationMM
		})...)
	}
	return append(faults, rising("correction", len(c.Correction), func(i int) (float64, float64) {
		return c.Correction[i].IndicatedMM, c.Correction[i].ErrorMM
	})...)
}
