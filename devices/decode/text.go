package decode

import (
	"fmt"
	"math"
	"regexp"
	"slices"
)

// textFile is the table [text] as written.
type textFile struct {
	Pattern     *string           `toml:"pattern"`
	DefaultUnit *string           `toml:"default_unit"`
	Scale       *float64          `toml:"scale"`
	Units       map[string]string `toml:"units"`
	Status      map[string]string `toml:"status"`
}

// text reads the frames of the family "text".
type text struct {
	pattern     *regexp.Regexp
	group       [len(textGroups)]int // index of each named group, in textGroups' order; 0 where the pattern has none
	defaultUnit string
	scale       number
	units       map[string]string // as sent -> "mm" or "in"
	status      map[string]string // as sent -> in words
}

// The named groups of a pattern.
const (
	groupSign = iota
	groupDigits
	groupUnit
	groupChannel
	groupStatus
)

var textGroups = [...]string{"sign", "digits", "unit", "channel", "status"}

func (c *check) text(f *textFile) *text {
	t := &text{units: f.Units, status: f.Status, scale: exactFactor(c.scale("text.scale", f.Scale))}
	if len(t.units) == 0 {
		t.units = map[string]string{"mm": "mm", "in": "in"}
	}
	for _, word := range sortedKeys(f.Units) {
		c.word("text.units."+word, f.Units[word], "mm", "in")
	}
	for _, word := range sortedKeys(f.Status) {
		if word == "" || f.Status[word] == "" {
			c.add("text.status", "found an empty word or meaning; write what the gauge sends = \"what it means\"")
		}
	}
	if f.DefaultUnit != nil {
		t.defaultUnit = *f.DefaultUnit
		c.word("text.default_unit", t.defaultUnit, "mm", "in")
	}
	if f.Pattern == nil {
		c.add("text.pattern", "missing; a regular expression with the named group digits")
		return t
	}
	if _, err := regexp.Compile(*f.Pattern); err != nil {
		c.add("text.pattern", "%v; write it in Go's syntax of regular expressions", err)
		return t
	}
	// The whole frame must fit, also where the author left out ^ and $.
	pattern, err := regexp.Compile(`\A(?:` + *f.Pattern + `)\z`)
	if err != nil {
		c.add("text.pattern", "%v; make it shorter", err)
		return t
	}
	t.pattern = pattern
	for i, name := range pattern.SubexpNames() {
		if name == "" {
			continue
		}
		if at := slices.Index(textGroups[:], name); at >= 0 {
			t.group[at] = i
		} else {
			c.add("text.pattern", "unknown group %s", oneOf(name, textGroups[:]))
		}
	}
	if t.group[groupDigits] == 0 {
		c.add("text.pattern", "has no group digits; write (?P<digits>...) around the number")
	}
	if t.group[groupUnit] == 0 && t.defaultUnit == "" {
		c.add("text.default_unit", "missing; the pattern has no group unit, so say \"mm\" or \"in\" here")
	}
	return t
}

// read says what a frame means; frame is without its start and end marks and its checksum. why is "" unless the
// frame is refused.
func (t *text) read(frame []byte) (v *Value, why string) {
	if means, ok := t.status[string(frame)]; ok {
		return noNumber("", means), ""
	}
	m := t.pattern.FindSubmatchIndex(frame)
	if m == nil {
		return nil, "does not match the pattern"
	}
	part := func(group int) string {
		i := 2 * t.group[group]
		if i == 0 || m[i] < 0 {
			return ""
		}
		return string(frame[m[i]:m[i+1]])
	}
	v = &Value{Channel: part(groupChannel), Status: part(groupStatus)}
	if means, ok := t.status[v.Status]; ok {
		return noNumber(v.Channel, means), ""
	}
	sent := part(groupSign) + part(groupDigits)
	digits, exact, ok := parseDecimal(sent)
	if !ok {
		return nil, fmt.Sprintf("%q is not a number", sent)
	}
	unit := t.defaultUnit
	if v.Unit = part(groupUnit); v.Unit != "" {
		if unit, ok = t.units[v.Unit]; !ok {
			return nil, fmt.Sprintf("unit %q is not one of this gauge's", v.Unit)
		}
	}
	if unit == "" {
		return nil, "names no unit, and the decoder has no default_unit"
	}
	v.setNumber(digits, exact, t.scale, unit)
	return v, ""
}

// noNumber is what a status frame says.
func noNumber(channel, status string) *Value {
	return &Value{Channel: channel, Status: status, Value: math.NaN(), MM: math.NaN()}
}
