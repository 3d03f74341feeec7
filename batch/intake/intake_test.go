package intake

import (
	"encoding/binary"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"sagitta/batch/files"
	"sagitta/inspect"
)

func read(t *testing.T, elements ...string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(append([]string{"..", "..", "testdata"}, elements...)...))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func setup(t *testing.T) (*files.Mapping, Options) {
	t.Helper()
	m, err := files.ReadMapping("old-line.toml", read(t, "import", "old-line.toml"))
	if err != nil {
		t.Fatal(err)
	}
	spec, err := files.ReadSpec("qm-bolt-648.toml", read(t, "demo", "qm-bolt-648.toml"))
	if err != nil {
		t.Fatal(err)
	}
	return m, Options{File: "old-line.csv", Spec: spec.WithDefaults(), Location: time.FixedZone("shop", 3600),
		Taken: func(serial string) (string, bool) { return "QM-2600", serial == "QX-0099" }}
}

// Worked out by hand from the file: 0.0182 in is 0.46228 mm, above 0.36 mm.
func TestOldFileIsRead(t *testing.T) {
	m, opt := setup(t)
	stories, faults := Read(m, read(t, "import", "old-line.csv"), opt)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	var serials []string
	for _, s := range stories {
		serials = append(serials, s.Serial)
	}
	if want := []string{"QX-0001", "QX-0002", "QX-0003", "QX-0004"}; !slices.Equal(serials, want) {
		t.Fatalf("serial numbers %v, want %v", serials, want)
	}
	two := stories[1]
	if len(two.Attempts) != 2 || two.Attempts[0].Verdicts[0].Disposition != inspect.Rework || two.Attempts[1].Verdicts[0].Disposition != inspect.Pass {
		t.Fatalf("QX-0002: %+v", two)
	}
	a := two.Attempts[0]
	if want := time.Date(2025, 2, 3, 7, 21, 0, 0, time.UTC); !a.StartedAt.Equal(want) || a.Inspector != "Wren Halloway" || *a.Climate.HumidityPercent != 38 {
		t.Errorf("QX-0002 at %v by %s", a.StartedAt, a.Inspector)
	}
	c := a.Verdicts[0].Result.Characteristics[0]
	if math.Abs(*c.Value-0.46228) > 1e-12 || math.Abs(*c.U-0.0127) > 1e-12 || *c.Upper != 0.36 || c.Zone != inspect.Nonconforming || c.Fret != 7 {
		t.Errorf("relief of QX-0002: %+v", c)
	}
	four := stories[3].Attempts[0].Verdicts[0]
	if four.Disposition != inspect.Scrap || four.DecidedBy != "Maud Tesseler" || !strings.Contains(four.Reason, "line 6") ||
		four.Result.Characteristics[1].Zone != inspect.NotMeasured || four.Result.Disposition != inspect.Repair {
		t.Errorf("QX-0004: %+v", four)
	}
}

// Every bad row is told at once, with its line and column.
func TestEveryBadRowIsTold(t *testing.T) {
	m, opt := setup(t)
	head := strings.SplitN(string(read(t, "import", "old-line.csv")), "\n", 2)[0] + "\n"
	opt.Batch.Pattern = `QX-\d{4}`
	rows := []struct{ row, column, words string }{
		{`QX-0001;31.02.2025;08:15;Wren;0,011;0,0118;0,12;1,91;OK;38;`, "Date", "31.02.2025"},
		{`QX-0002;03.02.2025;08:15;;0,011;0,0118;0,12;1,91;OK;38;`, "Who", "a name"},
		{`QX-0003;03.02.2025;08:15;Wren;0.011;0,0118;0,12;1,91;OK;38;`, "Relief E (thou side)", `"0.011"`},
		{`QX-0004;03.02.2025;08:15;Wren;0,011;0,0118;0,12;1,91;fine;38;`, "Result", `"fine"; allowed: one of bad, concession, ok`},
		{`QX-0005;03.02.2025;08:15;Wren;0,011;0,0118;0,12;1,91;OK;380;`, "RH %", "found 380; allowed: 0 to 100"},
		{`QX-0006;03.02.2025;08:15;Wren;0,011`, "", "found 5 cells; allowed: 11"},
		{`QY-0007;03.02.2025;08:15;Wren;0,011;0,0118;0,12;1,91;OK;38;`, "Neck", "pattern"},
		{`QX-0099;03.02.2025;08:15;Wren;0,011;0,0118;0,12;1,91;OK;38;`, "Neck", "batch QM-2600"},
		{`QX-0008;03.02.2025;08:15;Wren;;0,0118;0,12;1,91;;38;`, "Result", "is not measured; needed: a disposition"},
		{`QX-0009;03.02.2025;08:15;Wren;0,011;0,0118;NaN;1,91;OK;38;`, "Twist", `"NaN"`},
	}
	text := head
	for _, r := range rows {
		text += r.row + "\n"
	}
	text += "QX-0010;04.02.2025;08:15;Wren;0,011;0,0118;0,12;1,91;OK;38;\nQX-0010;04.02.2025;08:15;Wren;0,011;0,0118;0,12;1,91;OK;38;\n"
	stories, faults := Read(m, []byte(text), opt)
	if stories != nil || len(faults) != len(rows)+1 {
		t.Fatalf("%d faults, want %d: %v", len(faults), len(rows)+1, faults)
	}
	for i, r := range rows {
		if f := faults[i]; f.Line != i+2 || f.Field != r.column || !strings.Contains(f.Words(), r.words) {
			t.Errorf("row %d: got %v, want line %d, %s, %s", i+1, f, i+2, r.column, r.words)
		}
	}
	if f := faults[len(rows)]; !strings.Contains(f.Words(), "later than the inspection of QX-0010 on line 12") {
		t.Errorf("twice at one time: %v", f)
	}
}

func TestMappingIsChecked(t *testing.T) {
	for name, c := range map[string]struct{ from, to, want string }{
		"unknown key":      {`decimal = ","`, `decimals = ","`, "decimal"},
		"unit":             {`unit = "deg"`, `unit = "mm"`, `measurement[3].unit: found "mm"; allowed: one of ["deg"]`},
		"characteristic":   {`characteristic = "twist"`, `characteristic = "twists"`, `measurement[3].characteristic`},
		"format":           {`"DD.MM.YYYY"`, `"dd.mm.jjjj"`, "date_format"},
		"decimal":          {`decimal = ","`, `decimal = ";"`, "decimal"},
		"word":             {`ok = "pass"`, `ok = "good"`, `words.ok: found good; allowed: one of ["pass"`},
		"time's format":    {`time_format = "hh:mm"`, ``, "belong together"},
		"no serial number": {`serial = "Neck"`, ``, "serial"},
	} {
		text := strings.Replace(string(read(t, "import", "old-line.toml")), c.from, c.to, 1)
		if _, err := files.ReadMapping("old-line.toml", []byte(text)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %q", name, err, c.want)
		}
	}
	m, opt := setup(t)
	m.Measurements[3].String = 9
	if _, faults := Read(m, read(t, "import", "old-line.csv"), opt); len(faults) != 1 || !strings.Contains(faults[0].Error(), "string of action: found 9") {
		t.Errorf("a string that the model does not have: %v", faults)
	}
	m.Measurements[3].String, m.Inspector = 6, "Inspector"
	if _, faults := Read(m, read(t, "import", "old-line.csv"), opt); len(faults) != 1 || faults[0].Line != 1 || faults[0].Field != "Inspector" {
		t.Errorf("a column that the file does not have: %v", faults)
	}
}

func FuzzRead(f *testing.F) {
	f.Add("Neck;Date;Time;Who;Relief E (thou side);Relief e;Twist;Action 6;Result;RH %\nQX-1;03.02.2025;08:15;W;0,01;0,01;0;1,9;OK;40\n")
	f.Add("\ufeff\"Neck")
	mapping, err := os.ReadFile("../../testdata/import/old-line.toml")
	if err != nil {
		f.Fatal(err)
	}
	m, err := files.ReadMapping("m", mapping)
	if err != nil {
		f.Fatal(err)
	}
	spec := &inspect.Spec{Name: "x", Neck: inspect.NeckSpec{Frets: 22, JointFret: 17}, Strings: []inspect.String{{Number: 6}}}
	f.Fuzz(func(t *testing.T, text string) {
		stories, faults := Read(m, []byte(text), Options{File: "f", Spec: spec.WithDefaults(), Location: time.UTC, Taken: func(string) (string, bool) { return "", false }})
		if (len(stories) == 0) == (len(faults) == 0) {
			t.Fatalf("%d stories and %d faults", len(stories), len(faults))
		}
	})
}

// Without separator and decimal in the mapping, and in UTF-16 as spreadsheets write their "Unicode text", the file gives the
// same necks.
func TestSignsOfAnOldFileAreFound(t *testing.T) {
	m, opt := setup(t)
	text := read(t, "import", "old-line.csv")
	want, faults := Read(m, text, opt)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	m.Separator, m.Decimal = "", ""
	wide := []byte{0xff, 0xfe}
	for _, unit := range utf16.Encode([]rune(strings.ReplaceAll(string(text), ";", "\t"))) {
		wide = binary.LittleEndian.AppendUint16(wide, unit)
	}
	for name, text := range map[string][]byte{"as it is": text, "UTF-16": wide} {
		got, faults := Read(m, text, opt)
		if len(faults) > 0 || !reflect.DeepEqual(got, want) {
			t.Errorf("%s: %v, faults %v", name, got, faults)
		}
	}
	mixed := strings.Replace(string(text), "0,0182", "0.0182", 1)
	if _, faults := Read(m, []byte(mixed), opt); len(faults) != 1 || faults[0].Line != 3 || !strings.Contains(faults[0].Words(), "as further up in the file") {
		t.Errorf("two decimal signs: %v", faults)
	}
}
