// Package study judges measuring: is the gauge, with the people who use it, good enough for its limits. It holds the
// type-1 study of one master, bias and linearity, the crossed study of repeatability and reproducibility, agreement of
// ratings, and the blind random order in which a crossed study is measured. Pure functions: no files, no clock.
//
// Definitions follow the measurement systems analysis manual of the AIAG (4th edition, 2010) and ISO 22514-7. Standard
// deviations use the divisor n - 1. Values carry the unit of the readings; nothing is rounded.
package study

import (
	"fmt"
	"math"
)

// Measurement is one reading of a crossed study.
type Measurement struct {
	Part, Appraiser, Trial string
	Value                  float64
}

// RowError is what is wrong with one row of a study's data.
type RowError struct {
	Row     int    // index into the rows given, from 0
	Field   string // the column: value, part, appraiser, trial, item, rating or reference
	Problem string // what was found and what is allowed
}

// Error says it with the row counted from 1.
func (e RowError) Error() string {
	return fmt.Sprintf("row %d: %s: %s", e.Row+1, e.Field, e.Problem)
}

// OptionError is what is wrong with one option of a study.
type OptionError struct {
	Option  string // reference, tolerance, share, spread, method or weights
	Problem string // what was found and what is allowed
}

func (e OptionError) Error() string { return e.Option + ": " + e.Problem }

// checkFinite refuses the first value that is no number.
func checkFinite(row int, field string, v float64) error {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return RowError{row, field, fmt.Sprintf("found %v; allowed: a finite number", v)}
	}
	return nil
}

// checkPositive refuses an option that must be above zero.
func checkPositive(option string, v float64) error {
	if !(v > 0) || math.IsInf(v, 0) {
		return OptionError{option, fmt.Sprintf("found %v; allowed: a finite number above 0", v)}
	}
	return nil
}

// about returns the mean of x - origin and the sum of squared deviations from the mean. Differences are taken from origin,
// one of the readings, before anything is summed: that keeps the digits of readings that share their leading ones, and
// gives a sum of exactly 0 for equal readings.
func about(x []float64, origin float64) (d, ss float64) {
	for _, v := range x {
		d += v - origin
	}
	d /= float64(len(x))
	for _, v := range x {
		e := v - origin - d
		ss += e * e
	}
	if ss > 0 && Range(x) == 0 {
		ss = 0
	}
	return d, ss
}

// errOverflow says that squares of the readings leave the range of numbers.
func errOverflow() error {
	return fmt.Errorf("the readings are too large to square: state them in another unit, below 1e150")
}
