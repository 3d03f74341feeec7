package web

import (
	"math"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"sagitta/batch"
	"sagitta/inspect/unit"
)

// unitOf is the unit that the browser's switch is set to.
func unitOf(c *gin.Context) unit.Unit {
	if u, err := c.Cookie("unit"); err == nil && u == "in" {
		return unit.Inch
	}
	return unit.Millimetre
}

// numberIn writes a length given in mm without its unit: to 0.001 mm or 0.0001 in.
func numberIn(mm float64, lengths unit.Unit) string {
	return fixed(lengths.From(mm), lengths.Digits(0.001), false)
}

// signedIn is numberIn with its sign always shown.
func signedIn(mm float64, lengths unit.Unit) string {
	return fixed(lengths.From(mm), lengths.Digits(0.001), true)
}

// lengthIn is numberIn with the unit.
func lengthIn(mm float64, lengths unit.Unit) string {
	return numberIn(mm, lengths) + " " + lengths.String()
}

// signedLengthIn is signedIn with the unit.
func signedLengthIn(mm float64, lengths unit.Unit) string {
	return signedIn(mm, lengths) + " " + lengths.String()
}

// reworkWords says what was done, its amount in the unit.
func reworkWords(a batch.ReworkAction, lengths unit.Unit) string {
	return a.Words(func(mm float64) string { return signedLengthIn(mm, lengths) })
}

// wholeIn writes a length where only its size matters: to 1 mm or 0.1 in.
func wholeIn(mm float64, lengths unit.Unit) string {
	return fixed(lengths.From(mm), lengths.Digits(1), false)
}

// fineLength writes an uncertainty with two digits more than a measured value carries.
func fineLength(mm float64, lengths unit.Unit) string {
	return fixed(lengths.From(mm), lengths.Digits(0.0001), false)
}

// exact writes mm in the page's unit with as many decimals as it takes to read it back.
func exact(mm float64, lengths unit.Unit) string {
	v := mm
	if lengths == unit.Inch {
		v = math.Round(lengths.From(mm)*1e8) / 1e8
	}
	return plain(v) + " " + lengths.String()
}

// exactValue is exact without the unit, for a field that shows it; zero is an empty field.
func exactValue(mm float64, lengths unit.Unit) string {
	if mm == 0 {
		return ""
	}
	s, _, _ := strings.Cut(exact(mm, lengths), " ")
	return s
}

// plain writes a number with as many decimals as it takes.
func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// trueMinus turns the minus that a page shows into the one that numbers are read with.
func trueMinus(text string) string { return strings.Replace(strings.TrimSpace(text), "−", "-", 1) }

// parseNumber reads a finite decimal number; a comma may stand for the point, a true minus for the hyphen.
func parseNumber(text string) (float64, error) {
	v, err := strconv.ParseFloat(strings.Replace(trueMinus(text), ",", ".", 1), 64)
	if err == nil && (math.IsNaN(v) || math.IsInf(v, 0)) {
		err = strconv.ErrRange
	}
	return v, err
}

// parseLength reads a length in the unit given or in its own, as people write it, and returns mm to the nanometre: what a
// field shows in inches reads back as it was.
func parseLength(text string, lengths unit.Unit) (float64, error) {
	mm, err := unit.ReadLength(trueMinus(text), lengths)
	return math.Round(mm*1e6) / 1e6, err
}
