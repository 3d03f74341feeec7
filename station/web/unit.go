package web

import (
	"github.com/gin-gonic/gin"
)

// Unit is what lengths are shown in.
type Unit int

// Millimetres are used inside; inches exist on pages and sheets only.
const (
	Millimetre Unit = iota
	Inch
)

const mmPerInch = 25.4

// unitOf is the unit that the browser's switch is set to.
func unitOf(c *gin.Context) Unit {
	if u, err := c.Cookie("unit"); err == nil && u == "in" {
		return Inch
	}
	return Millimetre
}

// String is the unit's symbol.
func (u Unit) String() string {
	if u == Inch {
		return "in"
	}
	return "mm"
}

// number writes a length given in mm without its unit: to 0.001 mm or 0.0001 in.
func (u Unit) number(mm float64) string {
	if u == Inch {
		return fixed(mm/mmPerInch, 4, false)
	}
	return fixed(mm, 3, false)
}

// signed is number with its sign always shown.
func (u Unit) signed(mm float64) string {
	if u == Inch {
		return fixed(mm/mmPerInch, 4, true)
	}
	return fixed(mm, 3, true)
}

// length is number with the unit.
func (u Unit) length(mm float64) string { return u.number(mm) + " " + u.String() }

// signedLength is signed with the unit.
func (u Unit) signedLength(mm float64) string { return u.signed(mm) + " " + u.String() }
