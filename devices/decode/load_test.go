package decode

import (
	"errors"
	"math/big"
	"math/rand/v2"
	"strings"
	"testing"
)

func TestBuiltinDecodersLoad(t *testing.T) {
	all, err := builtins()
	if err != nil {
		t.Fatal(err)
	}
	if len(all) < 8 {
		t.Errorf("%d built-in decoders, want at least 8", len(all))
	}
	for i, d := range all {
		found, err := Find(d.Name)
		if err != nil || found != d {
			t.Errorf("Find(%q) = %v, %v", d.Name, found, err)
		}
		if i > 0 && all[i-1].Name >= d.Name {
			t.Errorf("%q and %q are out of order or the same", all[i-1].Name, d.Name)
		}
		if len(d.Revision) != 12 || d.ID() != d.Name+"@"+d.Revision {
			t.Errorf("%q: revision %q, ID %q", d.Name, d.Revision, d.ID())
		}
	}
	if _, err := Find("decimal coma"); err == nil || !strings.Contains(err.Error(), `did you mean "decimal comma"`) {
		t.Errorf("a near miss: %v", err)
	}
}

// good is a decoder file with every key of the format; the cases below change one thing in it.
const good = `name = "signed decimal, millimetres"
family = "text"

[line]
baud = 9600
data_bits = 8
parity = "none"
stop_bits = 1

[frame]
end = "\r\n"
max_bytes = 64

[text]
pattern = '^(?P<sign>[+-])(?P<digits>\d+\.\d{3,5})(?P<unit>mm|in)?$'
default_unit = "mm"
scale = 1.0
[text.units]
mm = "mm"
in = "in"
[text.status]
OVER = "overload"
BAT = "low battery"

[checksum]
kind = "xor"
encoding = "hex"

[request]
bytes = "R\r"
every_ms = 200
timeout_ms = 500
`

func TestLoadReadsEveryKey(t *testing.T) {
	d := mustLoad(t, good)
	if d.Line != (Line{9600, 8, "none", 1}) || string(d.Frame.End) != "\r\n" || d.Frame.MaxBytes != 64 ||
		d.Checksum != (Checksum{"xor", "hex", "high-first"}) || string(d.Request.Bytes) != "R\r" ||
		d.Request.Every.Milliseconds() != 200 || d.Request.Timeout.Milliseconds() != 500 {
		t.Errorf("%+v", d)
	}
}

func TestLoadSaysWhatIsWrongAndWhere(t *testing.T) {
	for _, c := range []struct {
		old, new string
		says     string
	}{
		{`baud = 9600`, `bauds = 9600`, `t.toml:5: line.bauds: unknown key; did you mean "baud"?`},
		{`baud = 9600`, ``, `t.toml:4: line.baud: missing`},
		{`baud = 9600`, `baud = 12`, `t.toml:5: line.baud: found 12; allowed: 50 to 4000000`},
		{`baud = 9600`, `baud = "9600"`, `t.toml:5: line.baud: found "9600"; allowed: a whole number, without quotes`},
		{`baud = 9600`, `baud = 9600.5`, `line.baud: found 9600.5; allowed: a whole number`},
		{`baud = 9600`, `baud = 99999999999999999999`, `line.baud: found 99999999999999999999; allowed: a whole number`},
		{`max_bytes = 64`, `max_bytes = "x"`, `t.toml:12: frame.max_bytes: found "x"; allowed: a whole number`},
		{`stop_bits = 1`, `stop_bits = true`, `t.toml:8: line.stop_bits: found true; allowed: a number`},
		{`in = "in"`, `in = 3`, `t.toml:20: text.units.in: found 3; allowed: a text in quotes`},
		{`name = "signed decimal, millimetres"`, `name = 5`, `t.toml:1: name: found 5; allowed: a text in quotes`},
		{`[line]`, `[[line]]`, `t.toml:4: line: found [[line]]; allowed: a table`},
		{`parity = "none"`, `parity = ["none"]`, `line.parity: found ["none"]; allowed: a text in quotes`},
		{`[text.units]`, "units = 3\n[text.other]", `text.units: found 3; allowed: a table`},
		{`name = "signed`, "name = \"x\"\nname = \"signed", `t.toml:2: name: key name is already defined`},
		{`[line]`, "line = 5\n[linx]", `t.toml:4: line: found 5; allowed: a table`},
		{`parity = "none"`, `parity = "evn"`, `t.toml:7: line.parity: found "evn"; allowed: "none", "even", "odd", "mark", "space"; did you mean "even"?`},
		{`data_bits = 8`, `data_bits = 9`, `line.data_bits: found 9; allowed: 5, 6, 7, 8`},
		{`stop_bits = 1`, `stop_bits = 3`, `line.stop_bits: found 3; allowed: 1, 1.5, 2`},
		{`name = "signed decimal, millimetres"`, ``, `t.toml: name: missing`},
		{`family = "text"`, ``, `family: missing`},
		{`family = "text"`, `family = "test"`, `t.toml:2: family: found "test"`},
		{`family = "text"`, `family = "scpi"`, `this table belongs to family "text"`},
		{`end = "\r\n"`, ``, `t.toml:10: frame: found 0 of end, length and idle_ms; exactly one is allowed`},
		{`end = "\r\n"`, "end = \"\\r\"\nlength = 12", `found 2 of end, length and idle_ms`},
		{`end = "\r\n"`, `end = ""`, `frame.end: found an empty text`},
		{`end = "\r\n"`, `idle_ms = 500`, `frame.idle_ms: found 500; allowed: 1 to 200`},
		{`end = "\r\n"`, "idle_ms = 20\nstart = \"A\"", `frame.start: not allowed beside idle_ms`},
		{`end = "\r\n"`, "length = 2\nstart = \"AB\"", `frame.length: found 2; it must be longer than start`},
		{`max_bytes = 64`, `max_bytes = 0`, `frame.max_bytes: found 0; allowed: 1 to 4096`},
		{`(?P<digits>`, `(?P<digit>`, `did you mean "digits"?`},
		{`(?P<digits>\d+\.\d{3,5})`, `\d+`, `t.toml:15: text.pattern: has no group digits`},
		{`\d{3,5})`, `\d{3,5}`, `text.pattern: error parsing regexp`},
		{`pattern = '^`, `pattern = 'a)(b`, `text.pattern: `},
		{`default_unit = "mm"`, `default_unit = "cm"`, `text.default_unit: found "cm"; allowed: "mm", "in"`},
		{`scale = 1.0`, `scale = 0.0`, `text.scale: found 0; allowed: any finite number but 0`},
		{`scale = 1.0`, `scale = nan`, `text.scale: found NaN`},
		{`in = "in"`, `in = "inch"`, `t.toml:20: text.units.in: found "inch"; allowed: "mm", "in"; did you mean "in"?`},
		{`OVER = "overload"`, `OVER = ""`, `text.status: found an empty word or meaning`},
		{`kind = "xor"`, `kind = "crc16"`, `checksum.kind: found "crc16"`},
		{`kind = "xor"`, ``, `checksum.kind: missing`},
		{`encoding = "hex"`, `encoding = "hexa"`, `did you mean "hex"?`},
		{`encoding = "hex"`, "encoding = \"hex\"\norder = \"low\"", `t.toml:28: checksum.order: found "low"; allowed: "high-first", "low-first"`},
		{`bytes = "R\r"`, ``, `request.bytes: missing`},
		{`every_ms = 200`, ``, `request.every_ms: missing`},
		{`every_ms = 200`, `every_ms = -1`, `request.every_ms: found -1`},
		{`timeout_ms = 500`, `timeout_ms = 0`, `request.timeout_ms: found 0`},
		{`[checksum]`, `[checksums]`, `unknown key; did you mean "checksum"?`},
		{`scale = 1.0`, `scale = `, `t.toml:17: `},
	} {
		changed := strings.Replace(good, c.old, c.new, 1)
		if changed == good {
			t.Fatalf("%q is not in the good file", c.old)
		}
		d, err := Load("t.toml", []byte(changed))
		var bad *LoadError
		if d != nil || !errors.As(err, &bad) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q for %q: %v\n\twant %q in it", c.new, c.old, err, c.says)
		}
	}
}

func TestLoadListsEveryProblem(t *testing.T) {
	source := strings.NewReplacer(`baud = 9600`, `baud = 1`, `scale = 1.0`, `scale = 0`, `kind = "xor"`, `kind = "x"`).Replace(good)
	_, err := Load("t.toml", []byte(source))
	var bad *LoadError
	if !errors.As(err, &bad) || len(bad.Problems) != 3 {
		t.Errorf("want 3 problems: %v", err)
	}
}

func TestOtherFamiliesAreChecked(t *testing.T) {
	head := "name = \"probe\"\nfamily = \"FAMILY\"\n[line]\nbaud = 9600\n"
	modbus := "[modbus]\nunit = 1\nfunction = 4\nregister = 0\ntype = \"int32\"\nin_unit = \"mm\"\n"
	for _, c := range []struct{ family, table, says string }{
		{"modbus-rtu", strings.Replace(modbus, "unit = 1", "unit = 300", 1), `modbus.unit: found 300; allowed: 1 to 247`},
		{"modbus-rtu", strings.Replace(modbus, "function = 4", "function = 6", 1), `modbus.function: found 6; allowed: 3 to 4`},
		{"modbus-rtu", strings.Replace(modbus, "register = 0", "", 1), `modbus.register: missing`},
		{"modbus-rtu", strings.Replace(modbus, "int32", "int31", 1), `did you mean "int32"?`},
		{"modbus-rtu", modbus + "word_order = \"low\"\n", `modbus.word_order: found "low"`},
		{"modbus-rtu", modbus + "[frame]\nend = \"x\"\n", `frame: not allowed`},
		{"modbus-rtu", modbus + "[request]\nbytes = \"x\"\n", `request.bytes: not allowed`},
		{"scpi", "[scpi]\nquery = \"MEAS?\"\n", `scpi.in_unit: missing`},
		{"scpi", "[scpi]\nin_unit = \"mm\"\n", `scpi.query: missing`},
		{"scpi", "[scpi]\nquery = \"MEAS?\"\nin_unit = \"cm\"\n", `allowed: "mm", "in"`},
		{"scpi", "[scpi]\nquery = \"MEAS?\"\nin_unit = \"mm\"\n[checksum]\nkind = \"xor\"\nencoding = \"hex\"\n", `checksum: not allowed`},
		{"scpi", "", `needs the table [scpi]`},
	} {
		_, err := Load("t.toml", []byte(strings.Replace(head, "FAMILY", c.family, 1)+c.table))
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s %q: %v, want %q in it", c.family, c.table, err, c.says)
		}
	}
}

// The check value of CRC-16/MODBUS over "123456789" is 0x4B37 (the catalogue of parametrised CRC algorithms; from
// memory, and confirmed with an implementation in another language). The others are added up by hand: 0x31 to 0x39
// sum to 0x1DD, their exclusive or is 0x31.
func TestChecksums(t *testing.T) {
	b := []byte("123456789")
	if got := crc16Modbus(b); got != 0x4B37 {
		t.Errorf("crc16-modbus %04X, want 4B37", got)
	}
	if got := sum8(b); got != 0xDD {
		t.Errorf("sum8 %02X, want DD", got)
	}
	if got := lrc8(b); got != 0x23 {
		t.Errorf("lrc %02X, want 23", got)
	}
	if got := xor8(b); got != 0x31 {
		t.Errorf("xor %02X, want 31", got)
	}
}

func TestParseDecimal(t *testing.T) {
	for _, c := range []struct{ sent, digits, exact string }{
		{"+0.0120", "+0.0120", "3/250"},
		{"-.0120", "-.0120", "-3/250"},
		{"5.", "5.", "5"},
		{"- 1,50", "-1,50", "-3/2"},
		{"007", "007", "7"},
		{"-0.000", "-0.000", "0"},
		{"+1234567890123456789", "+1234567890123456789", "1234567890123456789"}, // no room in eighteen figures
		{"-0.1234567890123456789", "-0.1234567890123456789", "-1234567890123456789/10000000000000000000"},
		{"", "", ""}, {"+", "", ""}, {".", "", ""}, {"1.2.3", "", ""}, {"1,2.3", "", ""}, {"1e3", "", ""},
		{"0x1F", "", ""}, {"1/2", "", ""}, {"1_000", "", ""}, {"+-1", "", ""}, {"Inf", "", ""}, {"1\t", "", ""},
	} {
		digits, value, ok := parseDecimal(c.sent)
		if ok != (c.exact != "") || ok && (digits != c.digits || value.rat().RatString() != c.exact) {
			t.Errorf("%q: %q, %v, %v; want %q, %s", c.sent, digits, value, ok, c.digits, c.exact)
		}
	}
}

// Every number and its product are rounded once: the short way and the way through fractions agree.
func TestNumbersAreRoundedOnce(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 20_000 {
		n := number{m: r.Int64N(1<<uint(1+r.IntN(62))) - r.Int64N(1<<uint(1+r.IntN(62))), places: r.IntN(26)}
		by := number{m: r.Int64N(2001) - 1000, places: r.IntN(8)}
		for _, x := range []number{n, n.times(by), n.times(mmPerInch), number{exact: n.rat()}.times(by)} {
			if want, _ := x.rat().Float64(); x.float() != want {
				t.Fatalf("%v: %v, want %v", x.rat(), x.float(), want)
			}
		}
		if a, b := n.times(by).rat(), new(big.Rat).Mul(n.rat(), by.rat()); a.Cmp(b) != 0 {
			t.Fatalf("%v times %v: %v, want %v", n.rat(), by.rat(), a, b)
		}
	}
}
