package inspect

import (
	"math"
	"strconv"
	"strings"
)

// Rounding is how the numbers of one characteristic are written for people: to the step of what they were read with. A file
// or another program gets them in full.
type Rounding struct {
	Digits    int     // decimals of the value, its uncertainty and its margin
	mmPerUnit float64 // 1 for mm and for what is no length, 25.4 for inches
}

// Digits that do not follow from a gauge's step, and how many more a leaf interval's midpoint may take.
const (
	digitsDeg    = 2
	digitsCents  = 1
	finestDigits = 6 // nobody measures a neck to a nanometre
	leafDigits   = 3
)

// Rounded returns how a characteristic is written when its readings' gauge has the given step, mm, and lengths are shown in
// a unit of mmPerUnit (1 for mm, 25.4 for inches): to the first decimal place that is not coarser than the step, 0.001 mm for
// a step of 0; degrees to 0.01, cents to 0.1. A leaf interval's midpoint takes what its leaves take, and no value more than
// two digits of its U (JCGM 100:2008, 7.2.6). Where that would show a value on its limit or beyond it although it is not, or
// its margin as nothing, as many decimals more are written as tell them apart, six at the most.
func (c *Characteristic) Rounded(stepMM, mmPerUnit float64) Rounding {
	r := Rounding{mmPerUnit: 1}
	if d, fixed := DecimalsOf(c.Unit); fixed {
		r.Digits = d
	} else {
		r.mmPerUnit = mmPerUnit
		r.Digits = stepDigits(stepMM / mmPerUnit)
	}
	if c.Method == ByLeaves && c.Value != nil {
		for d := r.Digits; d <= r.Digits+leafDigits; d++ {
			if v := *c.Value / r.mmPerUnit; math.Abs(roundTo(v, d)-v) < 1e-9 {
				r.Digits = d
				break
			}
		}
	} else if c.U != nil && *c.U > 0 {
		r.Digits = min(r.Digits, max(1-int(math.Floor(math.Log10(2**c.U/r.mmPerUnit))), 0))
	}
	for d := r.Digits; d <= finestDigits; d++ {
		if (Rounding{d, r.mmPerUnit}).tells(c) {
			r.Digits = d
			break
		}
	}
	return r
}

// DecimalsOf returns the decimals of a unit whose values are written to a fixed place: degrees to 0.01, cents to 0.1. Lengths
// follow the step of their gauge: fixed is false.
func DecimalsOf(unit string) (decimals int, fixed bool) {
	switch unit {
	case "deg":
		return digitsDeg, true
	case "cents":
		return digitsCents, true
	}
	return 0, false
}

// stepDigits is the number of decimals that are not coarser than a step; those of 0.001 for a step of 0.
func stepDigits(step float64) int {
	if !(step > 0) {
		return 3
	}
	return min(max(int(math.Ceil(-math.Log10(step)-1e-9)), 0), finestDigits)
}

// tells reports that what is written shows on which side of each limit the value lies.
func (r Rounding) tells(c *Characteristic) bool {
	ends := []*float64{c.Value}
	if c.IntervalMM != nil {
		ends = append(ends, c.IntervalMM[:]...)
	}
	for _, v := range ends {
		for _, limit := range [2]*float64{c.Lower, c.Upper} {
			if v == nil || limit == nil || *v == *limit {
				continue
			}
			shown := roundTo(*v/r.mmPerUnit, r.Digits) - roundTo(*limit/r.mmPerUnit, r.limitDigits(*limit))
			left := *v - *limit
			if shown*left <= 0 || roundTo(left/r.mmPerUnit, r.Digits) == 0 {
				return false
			}
		}
	}
	return true
}

// limitDigits is the number of decimals a limit takes: it is not measured, so that it is shown as it was given.
func (r Rounding) limitDigits(limit float64) int {
	if r.mmPerUnit != 1 {
		return r.Digits
	}
	_, decimals, _ := strings.Cut(strconv.FormatFloat(limit, 'f', -1, 64), ".")
	return min(max(len(decimals), r.Digits), finestDigits)
}

// Value writes a value, margin or difference without its unit, with a true minus; signed also with a plus.
func (r Rounding) Value(v float64, signed bool) string {
	return Number(v/r.mmPerUnit, r.Digits, signed)
}

// Limit writes a limit or target as it was given, at least to the value's last digit.
func (r Rounding) Limit(v float64) string {
	return Number(v/r.mmPerUnit, r.limitDigits(v), false)
}

// U writes the expanded uncertainty U = 2u to the value's last digit, never as nothing: one step at the least.
func (r Rounding) U(u float64) string {
	return Number(max(2*u/r.mmPerUnit, math.Pow10(-r.Digits)), r.Digits, false)
}

// Number writes a number with its decimals and a true minus; signed also with a plus. A rounded nothing has no sign.
func Number(v float64, decimals int, signed bool) string {
	s := strconv.FormatFloat(math.Abs(v), 'f', decimals, 64)
	switch nothing := strings.Trim(s, "0.") == ""; {
	case v < 0 && !nothing:
		return "−" + s
	case signed && !nothing:
		return "+" + s
	}
	return s
}

// roundTo rounds as Number writes.
func roundTo(v float64, decimals int) float64 {
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'f', decimals, 64), 64) // its own output
	return rounded
}
