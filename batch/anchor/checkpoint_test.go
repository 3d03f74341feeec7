package anchor

import (
	"archive/zip"
	"bytes"
	"fmt"
	"html"
	"strings"
	"testing"
	"time"

	"golang.org/x/mod/sumdb/tlog"

	"sagitta/batch"
)

var moment = time.Date(2026, 12, 1, 4, 23, 0, 500, time.UTC)

func key(t testing.TB) *Key {
	t.Helper()
	private, err := NewKey("bench 1")
	if err != nil {
		t.Fatal(err)
	}
	k, err := ReadKey(private + "\n")
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func signed(t testing.TB, k *Key, size int64) Checkpoint {
	t.Helper()
	c, err := k.Sign(size, tlog.RecordHash(fmt.Append(nil, size)), moment)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// A checkpoint has the lines of the open format, and is read as it was signed.
func TestCheckpointIsRead(t *testing.T) {
	k := key(t)
	c := signed(t, k, 455)
	lines := strings.Split(c.Note, "\n")
	want := []string{"station/bench-1", "455", tlog.RecordHash([]byte("455")).String(), "at 2026-12-01T04:23:00Z", "key " + k.Public, ""}
	for i := range want {
		if lines[i] != want[i] {
			t.Errorf("line %d is %q, want %q", i+1, lines[i], want[i])
		}
	}
	if len(lines) != 8 || !strings.HasPrefix(lines[6], "— station/bench-1 ") || lines[7] != "" {
		t.Errorf("it ends with %q", lines[6:])
	}
	got, err := Parse(c.Note)
	if err != nil || got != c {
		t.Errorf("%+v, %v; want %+v", got, err, c)
	}
	if err := got.Verify(k.Public); err != nil {
		t.Error(err)
	}
}

// A signature by another key, and one whose lines were changed, is told from a valid one.
func TestSignatureIsChecked(t *testing.T) {
	k := key(t)
	c := signed(t, k, 455)
	for _, e := range []error{c.Verify(key(t).Public), c.Verify("no key")} {
		if batch.KindOf(e) != batch.Mendable {
			t.Errorf("%v", e)
		}
	}
	for _, change := range [][2]string{{"455", "456"}, {"T04:", "T05:"}, {"station/bench-1\n", "station/bench-2\n"}} {
		forged, err := Parse(strings.Replace(c.Note, change[0], change[1], 1))
		if err != nil {
			t.Fatal(err)
		}
		if err := forged.Verify(k.Public); batch.KindOf(err) != batch.Mendable {
			t.Errorf("%q for %q: %v", change[1], change[0], err)
		}
	}
}

func TestWhatIsNoCheckpoint(t *testing.T) {
	c := signed(t, key(t), 455)
	for _, text := range []string{"", "x", strings.Replace(c.Note, "455", "0455", 1), strings.Replace(c.Note, "455", "0", 1), strings.Replace(c.Note, "\n\n", "\n", 1),
		strings.Replace(c.Note, c.Root.String(), "AAAA", 1), strings.Replace(c.Note, "at 2026", "at noon", 1)} {
		if _, err := Parse(text); batch.KindOf(err) != batch.Mendable {
			t.Errorf("%q: %v", text, err)
		}
	}
	for _, private := range []string{"", "PRIVATE+KEY+a+b+c", "secret"} {
		_, err := ReadKey(private)
		if batch.KindOf(err) != batch.Mendable || private != "" && strings.Contains(err.Error(), private) {
			t.Errorf("%q: %v", private, err)
		}
	}
}

func zipped(t testing.TB, name string, text []byte) []byte {
	t.Helper()
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	w, err := z.Create(name)
	if err == nil {
		_, err = w.Write(text)
	}
	if err == nil {
		err = z.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// Checkpoints are found wherever they stand line by line, as they were signed.
func TestCheckpointsAreFound(t *testing.T) {
	k := key(t)
	a, b := signed(t, k, 7), signed(t, k, 455)
	for name, file := range map[string][]byte{
		"alone":            []byte(b.Note),
		"from another OS":  []byte(strings.ReplaceAll(b.Note, "\n", "\r\n")),
		"without its end":  []byte(strings.TrimSuffix(b.Note, "\n")),
		"a witness's":      []byte("Checkpoints of 1 December\n\n" + b.Note + "\n" + a.Note + "\n" + b.Note),
		"copied out":       []byte(strings.ReplaceAll(b.Note, "\n\n", " \n")),
		"in a page":        []byte("<p>Small print</p><pre>" + strings.ReplaceAll(html.EscapeString(b.Note), "+", "&#43;") + "</pre><p>"),
		"amid bytes":       append(append([]byte{0, 255, 10}, b.Note...), 0, 200),
		"a copy's":         zipped(t, "checkpoint.txt", []byte(b.Note)),
		"a workbook's":     zipped(t, "docProps/core.xml", []byte("<dc:description>"+b.Note+"</dc:description>")),
		"a workbook's too": zipped(t, "xl/sharedStrings.xml", []byte(`<t xml:space="preserve">`+strings.ReplaceAll(b.Note, "\n", "&#xA;")+"</t>")),
	} {
		all, err := Find(bytes.NewReader(file), int64(len(file)))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if newest := all[len(all)-1]; newest != b || newest.Verify(k.Public) != nil || name == "a witness's" && len(all) != 2 {
			t.Errorf("%s: found %d, the newest %+v", name, len(all), newest)
		}
	}
	for name, file := range map[string][]byte{"empty": nil, "other words": []byte("nothing\n"), "an archive without": zipped(t, "other.txt", []byte(a.Note))} {
		if _, err := Find(bytes.NewReader(file), int64(len(file))); batch.KindOf(err) != batch.Absent {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Whatever a file holds, what is found in it can be read again as it stands.
func FuzzFind(f *testing.F) {
	c := signed(f, key(f), 455)
	f.Add([]byte(c.Note))
	f.Add([]byte("<pre>" + c.Note + "</pre>" + c.Note))
	f.Add(zipped(f, "checkpoint.txt", []byte(c.Note)))
	f.Fuzz(func(t *testing.T, file []byte) {
		all, err := Find(bytes.NewReader(file), int64(len(file)))
		if err != nil {
			return
		}
		for i := range all {
			if again, err := Parse(all[i].Note); err != nil || again != all[i] {
				t.Errorf("%q is read again as %+v, %v", all[i].Note, again, err)
			}
			if i > 0 && all[i].Size < all[i-1].Size {
				t.Error("they are not in the order of their sizes")
			}
		}
	})
}
