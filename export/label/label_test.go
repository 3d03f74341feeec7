package label

import (
	"bytes"
	"context"
	"image"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/anchor"
	"sagitta/export/sheet"
	"sagitta/export/symbol"
)

var day = time.Date(2026, 11, 2, 10, 0, 0, 0, time.UTC)

// setUp is a label of a set-up with a serial number.
func setUp(serial string) Label {
	return ofSetUp(&sheet.Sheet{Serial: serial, Date: day, Short: []string{"QM Bolt 648, electric, 2026-11-02", "Relief: bass side +0.26, treble side +0.28 mm at fret 7, over frets 1 and 17",
		"Height at fret 12: 1.86 1.81 1.72 1.65 1.61 1.56 mm", "Strings: E2 0.046 A2 0.036 D3 0.026 G3 0.017 B3 0.013 E4 0.010 in", "21.0 °C, 47 % RH"}})
}

func traveller(serial string) Label {
	return ofTraveller(sheet.House(), batch.Neck{Serial: serial}, batch.Batch{Number: "QM-2611", OpenedAt: day, Spec: batch.SpecRevision{Name: "QM Bolt 648", Revision: "B"}})
}

func sized(t *testing.T, text string) Size {
	t.Helper()
	s, err := ReadSize(text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func made(t *testing.T, size string, labels ...Label) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := PDF(&out, sized(t, size), "labels", "Quillmere", labels); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// tool runs an independent reader of what was made; where the machine has none the test ends, as a failure where SAGITTA_BROWSER=required is set.
func tool(t *testing.T, in []byte, name string, args ...string) []byte {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		if os.Getenv("SAGITTA_BROWSER") == "required" {
			t.Fatal(err)
		}
		t.Skip("no " + name)
	}
	cmd := exec.CommandContext(t.Context(), name, args...)
	cmd.Stdin = bytes.NewReader(in)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return out
}

// pixels is how many of them a picture of a label has for a millimetre: two for each dot of the printer that the modules are made for.
const pixels = 16

// drawn is a page as a picture, and whether a pixel of it is dark; outside nothing is.
func drawn(t *testing.T, pdf []byte, page int) (picture []byte, size image.Point, dark func(x, y int) bool) {
	t.Helper()
	n := strconv.Itoa(page)
	picture = tool(t, pdf, "pdftoppm", "-r", "406.4", "-gray", "-png", "-f", n, "-l", n, "-")
	img, err := png.Decode(bytes.NewReader(picture))
	if err != nil {
		t.Fatal(err)
	}
	size = img.Bounds().Size()
	black := make([]bool, size.X*size.Y)
	for i := range black {
		v, _, _, _ := img.At(i%size.X, i/size.X).RGBA()
		black[i] = v < 0x8000
	}
	if dir := os.Getenv("SAGITTA_PICTURES"); dir != "" {
		name := strings.ReplaceAll(t.Name(), "/", "-") + "-" + n + ".png"
		if err := os.WriteFile(filepath.Join(dir, name), picture, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return picture, size, func(x, y int) bool { return x >= 0 && y >= 0 && x < size.X && y < size.Y && black[y*size.X+x] }
}

// codes are what a reader of codes finds in a picture, each with its kind before it.
func codes(t *testing.T, picture []byte) string {
	t.Helper()
	return string(tool(t, picture, "zbarimg", "-q", "-"))
}

var numbers = []string{"QM-2611-0001", "7", "ABCDEFGHIJ/0123456789", "Ø-7/½"}

// TestLabelsReadBack: an independent reader finds on every label what its codes are to say; the serial number stands on it whole, nothing leaves the
// page, the fonts are in the file, and around each code is the blank that its standard asks for.
func TestLabelsReadBack(t *testing.T) {
	for _, size := range Sizes {
		for kind, of := range map[Kind]func(string) Label{SetUp: setUp, Traveller: traveller} {
			t.Run(string(kind)+" "+size, func(t *testing.T) {
				var labels []Label
				for i, serial := range numbers {
					if i == 0 || size == Sizes[0] {
						labels = append(labels, of(serial))
					}
				}
				pdf := made(t, size, labels...)
				for i, l := range labels {
					picture, bounds, dark := drawn(t, pdf, i+1)
					if mm := sized(t, size); bounds.X-int(mm.Wide*pixels) > 1 || bounds.Y-int(mm.High*pixels) > 1 {
						t.Fatalf("the page has %v pixels, want %s mm", bounds, size)
					}
					want := "QR-Code:" + l.Code + "\n"
					bars := kind == Traveller && l.Serial[0] < 0x80
					if bars {
						want += "CODE-128:" + l.Serial + "\n"
					}
					if got := codes(t, picture); got != want {
						t.Errorf("%s reads back as %q, want %q", l.Serial, got, want)
					}
					words := strings.Join(strings.Fields(string(tool(t, pdf, "pdftotext", "-f", strconv.Itoa(i+1), "-l", strconv.Itoa(i+1), "-", "-"))), "")
					if !strings.HasPrefix(words, l.Serial) {
						t.Errorf("%s is not on its label: %s", l.Serial, words)
					}
					foot := bounds.Y
					if bars {
						foot = blankBars(t, bounds, dark)
					}
					blankQR(t, l, bounds.X, foot, dark)
					inside(t, bounds, dark)
				}
				if fonts := string(tool(t, pdf, "sh", "-c", `f=$(mktemp) && cat > $f && pdffonts $f; rm -f $f`)); strings.Count(fonts, "Identity-H       yes") != 2 {
					t.Errorf("fonts that are not in the file:\n%s", fonts)
				}
			})
		}
	}
}

// inside fails where something is drawn within half a millimetre of the edge.
func inside(t *testing.T, size image.Point, dark func(x, y int) bool) {
	t.Helper()
	for x := range size.X {
		for y := range size.Y {
			if near := min(x, y, size.X-1-x, size.Y-1-y); near < pixels/2 && dark(x, y) {
				t.Fatalf("something is drawn %d pixels from the edge, at %d, %d", near, x, y)
			}
		}
	}
}

// blankBars measures the bars along the foot: at least ten modules are blank on both sides, and they are 5 mm high. It returns where they begin.
func blankBars(t *testing.T, size image.Point, dark func(x, y int) bool) (top int) {
	t.Helper()
	first, last, foot := -1, 0, size.Y-1
	for ; first < 0; foot-- {
		for x := range size.X {
			if dark(x, foot) {
				if first < 0 {
					first = x
				}
				last = x
			}
		}
	}
	module := 0 // the first bar of every code has two, ISO/IEC 15417
	for dark(first+module, foot) {
		module++
	}
	if module /= 2; first < 10*module || size.X-1-last < 10*module {
		t.Errorf("blank of %d and %d pixels at modules of %d", first, size.X-1-last, module)
	}
	for top = foot; dark(first, top-1); top-- {
	}
	if foot-top < 5*pixels-3 {
		t.Errorf("the bars are %d pixels high", foot-top)
	}
	return top
}

// blankQR finds the code above foot by its corners (each is seven modules wide) and fails where something is drawn within four modules of it.
func blankQR(t *testing.T, l Label, wide, foot int, dark func(x, y int) bool) {
	t.Helper()
	right, top := 0, foot
	for x := wide - 1; right == 0; x-- {
		for y := range foot {
			if dark(x, y) {
				right, top = x, min(top, y)
			}
		}
	}
	seven := 0
	for dark(right-seven, top) {
		seven++
	}
	for _, level := range []symbol.Level{symbol.M, symbol.L} {
		rows, err := symbol.QR(l.Code, level)
		if err != nil {
			t.Fatal(err)
		}
		side, four := (len(rows)-8)*seven/7, 4*seven/7
		left := right - side + 1
		corner := true
		for i := -1; i <= seven; i++ {
			corner = corner && dark(left+i, top) == (i >= 0 && i < seven) && dark(left+i, top+side-1) == (i >= 0 && i < seven)
		}
		if !corner {
			continue
		}
		if seven/7*1000/pixels < 375 {
			t.Errorf("%s: a module of %d/7 pixels is too small for a telephone", l.Serial, seven)
		}
		if left-four < 0 || top-four < 0 || right+four > wide-1 || top+side-1+four > foot {
			t.Errorf("%s: the blank around the code leaves the label", l.Serial)
		}
		for x := left - four; x <= right+four; x++ {
			for y := top - four; y < top+side+four; y++ {
				if (x < left || x > right || y < top || y >= top+side) && dark(x, y) && y < foot {
					t.Fatalf("%s: something is drawn in the blank around the code, at %d, %d", l.Serial, x, y)
				}
			}
		}
		return
	}
	t.Errorf("%s: no code is found at the right", l.Serial)
}

// TestCodeNeedsNoNetwork: the code is text, begins with the serial number, and has no address unless the builder set one.
func TestCodeNeedsNoNetwork(t *testing.T) {
	l := setUp("QM-2611-0001")
	if !strings.HasPrefix(l.Code, "QM-2611-0001\nQM Bolt 648, electric, 2026-11-02\n") || strings.Contains(l.Code, "://") {
		t.Errorf("the code says %q", l.Code)
	}
	if i := strings.IndexFunc(l.Code, func(r rune) bool { return r > '~' }); i >= 0 {
		t.Errorf("the code has %q, which not every telephone reads", l.Code[i:])
	}
	for _, line := range strings.Split(l.Code, "\n")[1:] {
		if regexp.MustCompile(`^[-+\d., ]+$`).MatchString(line) {
			t.Errorf("a scanner would enter %q at the bench as a value", line)
		}
	}
}

// TestNoRoom: a label without room for its code is refused with what it takes, and never printed with a part of it.
func TestNoRoom(t *testing.T) {
	long := setUp("QM-2611-0001")
	long.Code += strings.Repeat("\nhttps://quillmere.example/", 12)
	for name, c := range map[string]struct {
		size  string
		label Label
		wants []string
	}{
		"bars":          {"50x25", traveller("ABCDEFGHIJ/0123456789"), []string{"the bars of ABCDEFGHIJ/0123456789 take ", " mm with their margins", "50x25"}},
		"height":        {"62x10", traveller("QM-2611-0001"), []string{"take 7 mm of height", "62x10"}},
		"code":          {"62x29", long, []string{"takes ", " mm with its margin", "room for 29"}},
		"longest":       {"50x25", setUp(strings.Repeat("W", batch.LongestSerial)), []string{"take a larger one"}},
		"beyond a code": {"100x50", Label{Serial: "S", Code: strings.Repeat("ü", 2000)}, []string{"too long", "4000 bytes"}},
		"no neck":       {"62x29", Label{}, []string{"no neck"}},
	} {
		labels := []Label{c.label}
		if c.label.Serial == "" {
			labels = nil
		}
		var out bytes.Buffer
		err := PDF(&out, sized(t, c.size), "", "", labels)
		if err == nil || out.Len() > 0 || batch.KindOf(err) != batch.Conflict {
			t.Errorf("%s: %d bytes, %v", name, out.Len(), err)
			continue
		}
		for _, want := range c.wants {
			if !strings.Contains(err.Error(), want) {
				t.Errorf("%s: %v does not say %q", name, err, want)
			}
		}
	}
}

// TestSizes: what may be asked for, and what is said of the rest.
func TestSizes(t *testing.T) {
	for text, want := range map[string]Size{"62x29": {62, 29}, "50.8x25.4": {50.8, 25.4}, "300x10": {300, 10}} {
		if got := sized(t, text); got != want {
			t.Errorf("%s: %v", text, got)
		}
	}
	for _, text := range []string{"", "62", "62x", "x29", "9x29", "62x301", "NaNx29", "62x29x3", "-62x29", "62 mm x 29"} {
		if _, err := ReadSize(text); err == nil || !strings.Contains(err.Error(), "from 10 to 300, such as 62x29, 50x25 and 100x50") || batch.KindOf(err) != batch.Mendable {
			t.Errorf("%q: %v", text, err)
		}
	}
}

// shop has a batch, and its necks without inspections.
type shop struct {
	sheet.Record // of what a traveller does not ask
	necks        []batch.NeckRow
}

func (s shop) Neck(_ context.Context, serial string) (batch.Neck, error) {
	for _, n := range s.necks {
		if n.Serial == serial {
			return n.Neck, nil
		}
	}
	return batch.Neck{}, batch.Absent.Errorf("none")
}

func (s shop) Batch(_ context.Context, number string) (batch.Batch, error) {
	if number != "QM-2611" {
		return batch.Batch{}, batch.Absent.Errorf("none")
	}
	return batch.Batch{ID: "b", Number: number}, nil
}

func (s shop) NewestCheckpoint(context.Context) (*anchor.Checkpoint, error) { return nil, nil }

func (s shop) Necks(context.Context, string) ([]batch.NeckRow, error) { return s.necks, nil }

// TestNumbers: a serial number gives one label, a batch's number all of its necks in their order, another number is refused by its name, and so is a
// batch with more necks than a file has pages.
func TestNumbers(t *testing.T) {
	row := func(serial string) batch.NeckRow {
		return batch.NeckRow{Neck: batch.Neck{Serial: serial, BatchNumber: "QM-2611"}}
	}
	s := shop{necks: []batch.NeckRow{row("QM-2"), row("QM-1")}}
	for number, want := range map[string]string{"QM-1": "QM-1", "QM-2611": "QM-2 QM-1", " QM-2 ": "QM-2"} {
		got, err := Of(t.Context(), s, sheet.House(), Traveller, number)
		var serials []string
		for _, l := range got {
			serials = append(serials, l.Serial)
		}
		if strings.Join(serials, " ") != want || err != nil {
			t.Errorf("%s: %q, %v", number, serials, err)
		}
	}
	if _, err := Of(t.Context(), s, sheet.House(), "", "QM-9"); err == nil || batch.KindOf(err) != batch.Absent || !strings.Contains(err.Error(), `neither a neck nor a batch has the number "QM-9"`) {
		t.Error(err)
	}
	s.necks = make([]batch.NeckRow, mostLabels+1)
	if _, err := Of(t.Context(), s, sheet.House(), "", "QM-2611"); err == nil || !strings.Contains(err.Error(), "5001 necks; one file holds 5000") {
		t.Error(err)
	}
}

// TestSameLabelsAreTheSameBytes: nothing of the hour at which they are printed is in the file.
func TestSameLabelsAreTheSameBytes(t *testing.T) {
	if !bytes.Equal(made(t, "62x29", setUp("A"), traveller("B")), made(t, "62x29", setUp("A"), traveller("B"))) {
		t.Error("they differ")
	}
}

// BenchmarkTravellers is a page of a batch's travellers.
func BenchmarkTravellers(b *testing.B) {
	labels := make([]Label, b.N)
	for i := range labels {
		labels[i] = ofTraveller(sheet.House(), batch.Neck{Serial: "QM-2611-" + strconv.Itoa(10000+i)}, batch.Batch{Number: "QM-2611", OpenedAt: day})
	}
	var out bytes.Buffer
	if err := PDF(&out, Size{62, 29}, "", "", labels); err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(float64(out.Len())/float64(b.N), "bytes/op")
}

// TestTravellerOfAVisit: it names the visit, and no batch or model, which a builder does not have.
func TestTravellerOfAVisit(t *testing.T) {
	neck := batch.Neck{Serial: "OAK-31"}
	visit := ofTraveller(sheet.House(), neck, batch.Batch{Number: "OAK-31 visit 2", Visit: 2, Spec: batch.SpecRevision{Name: "OAK-31"}})
	built := ofTraveller(sheet.House(), neck, batch.Batch{Number: "QM-2611", Spec: batch.SpecRevision{Name: "QM Bolt 648"}})
	if got := strings.Join(visit.Lines, "; "); got != "Visit 2" {
		t.Errorf("a visit's says %q", got)
	}
	if got := strings.Join(built.Lines, "; "); got != "Batch QM-2611; Model QM Bolt 648" {
		t.Errorf("a batch's says %q", got)
	}
}
