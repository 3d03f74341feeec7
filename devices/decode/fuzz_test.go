package decode

import (
	"bytes"
	"testing"
	"time"
)

// FuzzFramer: whatever comes, in whatever pieces, nothing panics, no byte is lost, the pieces do not matter, and a
// reading's frame alone says the same again and proves itself where it has a checksum.
func FuzzFramer(f *testing.F) {
	all := Builtin()
	for i, d := range all {
		for _, s := range samples[d.Name] {
			f.Add(uint8(i), true, uint16(0), []byte(s.raw+s.raw))
			f.Add(uint8(i), false, uint16(3), []byte(s.raw[1:]+s.raw+"\x00\xff"+s.raw))
		}
	}
	f.Fuzz(func(t *testing.T, which uint8, known bool, cut uint16, data []byte) {
		d := all[int(which)%len(all)]
		at := 5 * time.Millisecond
		split := min(int(cut), len(data))
		whole := d.Stream(known)
		one := append(whole.Feed(at, data), whole.End(at+longestPause)...)
		accounted(t, one, data)
		parts := d.Stream(known)
		two := append(parts.Feed(at, data[:split]), parts.Feed(at, data[split:])...)
		two = append(two, parts.End(at+longestPause)...)
		if a, b := outcome(one), outcome(two); a != b {
			t.Errorf("whole: %s\nsplit at %d: %s", a, split, b)
		}
		for _, e := range one {
			if e.Value == nil {
				continue
			}
			again := d.Stream(true)
			alone := append(again.Feed(at, e.Raw), again.End(at+longestPause)...)
			if len(alone) != 1 || outcome(alone) != outcome([]Event{e}) {
				t.Errorf("%q alone: %s", e.Raw, outcome(alone))
			}
			if d.Checksum.Kind == "xor" && e.Value.IsNumber() {
				inner := bytes.Trim(e.Raw, "\x02\x03")
				if n := len(inner) - 2; xorHex(string(inner[:n])) != string(bytes.ToUpper(inner[n:])) {
					t.Errorf("%q became a number against its checksum", e.Raw)
				}
			}
		}
	})
}

// FuzzLoad: no file makes Load panic, and a decoder that loads can be used.
func FuzzLoad(f *testing.F) {
	files, err := builtinFiles.ReadDir("builtin")
	if err != nil {
		f.Fatal(err)
	}
	for _, file := range files {
		source, err := builtinFiles.ReadFile("builtin/" + file.Name())
		if err != nil {
			f.Fatal(err)
		}
		f.Add(source)
	}
	f.Add([]byte(checksummed))
	f.Add([]byte("name = 3\n[frame]\nend = 1979-05-27\n"))
	f.Fuzz(func(t *testing.T, source []byte) {
		d, err := Load("fuzz.toml", source)
		if err != nil {
			if err.Error() == "" {
				t.Error("an error without words")
			}
			return
		}
		data := []byte("+1.950mm\r\n+1.9")
		s := d.Stream(true)
		accounted(t, append(s.Feed(0, data), s.End(longestPause)...), data)
	})
}

// FuzzReadCapture: whatever is in the file, nothing panics, and a capture that was read is written as it is read.
func FuzzReadCapture(f *testing.F) {
	f.Add([]byte("# gauge: dial\n# decoder: decimal comma\n0 2b302c3132330d0a\n104.25 2b\n"))
	f.Add([]byte("#\n5 00\n4 00\nx 0\n1e3 zz\n-1 00"))
	f.Fuzz(func(t *testing.T, file []byte) {
		c, err := ReadCapture("fuzz.capture", bytes.NewReader(file))
		if err != nil {
			return
		}
		written := func(c *Capture) []byte {
			var b bytes.Buffer
			if _, err := c.WriteTo(&b); err != nil {
				t.Fatal(err)
			}
			return b.Bytes()
		}
		once := written(c)
		again, err := ReadCapture("written.capture", bytes.NewReader(once))
		if err != nil {
			t.Fatalf("%q was written as %q: %v", file, once, err)
		}
		if twice := written(again); !bytes.Equal(once, twice) {
			t.Errorf("%q was written as %q, then as %q", file, once, twice)
		}
	})
}
