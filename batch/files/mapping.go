package files

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"unicode"

	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// Mapping says what the columns of somebody else's delimited file mean. Columns are named as in the file's header.
type Mapping struct {
	Separator    string            `toml:"separator"` // found in the file unless given, like decimal
	Decimal      string            `toml:"decimal"`
	Serial       string            `toml:"serial"`
	Date         string            `toml:"date"`
	DateFormat   string            `toml:"date_format"` // of YYYY YY MM DD hh mm ss and what stands between
	Time         string            `toml:"time"`        // where the time has a column of its own
	TimeFormat   string            `toml:"time_format"`
	Inspector    string            `toml:"inspector"`
	Disposition  string            `toml:"disposition"` // without it the values decide
	Words        map[string]string `toml:"words"`       // a disposition for each word in its column
	Humidity     string            `toml:"humidity"`    // % RH
	Temperature  string            `toml:"temperature"` // °C
	Measurements []MappedColumn    `toml:"measurement"`
}

// MappedColumn is a column of values of one characteristic. Limits come from the batch's specification.
type MappedColumn struct {
	Column         string  `toml:"column"`
	Characteristic string  `toml:"characteristic"`
	Track          string  `toml:"track"`
	String         int     `toml:"string"`
	Fret           int     `toml:"fret"`
	HeldFret       int     `toml:"held_fret"`
	Unit           string  `toml:"unit"` // mm, in, thou, 64ths, deg or cents
	U              float64 `toml:"u"`    // standard uncertainty of one value, in that unit; 0: not known
}

var mappingOptional = map[string]bool{
	"separator": true, "decimal": true, "time": true, "time_format": true, "disposition": true, "words": true, "humidity": true, "temperature": true,
	"measurement.track": true, "measurement.string": true, "measurement.fret": true, "measurement.held_fret": true, "measurement.u": true,
}

// ReadMapping reads a mapping's TOML and checks it; file only names it in errors. The error joins one batch.FileError for
// everything that is wrong.
func ReadMapping(file string, text []byte) (*Mapping, error) {
	d, values, err := readTOML(file, text, mappingOptional)
	if err != nil {
		return nil, err
	}
	m := &Mapping{}
	words, _ := values["words"].(map[string]any) // its keys are the file's own
	delete(values, "words")
	d.fill(reflect.ValueOf(m).Elem(), any(values), "")
	m.words(d, words)
	if len(d.faults) == 0 {
		m.check(d)
	}
	if err := d.err(); err != nil {
		return nil, err
	}
	return m, nil
}

// judgedWords are the dispositions that a word may stand for.
var judgedWords = []inspect.Disposition{inspect.Pass, inspect.Rework, inspect.Repair, inspect.Scrap, inspect.Concession}

func (m *Mapping) words(d *document, words map[string]any) {
	m.Words = map[string]string{}
	for _, own := range judgedWords {
		m.Words[string(own)] = string(own)
	}
	for word, means := range words {
		text, ok := means.(string)
		if !ok || !slices.Contains(judgedWords, inspect.Disposition(text)) {
			d.fault("words."+word, fmt.Sprintf("%v", means), fmt.Sprintf("one of %q", judgedWords))
			continue
		}
		m.Words[strings.ToLower(word)] = text
	}
}

// check finds what a mapping as a whole has wrong.
func (m *Mapping) check(d *document) {
	if len([]rune(m.Separator)) > 1 || strings.ContainsAny(m.Separator, "\"\r\n") {
		d.fault("separator", fmt.Sprintf("%q", m.Separator), "one character, such as , or ; or a tab; left out, it is found")
	}
	if m.Decimal != "" && (m.Decimal != "." && m.Decimal != "," || m.Decimal == m.Separator) {
		d.fault("decimal", fmt.Sprintf("%q", m.Decimal), "a point or a comma, and not the separator; left out, it is found")
	}
	for _, needed := range []struct{ path, value string }{{"serial", m.Serial}, {"date", m.Date}, {"inspector", m.Inspector}} {
		if needed.value == "" {
			d.fault(needed.path, `""`, "a column's name")
		}
	}
	if (m.Time == "") != (m.TimeFormat == "") {
		d.problem("time", "time and time_format belong together; give both or neither")
	}
	for path, format := range map[string]string{"date_format": m.DateFormat, "time_format": m.TimeFormat} {
		if _, err := Layout(format); err != nil {
			d.fault(path, fmt.Sprintf("%q", format), err.Error())
		}
	}
	if len(m.Measurements) == 0 {
		d.problem("measurement", "is missing; needed: one [[measurement]] for each column of values")
	}
	for i, c := range m.Measurements {
		path := fmt.Sprintf("measurement[%d]", i+1)
		own := inspect.KindOf(c.Characteristic).Unit
		if own == "" {
			d.fault(path+".characteristic", fmt.Sprintf("%q", c.Characteristic), fmt.Sprintf("one of %q", inspect.CharacteristicNames()))
			continue
		}
		if allowed := unitsFor(own); !slices.Contains(allowed, c.Unit) {
			d.fault(path+".unit", fmt.Sprintf("%q", c.Unit), fmt.Sprintf("one of %q", allowed))
		}
		if !(c.U >= 0) {
			d.fault(path+".u", fmt.Sprint(c.U), "0 or more")
		}
	}
}

// unitsFor are the units that a file may give a characteristic in.
func unitsFor(own string) []string {
	if own != unit.Millimetre.String() {
		return []string{own}
	}
	return []string{unit.Millimetre.String(), unit.Inch.String(), unit.Thousandth.String(), unit.SixtyFourth.String()}
}

// InUnit turns a value of the column into the characteristic's own unit.
func (c *MappedColumn) InUnit(v float64) float64 {
	if u, length := unit.Parse(c.Unit); length {
		return u.To(v)
	}
	return v
}

// Layout turns a format of the words YYYY, YY, MM, DD, hh, mm and ss into a layout of the package time. The error says
// what is allowed.
func Layout(format string) (string, error) {
	layout := strings.NewReplacer("YYYY", "2006", "YY", "06", "MM", "01", "DD", "02", "hh", "15", "mm", "04", "ss", "05").Replace(format)
	rest := strings.NewReplacer("2006", "", "06", "", "01", "", "02", "", "15", "", "04", "", "05", "", "T", "").Replace(layout)
	if strings.ContainsFunc(rest, func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }) {
		return "", errors.New("YYYY or YY, MM, DD, hh, mm, ss and signs between them, e.g. DD.MM.YYYY hh:mm")
	}
	return layout, nil
}
