package decode

import (
	"math/big"
	"strconv"
	"strings"
)

// mmPerInch is exact: 1 in = 25.4 mm (ISO 80000-3; the international inch of 1959).
var mmPerInch = big.NewRat(254, 10)

// parseDecimal reads a decimal number as gauges write it: an optional sign, digits with at most one point or
// comma, digits possibly missing on one side of it, blanks anywhere. It returns the number without blanks, as
// sent, and its exact value. ok is false for anything else: no digit, two points, an exponent, other signs.
func parseDecimal(sent string) (digits string, value *big.Rat, ok bool) {
	digits = strings.ReplaceAll(sent, " ", "")
	plain := strings.Replace(digits, ",", ".", 1)
	if len(plain) > 0 && (plain[0] == '+' || plain[0] == '-') {
		plain = plain[1:]
	}
	points, any := 0, false
	for i := 0; i < len(plain); i++ {
		switch b := plain[i]; {
		case b == '.':
			points++
		case b >= '0' && b <= '9':
			any = true
		default:
			return "", nil, false
		}
	}
	if !any || points > 1 {
		return "", nil, false
	}
	value, ok = new(big.Rat).SetString(plain)
	if !ok {
		return "", nil, false
	}
	if digits[0] == '-' {
		value.Neg(value)
	}
	return digits, value, true
}

// exactFactor is the decimal number that a float was written as: 0.001 becomes 1/1000, not its binary neighbour.
func exactFactor(f float64) *big.Rat {
	r, _ := new(big.Rat).SetString(strconv.FormatFloat(f, 'g', -1, 64))
	return r
}

// setNumber fills the value's numbers: the exact product of digits and scale, and the same in mm, each rounded
// once, to the nearest float.
func (v *Value) setNumber(digits string, exact, scale *big.Rat, unit string) {
	scaled := new(big.Rat).Mul(exact, scale)
	v.Digits, v.UnitNorm = digits, unit
	v.Value, _ = scaled.Float64()
	v.MM = v.Value
	if unit == "in" {
		v.MM, _ = scaled.Mul(scaled, mmPerInch).Float64()
	}
}
