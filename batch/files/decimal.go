package files

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// decimals reads the numbers of one file, all with the same decimal sign: the one that was given, or that the first number
// with one has.
type decimals struct {
	sign  byte // '.' or ','; 0: not known yet
	found bool // in the file, where none was given
}

// newDecimals expects a decimal sign, "" where it is to be found. Between commas it is the point.
func newDecimals(sign string, separator rune) decimals {
	switch {
	case sign != "":
		return decimals{sign: sign[0]}
	case separator == ',':
		return decimals{sign: '.'}
	}
	return decimals{}
}

// read reads a decimal number, with or without an exponent; problem says what is wrong with a cell that is none. Other
// notations that Go knows (hexadecimal, underscores, words) are none.
func (d *decimals) read(cell string) (v float64, problem string) {
	text := strings.ReplaceAll(cell, "−", "-")
	sign := d.sign
	if at := strings.IndexAny(text, ".,"); at >= 0 && sign == 0 {
		sign = text[at]
	}
	plain := text
	if sign == ',' {
		plain = strings.NewReplacer(".", ",", ",", ".").Replace(text)
	}
	if strings.Trim(plain, "0123456789+-.eE") == "" {
		if v, err := strconv.ParseFloat(plain, 64); err == nil && !math.IsInf(v, 0) {
			d.found = d.found || sign != d.sign
			d.sign = sign
			return v, ""
		}
	}
	return 0, found(cell) + "; allowed: " + d.allowed(text)
}

// allowed says what a number looks like.
func (d *decimals) allowed(text string) string {
	sign, other := d.sign, byte(',')
	if sign == 0 {
		sign = '.'
	}
	if sign == ',' {
		other = '.'
	}
	allowed := "a number, such as 0" + string(sign) + "31"
	switch hasOther := strings.IndexByte(text, other) >= 0; {
	case hasOther && strings.IndexByte(text, sign) >= 0:
		allowed += ", without a sign between thousands"
	case hasOther && d.found:
		allowed += fmt.Sprintf(" (decimals with %q, as further up in the file)", sign)
	}
	return allowed
}
