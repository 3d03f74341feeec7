package decode

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"reflect"
	"regexp"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// file is a decoder file as written. A pointer is nil where the key is missing.
type file struct {
	Name   *string `toml:"name"`
	Family *string `toml:"family"`
	Line   *struct {
		Baud     *int     `toml:"baud"`
		DataBits *int     `toml:"data_bits"`
		Parity   *string  `toml:"parity"`
		StopBits *float64 `toml:"stop_bits"`
	} `toml:"line"`
	Frame *struct {
		Start    *string `toml:"start"`
		End      *string `toml:"end"`
		Length   *int    `toml:"length"`
		IdleMS   *int    `toml:"idle_ms"`
		MaxBytes *int    `toml:"max_bytes"`
	} `toml:"frame"`
	Text     *textFile `toml:"text"`
	Checksum *struct {
		Kind     *string `toml:"kind"`
		Encoding *string `toml:"encoding"`
		Order    *string `toml:"order"`
	} `toml:"checksum"`
	Request *struct {
		Bytes     *string `toml:"bytes"`
		EveryMS   *int    `toml:"every_ms"`
		TimeoutMS *int    `toml:"timeout_ms"`
	} `toml:"request"`
	Modbus *modbusFile `toml:"modbus"`
	SCPI   *scpiFile   `toml:"scpi"`
}

// allowedKeys lists the keys of each table, for suggestions.
var allowedKeys = map[string][]string{
	"":         {"name", "family", "line", "frame", "text", "checksum", "request", "modbus", "scpi"},
	"line":     {"baud", "data_bits", "parity", "stop_bits"},
	"frame":    {"start", "end", "length", "idle_ms", "max_bytes"},
	"text":     {"pattern", "default_unit", "scale", "units", "status"},
	"checksum": {"kind", "encoding", "order"},
	"request":  {"bytes", "every_ms", "timeout_ms"},
	"modbus":   {"unit", "function", "register", "type", "word_order", "scale", "in_unit"},
	"scpi":     {"query", "in_unit"},
}

// check gathers the problems of one file.
type check struct {
	source   []byte
	problems []Problem
}

// add notes a problem with a key, and finds the line the key is on.
func (c *check) add(key, format string, args ...any) {
	c.problems = append(c.problems, Problem{Line: c.lineOf(key), Key: key, Says: fmt.Sprintf(format, args...)})
}

// lineOf finds the line of "table.key" or, where the key is missing, of "[table]"; 0 when neither is there.
func (c *check) lineOf(key string) int {
	table, leaf := "", key
	if i := strings.LastIndexByte(key, '.'); i >= 0 {
		table, leaf = key[:i], key[i+1:]
	}
	isKey := regexp.MustCompile(`^\s*"?` + regexp.QuoteMeta(leaf) + `"?\s*=`)
	now, tableLine := "", 0
	for i, line := range strings.Split(string(c.source), "\n") {
		if t := strings.TrimSpace(line); strings.HasPrefix(t, "[") {
			now = strings.Trim(strings.SplitN(t, "]", 2)[0], "[ ")
			if now == key || now == table {
				tableLine = i + 1
			}
			continue
		}
		if now == table && isKey.MatchString(line) {
			return i + 1
		}
	}
	return tableLine
}

// largestFile bounds a decoder file, bytes: the largest that is built in is a hundredth of it.
const largestFile = 64 << 10

// Load parses and checks one decoder file; name is the file's name, for messages. The error is a *LoadError that
// lists every problem with its line and key: unknown and missing keys, values out of range, a pattern that does
// not compile or lacks the group digits.
func Load(name string, source []byte) (*Decoder, error) {
	if len(source) > largestFile {
		return nil, &LoadError{name, []Problem{{Says: fmt.Sprintf("found %d bytes; allowed: %d", len(source), largestFile)}}}
	}
	c := &check{source: source}
	var f file
	err := toml.NewDecoder(bytes.NewReader(source)).DisallowUnknownFields().Decode(&f)
	var unknown *toml.StrictMissingError
	var syntax *toml.DecodeError
	switch {
	case errors.As(err, &unknown):
		for i := range unknown.Errors {
			c.unknownKey(&unknown.Errors[i])
		}
	case errors.As(err, &syntax):
		row, _ := syntax.Position()
		says, mistyped := c.wrongType(row, syntax.Key())
		if !mistyped {
			says = strings.TrimPrefix(syntax.Error(), "toml: ")
		}
		c.problems = append(c.problems, Problem{row, strings.Join(syntax.Key(), "."), says})
		return nil, &LoadError{name, c.problems}
	case err != nil:
		return nil, &LoadError{name, []Problem{{Says: strings.TrimPrefix(err.Error(), "toml: ")}}}
	}
	d := c.decoder(&f)
	if len(c.problems) > 0 {
		return nil, &LoadError{name, c.problems}
	}
	sum := sha256.Sum256(source)
	d.Revision = hex.EncodeToString(sum[:6])
	return d, nil
}

// wrongType says that the value on the line given is of another type than its key's. ok is false where it is not: a file whose
// syntax is right can be read into a map without types.
func (c *check) wrongType(row int, key []string) (says string, ok bool) {
	found := ""
	if lines := strings.Split(string(c.source), "\n"); row >= 1 && row <= len(lines) {
		found = strings.TrimSpace(lines[row-1])
	}
	if _, value, is := strings.Cut(found, "="); is {
		found = strings.TrimSpace(value)
	}
	var untyped map[string]any
	if toml.Unmarshal(c.source, &untyped) != nil {
		if _, err := strconv.ParseInt(found, 0, 64); !errors.Is(err, strconv.ErrRange) { // the map has no room for it either
			return "", false
		}
	}
	return fmt.Sprintf("found %s; allowed: %s", found, allowedType(key)), true
}

// allowedType is the type of a key's value in words.
func allowedType(key []string) string {
	t := reflect.TypeFor[file]()
	for _, part := range key {
		switch t.Kind() {
		case reflect.Map:
			t = t.Elem()
		case reflect.Struct:
			for i := range t.NumField() {
				if f := t.Field(i); f.Tag.Get("toml") == part {
					t = f.Type
					break
				}
			}
		}
		if t.Kind() == reflect.Pointer {
			t = t.Elem()
		}
	}
	switch t.Kind() {
	case reflect.Int:
		return "a whole number, without quotes"
	case reflect.Float64:
		return "a number, without quotes"
	case reflect.String:
		return "a text in quotes"
	}
	return "a table, such as [line]"
}

func (c *check) unknownKey(e *toml.DecodeError) {
	row, _ := e.Position()
	key := e.Key()
	table, leaf := "", ""
	if n := len(key); n > 0 {
		table, leaf = strings.Join(key[:n-1], "."), key[n-1]
	}
	allowed := allowedKeys[table]
	says := "unknown key" + suggest(leaf, allowed)
	if len(allowed) > 0 {
		says += "; allowed here: " + strings.Join(allowed, ", ")
	}
	c.problems = append(c.problems, Problem{row, strings.Join(key, "."), says})
}

func (c *check) decoder(f *file) *Decoder {
	d := &Decoder{}
	if f.Name == nil || strings.TrimSpace(*f.Name) == "" {
		c.add("name", "missing; give the decoder a name in general words")
	} else {
		d.Name = *f.Name
	}
	families := []string{"text", "modbus-rtu", "scpi"}
	if f.Family == nil {
		c.add("family", "missing; one of %q", families)
		return d
	}
	d.Family = *f.Family
	c.line(f, &d.Line)
	tables := map[string]bool{"text": f.Text != nil, "modbus-rtu": f.Modbus != nil, "scpi": f.SCPI != nil}
	names := map[string]string{"text": "text", "modbus-rtu": "modbus", "scpi": "scpi"}
	for _, family := range families {
		if family != d.Family && tables[family] {
			c.add(names[family], "this table belongs to family %q; the file's family is %q", family, d.Family)
		}
		if family == d.Family && !tables[family] {
			c.add(names[family], "missing; a decoder of family %q needs the table [%s]", family, names[family])
			return d
		}
	}
	switch d.Family {
	case "text":
		c.frame(f, &d.Frame)
		c.checksum(f, &d.Checksum)
		if f.Request != nil {
			c.request(f, &d.Request)
		}
		d.reader = c.text(f.Text)
	case "modbus-rtu":
		c.modbus(f, d)
	case "scpi":
		c.scpi(f, d)
	default:
		c.add("family", "%s", oneOf(d.Family, families))
	}
	return d
}

// word notes a problem unless found is one of the allowed words.
func (c *check) word(key, found string, allowed ...string) {
	for _, a := range allowed {
		if found == a {
			return
		}
	}
	c.add(key, "%s", oneOf(found, allowed))
}

// notHere notes a problem with each table that only the family "text" has.
func (c *check) notHere(f *file, tables ...string) {
	present := map[string]bool{"frame": f.Frame != nil, "checksum": f.Checksum != nil}
	for _, table := range tables {
		if present[table] {
			c.add(table, "not allowed in a decoder of family %q", *f.Family)
		}
	}
}

// scale checks a factor; it must be a finite number other than 0.
func (c *check) scale(key string, s *float64) float64 {
	if s == nil {
		return 1
	}
	if *s == 0 || math.IsNaN(*s) || math.IsInf(*s, 0) {
		c.add(key, "found %v; allowed: any finite number but 0", *s)
		return 1
	}
	return *s
}
