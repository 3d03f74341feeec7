package decode

import (
	"math/big"
	"math/bits"
	"strconv"
	"strings"

	"sagitta/inspect/unit"
)

// mmPerInch is exact, so that the mm of a decimal number of inches are a decimal number.
var mmPerInch = exactFactor(unit.MMPerInch)

// number is an exact decimal number: m / 10^places, or exact where that has no room. Gauges' numbers have room, and a
// division of two whole numbers that a float holds exactly is rounded once.
type number struct {
	m      int64
	places int
	exact  *big.Rat // nil where m and places say it
}

// tens are the powers of ten that a float holds exactly.
var tens = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// rat is the number as a fraction.
func (n number) rat() *big.Rat {
	if n.exact != nil {
		return n.exact
	}
	return new(big.Rat).SetFrac(big.NewInt(n.m), new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(n.places)), nil))
}

// float is the nearest float.
func (n number) float() float64 {
	if n.exact == nil && n.places < len(tens) && -1<<53 <= n.m && n.m <= 1<<53 {
		return float64(n.m) / tens[n.places]
	}
	f, _ := n.rat().Float64()
	return f
}

// times is the exact product.
func (n number) times(by number) number {
	if n.exact == nil && by.exact == nil {
		high, low := bits.Mul64(uint64(max(n.m, -n.m)), uint64(max(by.m, -by.m)))
		if high == 0 && low < 1<<63 {
			product := number{m: int64(low), places: n.places + by.places}
			if (n.m < 0) != (by.m < 0) {
				product.m = -product.m
			}
			return product
		}
	}
	return number{exact: new(big.Rat).Mul(n.rat(), by.rat())}
}

// parseDecimal reads a decimal number as gauges write it: an optional sign, digits with at most one point or
// comma, digits possibly missing on one side of it, blanks anywhere. It returns the number without blanks, as
// sent, and its exact value. ok is false for anything else: no digit, two points, an exponent, other signs.
func parseDecimal(sent string) (digits string, value number, ok bool) {
	digits = strings.ReplaceAll(sent, " ", "")
	plain := digits
	if len(plain) > 0 && (plain[0] == '+' || plain[0] == '-') {
		plain = plain[1:]
	}
	point, figures := -1, 0
	for i := 0; i < len(plain); i++ {
		switch b := plain[i]; {
		case (b == '.' || b == ',') && point < 0:
			point = i
		case b >= '0' && b <= '9':
			figures++
			if figures <= 18 { // as many as have room
				value.m = 10*value.m + int64(b-'0')
			}
		default:
			return "", number{}, false
		}
	}
	if figures == 0 {
		return "", number{}, false
	}
	if point >= 0 {
		value.places = len(plain) - 1 - point
	}
	if figures > 18 {
		exact, fits := new(big.Rat).SetString(strings.Replace(plain, ",", ".", 1))
		if !fits {
			return "", number{}, false
		}
		value = number{exact: exact}
	}
	if digits[0] == '-' {
		value = value.times(number{m: -1})
	}
	return digits, value, true
}

// exactFactor is the decimal number that a float was written as: 0.001 becomes 1/1000, not its binary neighbour.
func exactFactor(f float64) number {
	_, n, _ := parseDecimal(strconv.FormatFloat(f, 'f', -1, 64))
	return n
}

// setNumber fills the value's numbers: the exact product of digits and scale, and the same in mm, each rounded
// once, to the nearest float.
func (v *Value) setNumber(digits string, exact, scale number, symbol string) {
	scaled := exact.times(scale)
	v.Digits, v.UnitNorm = digits, symbol
	v.Value = scaled.float()
	v.MM = v.Value
	if symbol == unit.Inch.String() {
		v.MM = scaled.times(mmPerInch).float()
	}
}
