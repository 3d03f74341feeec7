package files

import (
	"encoding/binary"
	"encoding/csv"
	"errors"
	"fmt"
	"reflect"
	"strconv"
	"strings"
	"testing"
	"unicode/utf16"
	"unicode/utf8"

	"sagitta/batch"
)

// Quoting, doubled marks and line breaks inside a cell after RFC 4180, section 2.
func TestCellsAreReadByTheirColumnsName(t *testing.T) {
	text := "\ufeffnote, value ,part\r\n\"a, b\",0.31,QM-1\r\n\r\n\"two\nlines\", -1e-3 , QM-2 \r\n\"said \"\"so\"\"\",+4.,QM-3"
	table, err := ReadTable("necks.csv", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	values, err := table.Numbers("value")
	if want := []float64{0.31, -0.001, 4}; err != nil || !reflect.DeepEqual(values, want) {
		t.Errorf("values %v, error %v; want %v", values, err, want)
	}
	parts, err := table.Labels("part")
	if want := []string{"QM-1", "QM-2", "QM-3"}; err != nil || !reflect.DeepEqual(parts, want) {
		t.Errorf("parts %q, error %v; want %q", parts, err, want)
	}
	notes, err := table.Labels("note")
	if want := []string{"a, b", "two\nlines", `said "so"`}; err != nil || !reflect.DeepEqual(notes, want) {
		t.Errorf("notes %q, error %v; want %q", notes, err, want)
	}
	if !table.Has("part") || table.Has("appraiser") || table.Rows() != 3 {
		t.Errorf("has part %v, has appraiser %v, rows %d", table.Has("part"), table.Has("appraiser"), table.Rows())
	}
	if got := table.Fault(2, "value", "too high").Error(); got != "necks.csv:6: value: too high" {
		t.Errorf("fault of the third row reads %q", got)
	}
}

func TestWhatIsWrongIsSaidWithLineAndColumn(t *testing.T) {
	cases := []struct {
		text string
		line int
		says []string
	}{
		{"", 1, []string{"no values"}},
		{"value\n", 1, []string{"no values"}},
		{"size\n1\n", 1, []string{"value: is missing", "size"}},
		{"value|size\n1|2\n", 1, []string{"value: is missing", "commas, semicolons or tabs"}},
		{"Value,size\n1,2\n", 1, []string{"value: is missing", `did you mean "Value"?`}},
		{"value,value\n1,2\n", 1, []string{"value: is named twice"}},
		{"value\n1\n2\nthree\n", 4, []string{`value: found "three"`, "a number"}},
		{"value,size\n1,2\n\"0,31\",2\n", 3, []string{`value: found "0,31"; allowed: a number, such as 0.31`}},
		{"value;size\n0,3;2\n0.31;2\n", 3, []string{`value: found "0.31"`, "decimals with ',', as further up"}},
		{"value;size\n0.3;2\n0,31;2\n", 3, []string{`value: found "0,31"`, "decimals with '.', as further up"}},
		{"value\n1.234,5\n", 2, []string{`value: found "1.234,5"`, "without a sign between thousands"}},
		{"value\n0,3,1\n", 2, []string{`value: found "0,3,1"`}},
		{"value,size\n1,2\n,3\n", 3, []string{"value: found an empty cell"}},
		{"value\n1\n\n3\n", 3, []string{"value: found an empty cell"}},
		{"value\r\n\"1\"\r\n\r\n\r\n3", 3, []string{"value: found an empty cell"}},
		{"value\nNaN\n", 2, []string{"NaN"}},
		{"value\n-Inf\n", 2, []string{"-Inf"}},
		{"value\n1e999\n", 2, []string{"1e999"}},
		{"value\n0x10\n", 2, []string{"0x10"}},
		{"value\n1_000\n", 2, []string{"1_000"}},
		{"value,size\n1,2,3\n", 2, []string{"found 3 cells; allowed: 2 cells"}},
		{"value,size\n1,2\n3\n", 3, []string{"found 1 cell; allowed: 2 cells"}},
		{"value\n1\n\"2\n", 3, []string{"quotation mark"}},
		{"value\n1\n2\"\n", 3, []string{"quotation mark"}},
		{"value\n1\n\xff\xfe\n", 3, []string{"UTF-8"}},
		{"\xff\xfev\x00\n", 1, []string{"half of a character at the end", "UTF-16"}},
		{"\xff\xfev\x00\n\x00\x3d\xd8\n\x00", 2, []string{"half of a character", "UTF-16"}},
		{strings.Repeat("n,", 1000) + "value\n", 1, []string{"found 1001 cells; allowed: 1000 columns"}},
	}
	for _, c := range cases {
		table, err := ReadTable("f.csv", []byte(c.text))
		if err == nil {
			_, err = table.Numbers("value")
		}
		var fault batch.FileError
		if !errors.As(err, &fault) {
			t.Errorf("%q: error %v, want a FileError", c.text, err)
			continue
		}
		if fault.Line != c.line {
			t.Errorf("%q: line %d in %q, want %d", c.text, fault.Line, err, c.line)
		}
		for _, words := range c.says {
			if !strings.Contains(err.Error(), words) {
				t.Errorf("%q: %q does not say %q", c.text, err, words)
			}
		}
	}
	table, err := ReadTable("f.csv", []byte("\nvalue\n1\n2\n\n\r\n"))
	if err != nil || table.Rows() != 2 {
		t.Errorf("empty lines about the values: %v", err)
	}
	table, err = ReadTable("f.csv", []byte("part,value\n ,1\n"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := table.Labels("part"); err == nil || err.Error() != "f.csv:2: part: found an empty cell; allowed: a name or a number" {
		t.Errorf("empty label: %v", err)
	}
}

// The same table in every form that spreadsheets write: separators, decimal signs, ends of lines, encodings, with and without
// a byte order mark (RFC 4180; The Unicode Standard, 3.10).
func TestEveryFormOfATable(t *testing.T) {
	for _, signs := range []struct{ separator, decimal string }{{",", "."}, {";", ","}, {";", "."}, {"\t", ","}, {"\t", "."}} {
		for _, end := range []string{"\n", "\r\n"} {
			for name, encode := range encodings {
				text := "note;höhe\n\"a, b; c\";0,31\n−1 µm;-1,5e-3\n;2\n"
				text = strings.NewReplacer(";", signs.separator, "0,31", "0"+signs.decimal+"31", "1,5e", "1"+signs.decimal+"5e", "\n", end).Replace(text)
				table, err := ReadTable("f.csv", encode(text))
				if err != nil {
					t.Errorf("%q, %s: %v", text, name, err)
					continue
				}
				table.Call("value", "höhe")
				values, err := table.Numbers("value")
				if want := []float64{0.31, -0.0015, 2}; err != nil || !reflect.DeepEqual(values, want) {
					t.Errorf("%q, %s: values %v, error %v; want %v", text, name, values, err, want)
				}
			}
		}
	}
}

// encodings are how a text becomes bytes.
var encodings = map[string]func(string) []byte{
	"UTF-8":                             func(s string) []byte { return []byte(s) },
	"UTF-8 with a mark":                 func(s string) []byte { return []byte("\ufeff" + s) },
	"UTF-16, low byte first, marked":    func(s string) []byte { return inUTF16(binary.LittleEndian, "\ufeff"+s) },
	"UTF-16, high byte first, marked":   func(s string) []byte { return inUTF16(binary.BigEndian, "\ufeff"+s) },
	"UTF-16, low byte first, unmarked":  func(s string) []byte { return inUTF16(binary.LittleEndian, s) },
	"UTF-16, high byte first, unmarked": func(s string) []byte { return inUTF16(binary.BigEndian, s) },
}

func inUTF16(order binary.AppendByteOrder, s string) (b []byte) {
	for _, unit := range utf16.Encode([]rune(s)) {
		b = order.AppendUint16(b, unit)
	}
	return b
}

func TestSeparatorIsFound(t *testing.T) {
	for _, c := range []struct {
		text string
		want rune
	}{
		{"value\n0,31\n", noSeparator},
		{"\r\nvalue\r\n1\r\n", noSeparator},
		{"value,size\n1,2\n", ','},
		{"height, mm;size, mm\n0,31;0,5\n", ';'},
		{"\"height; mm\",size\n1,2\n", ','},
		{"note; remark,value\na,1\n", ','},
		{"value;size\n1\n", ';'},
		{"value\tsize; all\n1\t2\n", '\t'},
		{"value,\"a\nb\",\"c\"\"d\"\n1,2,3\n", ','},
	} {
		if got := findSeparator([]byte(c.text)); got != c.want {
			t.Errorf("%q: found %q, want %q", c.text, got, c.want)
		}
	}
}

func TestTooLongAFileIsNotRead(t *testing.T) {
	if _, text, err := read("f.csv", strings.NewReader("value\n1\n"), 8); err != nil || len(text) != 8 {
		t.Errorf("a file of 8 bytes: %q, %v", text, err)
	}
	_, _, err := read("f.csv", strings.NewReader(strings.Repeat("1", 1<<20+1)), 1<<20)
	if want := "f.csv: found more than 1048576 bytes; allowed: 1 MiB: divide the file"; err == nil || err.Error() != want {
		t.Errorf("a file of 1 MiB and a byte: %v, want %s", err, want)
	}
}

// Whatever the bytes, a number read is finite and as many as there are rows.
func FuzzReadTable(f *testing.F) {
	f.Add([]byte("value\n1\n2\n"))
	f.Add([]byte("\ufeff\"value\";b\n-3,5;\n"))
	f.Add([]byte("\xff\xfev\x00a\x00l\x00u\x00e\x00\n\x001\x00"))
	f.Fuzz(func(t *testing.T, text []byte) {
		table, err := ReadTable("f.csv", text)
		if err != nil {
			return
		}
		values, err := table.Numbers("value")
		if err == nil && len(values) != table.Rows() {
			t.Fatalf("%d values in %d rows", len(values), table.Rows())
		}
		for _, v := range values {
			if v-v != 0 {
				t.Fatalf("read %v", v)
			}
		}
	})
}

// What is written comes back: any two texts as the cells of a row, a number beside them, in every form.
func FuzzWrittenTableReads(f *testing.F) {
	f.Add("QM-1", "a \"b\"; c, d\te\nf", 0.31)
	f.Add("−", "𝄞", -1e-300)
	f.Fuzz(func(t *testing.T, first, second string, v float64) {
		// Cells lose the space around them, and a lone return is no sign that a cell can keep (encoding/csv).
		clean := func(s string) string { return strings.TrimSpace(strings.NewReplacer("\r", "", "\x00", "").Replace(s)) }
		if first, second = clean(first), clean(second); first == "" || second == "" || !utf8.ValidString(first) || !utf8.ValidString(second) || strings.ContainsRune(first+second, '\ufeff') || v-v != 0 {
			return
		}
		for _, separator := range separators {
			var text strings.Builder
			w := csv.NewWriter(&text)
			w.Comma = separator
			number := strconv.FormatFloat(v, 'g', -1, 64)
			if separator != ',' {
				number = strings.Replace(number, ".", ",", 1)
			}
			if err := errors.Join(w.Write([]string{"first", "second", "value"}), w.Write([]string{first, second, number})); err != nil {
				t.Fatal(err)
			}
			w.Flush()
			for name, encode := range encodings {
				table, err := ReadTable("f.csv", encode(text.String()))
				if err != nil {
					t.Fatalf("%q, %s: %v", text.String(), name, err)
				}
				a, err := table.Labels("first")
				b, err2 := table.Labels("second")
				n, err3 := table.Numbers("value")
				if err := errors.Join(err, err2, err3); err != nil || a[0] != first || b[0] != second || n[0] != v {
					t.Fatalf("%q, %s: read %q, %q, %v, error %v", text.String(), name, a, b, n, err)
				}
			}
		}
	})
}

func BenchmarkMillionRows(b *testing.B) {
	var text strings.Builder
	text.WriteString("subgroup,value\n")
	for i := range 1_000_000 {
		fmt.Fprintf(&text, "%d,0.%06d\n", i/5, i)
	}
	b.SetBytes(int64(text.Len()))
	for b.Loop() {
		table, err := ReadTable("f.csv", []byte(text.String()))
		if err != nil {
			b.Fatal(err)
		}
		if _, err := table.Numbers("value"); err != nil {
			b.Fatal(err)
		}
	}
}
