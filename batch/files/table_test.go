package files

import (
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"

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
		{"value;size\n1;2\n", 1, []string{"value: is missing", "commas"}},
		{"value,value\n1,2\n", 1, []string{"value: is named twice"}},
		{"value\n1\n2\nthree\n", 4, []string{`value: found "three"`, "a number"}},
		{"value\n1\n\"0,31\"\n", 3, []string{`value: found "0,31"`}},
		{"value,size\n1,2\n,3\n", 3, []string{"value: found an empty cell"}},
		{"value\n1\n\n3\n", 3, []string{"value: found an empty cell"}},
		{"value\r\n\"1\"\r\n\r\n\r\n3", 3, []string{"value: found an empty cell"}},
		{"value\nNaN\n", 2, []string{"NaN"}},
		{"value\n-Inf\n", 2, []string{"-Inf"}},
		{"value\n1e999\n", 2, []string{"1e999"}},
		{"value\n0x10\n", 2, []string{"0x10"}},
		{"value\n1_000\n", 2, []string{"1_000"}},
		{"value\n1,2\n", 2, []string{"found 2 cells; allowed: 1 cell"}},
		{"value,size\n1,2\n3\n", 3, []string{"found 1 cell; allowed: 2 cells"}},
		{"value\n1\n\"2\n", 3, []string{"quotation mark"}},
		{"value\n1\n2\"\n", 3, []string{"quotation mark"}},
		{"value\n1\n\xff\xfe\n", 3, []string{"UTF-8"}},
		{"\xff\xfev\x00\n", 1, []string{"UTF-8"}},
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

// Whatever the bytes, a number read is finite and as many as there are rows.
func FuzzReadTable(f *testing.F) {
	f.Add([]byte("value\n1\n2\n"))
	f.Add([]byte("\ufeffa,\"value\"\n,-3e5\n"))
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
