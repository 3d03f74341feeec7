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
	"time"

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

const (
	defaultMaxBytes = 64
	mostBytes       = 4096 // in one frame
	mostIdle        = 200  // ms; a longer silence inside a frame is a cut
)

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

// Load parses and checks one decoder file; name is the file's name, for messages. The error is a *LoadError that
// lists every problem with its line and key: unknown and missing keys, values out of range, a pattern that does
// not compile or lacks the group digits.
func Load(name string, source []byte) (*Decoder, error) {
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

func (c *check) line(f *file, l *Line) {
	*l = Line{DataBits: 8, Parity: "none", StopBits: 1}
	if f.Line == nil || f.Line.Baud == nil {
		c.add("line.baud", "missing; bits per second, such as 9600")
		return
	}
	if l.Baud = *f.Line.Baud; l.Baud < 50 || l.Baud > 4_000_000 {
		c.add("line.baud", "found %d; allowed: 50 to 4000000", l.Baud)
	}
	if b := f.Line.DataBits; b != nil {
		if l.DataBits = *b; l.DataBits < 5 || l.DataBits > 8 {
			c.add("line.data_bits", "found %d; allowed: 5, 6, 7, 8", l.DataBits)
		}
	}
	if p := f.Line.Parity; p != nil {
		l.Parity = *p
		c.word("line.parity", *p, "none", "even", "odd", "mark", "space")
	}
	if s := f.Line.StopBits; s != nil {
		if l.StopBits = *s; l.StopBits != 1 && l.StopBits != 1.5 && l.StopBits != 2 {
			c.add("line.stop_bits", "found %v; allowed: 1, 1.5, 2", l.StopBits)
		}
	}
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

func (c *check) frame(f *file, fr *Frame) {
	fr.MaxBytes = defaultMaxBytes
	if f.Frame == nil {
		c.add("frame", "missing; give end, start and end, length, or idle_ms")
		return
	}
	w := f.Frame
	ways := 0
	if w.End != nil {
		ways++
		if fr.End = []byte(*w.End); len(fr.End) == 0 {
			c.add("frame.end", "found an empty text; give the bytes that end a frame, such as \"\\r\\n\"")
		}
	}
	if w.Length != nil {
		ways++
		if fr.Length = *w.Length; fr.Length < 1 || fr.Length > mostBytes {
			c.add("frame.length", "found %d; allowed: 1 to %d bytes, start and checksum included", fr.Length, mostBytes)
		}
	}
	if w.IdleMS != nil {
		ways++
		if fr.Idle = time.Duration(*w.IdleMS) * time.Millisecond; *w.IdleMS < 1 || *w.IdleMS > mostIdle {
			c.add("frame.idle_ms", "found %d; allowed: 1 to %d", *w.IdleMS, mostIdle)
		}
	}
	if ways != 1 {
		c.add("frame", "found %d of end, length and idle_ms; exactly one is allowed", ways)
	}
	if w.Start != nil {
		if fr.Start = []byte(*w.Start); len(fr.Start) == 0 {
			c.add("frame.start", "found an empty text; give the bytes that begin a frame or leave the key out")
		}
		if w.IdleMS != nil {
			c.add("frame.start", "not allowed beside idle_ms; it goes with end or with length")
		}
		if w.Length != nil && len(fr.Start) >= fr.Length {
			c.add("frame.length", "found %d; it must be longer than start (%d bytes)", fr.Length, len(fr.Start))
		}
	}
	if w.MaxBytes != nil {
		if fr.MaxBytes = *w.MaxBytes; fr.MaxBytes < 1 || fr.MaxBytes > mostBytes {
			c.add("frame.max_bytes", "found %d; allowed: 1 to %d", fr.MaxBytes, mostBytes)
		}
	}
}

func (c *check) checksum(f *file, s *Checksum) {
	if f.Checksum == nil {
		return
	}
	if f.Checksum.Kind == nil {
		c.add("checksum.kind", "missing; one of \"xor\", \"sum8\", \"lrc\", \"crc16-modbus\"")
	} else {
		s.Kind = *f.Checksum.Kind
		c.word("checksum.kind", s.Kind, "xor", "sum8", "lrc", "crc16-modbus")
	}
	if f.Checksum.Encoding == nil {
		c.add("checksum.encoding", "missing; one of \"hex\", \"byte\"")
	} else {
		s.Encoding = *f.Checksum.Encoding
		c.word("checksum.encoding", s.Encoding, "hex", "byte")
	}
	switch order := f.Checksum.Order; {
	case order != nil:
		s.Order = *order
		c.word("checksum.order", s.Order, highFirst, lowFirst)
	case s.Encoding == "byte":
		s.Order = lowFirst
	default:
		s.Order = highFirst
	}
}

func (c *check) request(f *file, r *Request) {
	w := f.Request
	if w.Bytes == nil || *w.Bytes == "" {
		c.add("request.bytes", "missing; the bytes that ask the gauge for a reading")
	} else {
		r.Bytes = []byte(*w.Bytes)
	}
	if w.EveryMS == nil {
		c.add("request.every_ms", "missing; ms between requests, 0 for only when asked")
	}
	c.timing(f, r)
}

// asks is the request of a family that makes its own bytes; [request] may only change its timing.
func (c *check) asks(f *file, r *Request, bytes []byte) {
	*r = Request{Bytes: bytes, Every: 200 * time.Millisecond}
	if f.Request != nil && f.Request.Bytes != nil {
		c.add("request.bytes", "not allowed; the family %q makes its own request", *f.Family)
	}
	c.timing(f, r)
}

func (c *check) timing(f *file, r *Request) {
	r.Timeout = 500 * time.Millisecond
	w := f.Request
	if w == nil {
		return
	}
	if w.EveryMS != nil {
		if r.Every = time.Duration(*w.EveryMS) * time.Millisecond; *w.EveryMS < 0 || *w.EveryMS > 3_600_000 {
			c.add("request.every_ms", "found %d; allowed: 0 to 3600000", *w.EveryMS)
		}
	}
	if w.TimeoutMS != nil {
		if r.Timeout = time.Duration(*w.TimeoutMS) * time.Millisecond; *w.TimeoutMS < 1 || *w.TimeoutMS > 60_000 {
			c.add("request.timeout_ms", "found %d; allowed: 1 to 60000", *w.TimeoutMS)
		}
	}
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
