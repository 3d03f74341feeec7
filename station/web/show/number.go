package show

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"sagitta/inspect/unit"
)

// Number writes a length given in mm without its unit: to 0.001 mm or 0.0001 in.
func Number(mm float64, lengths unit.Unit) string {
	return Fixed(lengths.From(mm), lengths.Digits(0.001), false)
}

// Signed is numberIn with its sign always shown.
func Signed(mm float64, lengths unit.Unit) string {
	return Fixed(lengths.From(mm), lengths.Digits(0.001), true)
}

// Length is numberIn with the unit.
func Length(mm float64, lengths unit.Unit) string {
	return Number(mm, lengths) + " " + lengths.String()
}

// SignedLength is signedIn with the unit.
func SignedLength(mm float64, lengths unit.Unit) string {
	return Signed(mm, lengths) + " " + lengths.String()
}

// Whole writes a length where only its size matters: to 1 mm or 0.1 in.
func Whole(mm float64, lengths unit.Unit) string {
	return Fixed(lengths.From(mm), lengths.Digits(1), false)
}

// Fine writes an uncertainty with two digits more than a measured value carries.
func Fine(mm float64, lengths unit.Unit) string {
	return Fixed(lengths.From(mm), lengths.Digits(0.0001), false)
}

// Uncertainty writes an uncertainty in mm with its unit, in the page's, with two significant digits (JCGM 100, 7.2.6): "0.10 mm".
func Uncertainty(mm float64, lengths unit.Unit) string {
	v := lengths.From(mm)
	digits := lengths.Digits(0.0001)
	if v > 0 {
		digits = max(0, 1-int(math.Floor(math.Log10(v))))
	}
	return Fixed(v, digits, false) + " " + lengths.String()
}

// Exact writes mm in the page's unit with as many decimals as it takes to read it back.
func Exact(mm float64, lengths unit.Unit) string {
	return ExactNumber(mm, lengths) + " " + lengths.String()
}

// ExactNumber is Exact without the unit.
func ExactNumber(mm float64, lengths unit.Unit) string {
	if lengths == unit.Inch {
		return Plain(math.Round(lengths.From(mm)*1e8) / 1e8)
	}
	return Plain(mm)
}

// ExactValue is ExactNumber for a field that shows the unit; zero is an empty field.
func ExactValue(mm float64, lengths unit.Unit) string {
	if mm == 0 {
		return ""
	}
	return ExactNumber(mm, lengths)
}

// Plain writes a number with as many decimals as it takes.
func Plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// trueMinus turns the minus that a page shows into the one that numbers are read with.
func trueMinus(text string) string { return strings.Replace(strings.TrimSpace(text), "−", "-", 1) }

// ParseNumber reads a finite decimal number; a comma may stand for the point, a true minus for the hyphen.
func ParseNumber(text string) (float64, error) {
	v, err := strconv.ParseFloat(strings.Replace(trueMinus(text), ",", ".", 1), 64)
	if err == nil && (math.IsNaN(v) || math.IsInf(v, 0)) {
		err = strconv.ErrRange
	}
	return v, err
}

// ParseLength reads a length in the unit given or in its own, as people write it, and returns mm to the nanometre: what a
// field shows in inches reads back as it was.
func ParseLength(text string, lengths unit.Unit) (float64, error) {
	mm, err := unit.ReadLength(trueMinus(text), lengths)
	return math.Round(mm*1e6) / 1e6, err
}

// NumbersWords lists numbers.
func NumbersWords(ns []int) string {
	if len(ns) == 0 {
		return "none"
	}
	words := make([]string, len(ns))
	for i, n := range ns {
		words[i] = strconv.Itoa(n)
	}
	return strings.Join(words, ", ")
}

// Digits is a number without a unit to three digits, with a true minus.
func Digits(v float64) string { return strings.ReplaceAll(fmt.Sprintf("%.3g", v), "-", "−") }

// Figure is a number without a unit; what is not defined is a dash.
func Figure(v *float64) string {
	if v == nil {
		return "–"
	}
	return Digits(*v)
}
