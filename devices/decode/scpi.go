package decode

import (
	"bytes"
	"fmt"
	"math/big"
	"regexp"
	"strings"
)

// scpiFile is the table [scpi] as written.
type scpiFile struct {
	Query  *string `toml:"query"`
	InUnit *string `toml:"in_unit"`
}

// scpi reads the answers of the family "scpi": one number in one of the forms NR1, NR2 and NR3 of IEEE 488.2-1992
// (8.7.2 to 8.7.4), ended by a line feed. Three numbers are no readings (SCPI-1999, volume 1, 7.2.1): 9.9E37 and its
// negative are infinite, 9.91E37 is not a number; no number may be larger. A gauge that has not answered is asked for
// the oldest entry of its error queue (SYSTem:ERRor?, volume 2, 21.8), a number and a text in quotes; an unknown one
// for its four fields of identification (*IDN?, IEEE 488.2, 10.14). Both answers are statuses without a number.
type scpi struct{ inUnit string }

func (c *check) scpi(f *file, d *Decoder) {
	c.notHere(f, "checksum")
	query := ""
	if f.SCPI.Query == nil || strings.TrimSpace(*f.SCPI.Query) == "" {
		c.add("scpi.query", "missing; the query that asks for a reading, such as \"MEAS?\"")
	} else {
		query = strings.TrimRight(*f.SCPI.Query, "\r\n")
	}
	c.asks(f, &d.Request, []byte(query+"\n"))
	d.Request.Why, d.Request.Who = []byte("SYST:ERR?\n"), []byte("*IDN?\n")
	d.Frame = Frame{End: []byte("\n"), MaxBytes: longestError}
	if f.Frame != nil {
		c.frame(f, &d.Frame)
	}
	d.reader = &scpi{c.inUnit("scpi.in_unit", f.SCPI.InUnit)}
}

// longestError is room for an entry of the error queue: 255 characters of text (SCPI-1999, volume 2, 21.8), the number,
// quotes and the end.
const longestError = 272

var (
	scpiNumber   = regexp.MustCompile(`^[+-]?\d+(?:\.\d+)?(?:[eE][+-]?\d{1,3})?$`)
	scpiError    = regexp.MustCompile(`^([+-]?\d{1,5}), ?"((?:[ !#-~]|"")*)"$`)
	scpiIdentity = regexp.MustCompile(`^[ -+\--~]*[A-Za-z][ -+\--~]*(?:,[ -+\--~]+){3}$`) // a comma is no part of a field
)

var largestNumber = new(big.Rat).SetFloat64(9.91e37)

func (s *scpi) read(frame []byte) (v *Value, why string) {
	sent := string(bytes.TrimSuffix(frame, []byte("\r"))) // some end an answer with both
	if e := scpiError.FindStringSubmatch(sent); e != nil {
		return noNumber("", fmt.Sprintf("error %s: %s", e[1], strings.ReplaceAll(e[2], `""`, `"`))), ""
	}
	if scpiIdentity.MatchString(sent) {
		return noNumber("", "is "+strings.ReplaceAll(sent, ",", ", ")), ""
	}
	exact, ok := new(big.Rat), scpiNumber.MatchString(sent)
	if ok {
		_, ok = exact.SetString(sent)
	}
	if !ok {
		return nil, fmt.Sprintf("%q is not a number in the form NR1, NR2 or NR3", sent)
	}
	switch size, _ := new(big.Rat).Abs(exact).Float64(); size {
	case 9.9e37:
		return noNumber("", "overload"), ""
	case 9.91e37:
		return noNumber("", "no reading"), ""
	}
	if new(big.Rat).Abs(exact).Cmp(largestNumber) > 0 {
		return nil, fmt.Sprintf("%q is larger than any number of the standard", sent)
	}
	v = &Value{}
	v.setNumber(sent, number{exact: exact}, number{m: 1}, s.inUnit)
	return v, ""
}
