package decode

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

var update = flag.Bool("update", false, "write the expected readings of the captures anew; say why in the commit")

// capturesIn is where the recordings are, with the decoder files of those that need one of their own.
const capturesIn = "../../testdata/captures/"

// TestCaptures replays every recording. The expected lines beside them were written by hand from the format (in
// testdata/captures/make, or beside the older ones), not by the decoder. Every built-in decoder needs a clean recording
// and a damaged one.
func TestCaptures(t *testing.T) {
	files, err := filepath.Glob(capturesIn + "*.capture")
	if err != nil || len(files) < 40 {
		t.Fatalf("%d captures, %v", len(files), err)
	}
	clean, damaged := map[string]int{}, map[string]int{}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".capture"), func(t *testing.T) {
			c := readFile(t, file)
			var header []string
			for _, h := range c.Header {
				header = append(header, h[0])
				if h[1] == "" {
					t.Errorf("header line %q is empty", h[0])
				}
			}
			if got := strings.Join(header, " "); got != "gauge decoder line shows made" {
				t.Errorf("header lines %q", got)
			}
			d := decoderOf(t, c)
			var got bytes.Buffer
			if err := WriteJSON(&got, c.Decode(d)); err != nil {
				t.Fatal(err)
			}
			expected := strings.TrimSuffix(file, "capture") + "expected.jsonl"
			if *update {
				if err := os.WriteFile(expected, got.Bytes(), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(expected)
			if err != nil {
				t.Fatal(err)
			}
			if got.String() != string(want) {
				t.Errorf("got\n%swant\n%s", got.String(), want)
			}
			if strings.Contains(string(want), `"fault"`) {
				damaged[d.Name]++
			} else {
				clean[d.Name]++
			}
		})
	}
	for _, d := range Builtin() {
		if clean[d.Name] == 0 || damaged[d.Name] == 0 {
			t.Errorf("%s: %d clean captures and %d damaged ones, want one of each", d.Name, clean[d.Name], damaged[d.Name])
		}
	}
	expected, err := filepath.Glob(capturesIn + "*.expected.jsonl")
	if err != nil || len(expected) != len(files) {
		t.Errorf("%d files of expected readings beside %d captures, %v", len(expected), len(files), err)
	}
}

// decoderOf is the decoder that a capture names: a built-in one, or a file beside the captures.
func decoderOf(t *testing.T, c *Capture) *Decoder {
	t.Helper()
	name := c.Header[1][1]
	if !strings.HasSuffix(name, ".toml") {
		d, err := Find(name)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	source, err := os.ReadFile(capturesIn + name)
	if err != nil {
		t.Fatal(err)
	}
	d, err := Load(name, source)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func readFile(t *testing.T, file string) *Capture {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	c, err := ReadCapture(file, f)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestCaptureWritesWhatItReads(t *testing.T) {
	files, err := filepath.Glob(capturesIn + "*.capture")
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		var got bytes.Buffer
		n, err := readFile(t, file).WriteTo(&got)
		if err != nil || got.String() != string(want) || n != int64(len(want)) {
			t.Errorf("%s: %d bytes, %v\n%s", file, n, err, got.String())
		}
	}
}

func TestCaptureKeepsMicrosecondsAndOneLineHeaders(t *testing.T) {
	c := &Capture{Header: [][2]string{{"gauge", "dial\r\nindicator"}},
		Chunks: []Chunk{{1234 * time.Microsecond, []byte("a")}, {time.Hour, nil}, {2 * time.Hour, []byte("b")}}}
	var b bytes.Buffer
	if _, err := c.WriteTo(&b); err != nil {
		t.Fatal(err)
	}
	if want := "# gauge: dial  indicator\n1.234 61\n7200000 62\n"; b.String() != want {
		t.Errorf("%q, want %q", b.String(), want)
	}
	again, err := ReadCapture("again", &b)
	if err != nil || again.Chunks[0].At != 1234*time.Microsecond {
		t.Errorf("%+v, %v", again, err)
	}
}

func TestReadCaptureSaysWhatIsWrongAndWhere(t *testing.T) {
	for _, c := range []struct{ text, says string }{
		{"# gauge: x\n0 2b\n104\n", "c.capture:3: found 1 fields"},
		{"0 2b 30\n", "c.capture:1: found 3 fields"},
		{"x 2b\n", `c.capture:1: offset "x"`},
		{"-1 2b\n", `offset "-1"`},
		{"NaN 2b\n", `offset "NaN"`},
		{"0 2\n", `c.capture:1: bytes "2"`},
		{"0 zz\n", `bytes "zz"`},
		{"10 2b\n\n9 2b\n", "c.capture:3: offset 9 ms is before the line above"},
		{"x 2b\n0 zz\n", "c.capture:2: bytes"},
	} {
		_, err := ReadCapture("c.capture", strings.NewReader(c.text))
		var bad *LoadError
		if !errors.As(err, &bad) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q: %v, want %q in it", c.text, err, c.says)
		}
	}
}

// However the bytes were read, a capture says the same.
func TestRechunkingChangesNothing(t *testing.T) {
	files, err := filepath.Glob(capturesIn + "*.capture")
	if err != nil {
		t.Fatal(err)
	}
	random := rand.New(rand.NewPCG(1, 2))
	for _, file := range files {
		c := readFile(t, file)
		d := decoderOf(t, c)
		pieces := &Capture{}
		for _, chunk := range c.Chunks {
			for b := chunk.Bytes; len(b) > 0; {
				n := 1 + random.IntN(len(b))
				pieces.Chunks = append(pieces.Chunks, Chunk{chunk.At, b[:n]})
				b = b[n:]
			}
		}
		var a, b bytes.Buffer
		if err := errors.Join(WriteJSON(&a, c.Decode(d)), WriteJSON(&b, pieces.Decode(d))); err != nil {
			t.Fatal(err)
		}
		if a.String() != b.String() {
			t.Errorf("%s:\n%s\nin pieces:\n%s", file, a.String(), b.String())
		}
	}
}

func TestJSONKeysAreTheContract(t *testing.T) {
	d := mustLoad(t, strings.Replace(good, "[checksum]\nkind = \"xor\"\nencoding = \"hex\"\n", "", 1))
	s := d.Stream(true)
	var b bytes.Buffer
	events := append(s.Feed(104*time.Millisecond, []byte("+0.0120in\r\nOVER\r\n")), s.Feed(230500*time.Microsecond, []byte("+0\r\n"))...)
	if err := WriteJSON(&b, events); err != nil {
		t.Fatal(err)
	}
	want := `{"at_ms":104,"value":0.012,"unit":"in","value_mm":0.3048,"channel":"","status":""}
{"at_ms":104,"value":null,"unit":"","value_mm":null,"channel":"","status":"overload"}
{"at_ms":230.5,"fault":"garbled","bytes":"2b30"}
`
	if b.String() != want {
		t.Errorf("got\n%swant\n%s", b.String(), want)
	}
	for line := range strings.Lines(b.String()) {
		if !json.Valid([]byte(line)) {
			t.Errorf("no JSON: %s", line)
		}
	}
}
