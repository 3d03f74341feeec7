package export

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"io"
	"path"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
)

// options are those of most tests.
func options(unit string) Options {
	return Options{Unit: unit, Location: zone250, Now: opened.Add(9 * time.Hour), Station: "Quillmere, line 2, bench 1"}
}

// made is the workbook of a source in memory.
func made(t testing.TB, src Source, opt Options) []byte {
	t.Helper()
	var w bytes.Buffer
	if err := Workbook(context.Background(), &w, src, "QM-2611", opt); err != nil {
		t.Fatal(err)
	}
	return w.Bytes()
}

// parts unpacks a workbook's parts, read without the library that wrote them.
func parts(t testing.TB, workbook []byte) map[string][]byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(workbook), int64(len(workbook)))
	if err != nil {
		t.Fatal(err)
	}
	found := map[string][]byte{}
	for _, f := range z.File {
		if f.Method != zip.Deflate {
			t.Errorf("part %s is stored by method %d, not deflated", f.Name, f.Method)
		}
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil {
			t.Fatalf("part %s: %v", f.Name, err)
		}
		if _, twice := found[f.Name]; twice {
			t.Errorf("part %s is there twice", f.Name)
		}
		found[f.Name] = text
	}
	return found
}

// xmlCell is a cell as the file has it (ISO/IEC 29500-1, 18.3.1.4).
type xmlCell struct {
	Ref     string  `xml:"r,attr"`
	Type    string  `xml:"t,attr"`
	Style   int     `xml:"s,attr"`
	Value   string  `xml:"v"`
	Text    string  `xml:"is>t"`
	Formula *string `xml:"f"`
}

// xmlSheet is what the tests read of a sheet.
type xmlSheet struct {
	Rows []struct {
		Number int       `xml:"r,attr"`
		Cells  []xmlCell `xml:"c"`
	} `xml:"sheetData>row"`
}

// xmlBook names a workbook's sheets (ISO/IEC 29500-1, 18.2.20).
type xmlBook struct {
	Sheets []struct {
		Name string `xml:"name,attr"`
		ID   string `xml:"http://schemas.openxmlformats.org/officeDocument/2006/relationships id,attr"`
	} `xml:"sheets>sheet"`
	Names []struct {
		Name  string `xml:"name,attr"`
		Sheet string `xml:"localSheetId,attr"`
		Refer string `xml:",chardata"`
	} `xml:"definedNames>definedName"`
}

// xmlRels are a part's relationships (ISO/IEC 29500-2).
type xmlRels struct {
	All []struct {
		ID     string `xml:"Id,attr"`
		Type   string `xml:"Type,attr"`
		Target string `xml:"Target,attr"`
		Mode   string `xml:"TargetMode,attr"`
	} `xml:"Relationship"`
}

// parse decodes a part.
func parse[T any](t testing.TB, all map[string][]byte, name string) T {
	t.Helper()
	var v T
	if err := xml.Unmarshal(all[name], &v); err != nil {
		t.Fatalf("part %s: %v", name, err)
	}
	return v
}

// sheetPart is the part that holds a sheet, followed from the workbook by its relationship.
func sheetPart(t testing.TB, all map[string][]byte, sheet string) string {
	t.Helper()
	id := ""
	for _, s := range parse[xmlBook](t, all, "xl/workbook.xml").Sheets {
		if s.Name == sheet {
			id = s.ID
		}
	}
	for _, r := range parse[xmlRels](t, all, "xl/_rels/workbook.xml.rels").All {
		if r.ID == id && id != "" {
			if strings.HasPrefix(r.Target, "/") {
				return r.Target[1:]
			}
			return path.Join("xl", r.Target)
		}
	}
	t.Fatalf("sheet %s: no part", sheet)
	return ""
}

// readSheet decodes a sheet.
func readSheet(t testing.TB, all map[string][]byte, sheet string) xmlSheet {
	t.Helper()
	return parse[xmlSheet](t, all, sheetPart(t, all, sheet))
}

// TestPartsAreWellFormed reads every part as XML to its end, and follows every relationship to a part that is there.
func TestPartsAreWellFormed(t *testing.T) {
	all := parts(t, made(t, newShop(30), options("mm")))
	for name, text := range all {
		if path.Ext(name) == ".png" {
			continue
		}
		d := xml.NewDecoder(bytes.NewReader(text))
		for {
			if _, err := d.Token(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Fatalf("part %s: %v", name, err)
			}
		}
		if !strings.HasSuffix(name, ".rels") {
			continue
		}
		from := path.Dir(path.Dir(name)) // a/_rels/b.rels describes a/b
		for _, r := range parse[xmlRels](t, all, name).All {
			target := path.Join(from, r.Target)
			if strings.HasPrefix(r.Target, "/") {
				target = r.Target[1:]
			}
			if _, ok := all[target]; !ok && r.Mode != "External" {
				t.Errorf("%s: relationship %s leads to %s, which is not there", name, r.ID, target)
			}
		}
	}
	charts := 0
	for name := range all {
		if strings.HasPrefix(name, "xl/charts/chart") {
			charts++
		}
	}
	if charts != 3 {
		t.Errorf("%d charts, want 3: first relief, reasons, dispositions", charts)
	}
}

// TestOrderOfElements: a sheet's parts stand in the order of ISO/IEC 29500-1, A.2 (CT_Worksheet), without which
// spreadsheet programs call a file damaged; and no stream states a size that it cannot know.
func TestOrderOfElements(t *testing.T) {
	sequence := []string{"sheetPr", "dimension", "sheetViews", "sheetFormatPr", "cols", "sheetData", "sheetCalcPr", "sheetProtection",
		"protectedRanges", "scenarios", "autoFilter", "sortState", "dataConsolidate", "customSheetViews", "mergeCells", "phoneticPr",
		"conditionalFormatting", "dataValidations", "hyperlinks", "printOptions", "pageMargins", "pageSetup", "headerFooter",
		"rowBreaks", "colBreaks", "customProperties", "cellWatches", "ignoredErrors", "smartTags", "drawing", "legacyDrawing", "legacyDrawingHF"}
	all := parts(t, made(t, newShop(8), options("mm")))
	for name, text := range all {
		if !strings.HasPrefix(name, "xl/worksheets/sheet") {
			continue
		}
		var sheet struct {
			Parts []struct {
				XMLName xml.Name
				Ref     string `xml:"ref,attr"`
			} `xml:",any"`
		}
		if err := xml.Unmarshal(text, &sheet); err != nil {
			t.Fatal(err)
		}
		last := -1
		for _, p := range sheet.Parts {
			at := slices.Index(sequence, p.XMLName.Local)
			if at < 0 || at < last {
				t.Errorf("%s: element %s stands out of order", name, p.XMLName.Local)
			}
			last = at
			if p.XMLName.Local == "dimension" && p.Ref == "A1" {
				t.Errorf("%s states that it is one cell large", name)
			}
		}
		if last < slices.Index(sequence, "headerFooter") {
			t.Errorf("%s ends with %s, before the footer", name, sequence[last])
		}
	}
}

// TestRowsInTheFile counts rows and looks at the kinds of cell without the library.
func TestRowsInTheFile(t *testing.T) {
	s := newShop(30)
	all := parts(t, made(t, s, options("mm")))
	for sheet, want := range map[string]int{
		"Necks": 1 + 30, "Readings": 1 + len(s.readings), "Rework": 1 + 1, "Gauges": 1 + 3, "First relief": 1 + 29,
	} {
		rows := readSheet(t, all, sheet).Rows
		if len(rows) != want {
			t.Errorf("%s has %d rows, want %d", sheet, len(rows), want)
		}
		for i, r := range rows {
			if r.Number != i+1 {
				t.Fatalf("%s: row %d is numbered %d", sheet, i+1, r.Number)
			}
			for _, c := range r.Cells {
				if c.Formula != nil {
					t.Errorf("%s!%s is a formula: %s", sheet, c.Ref, *c.Formula)
				}
				switch c.Type {
				case "inlineStr":
				case "", "n":
					if _, err := strconv.ParseFloat(c.Value, 64); err != nil {
						t.Errorf("%s!%s: %v", sheet, c.Ref, err)
					}
				default:
					t.Errorf("%s!%s has type %q; only inline text and numbers are written", sheet, c.Ref, c.Type)
				}
			}
		}
	}
}

// TestTextStaysText: what looks like a formula to a spreadsheet program (it begins with = + - @, a tab or a carriage
// return: OWASP, CSV Injection) is text in the file and in a text-formatted cell, whole.
func TestTextStaysText(t *testing.T) {
	s := newShop(8)
	nasty := []string{"=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", `=HYPERLINK("x")`, "_x0041_", " led & trailed <b> ", "ünïcode ✓", "a\x00b"}
	s.rework = nil
	for _, n := range nasty {
		r := newShop(3).rework[0]
		r.Serial, r.Note, r.What = n, n, n
		s.rework = append(s.rework, r)
	}
	s.batch.Note = "=2+2"
	workbook := made(t, s, options("mm"))
	all := parts(t, workbook)
	for name, text := range all {
		if strings.HasPrefix(name, "xl/worksheets/") && bytes.Contains(text, []byte("<f>")) {
			t.Errorf("part %s holds a formula", name)
		}
	}
	f := open(t, workbook)
	for i, n := range nasty {
		want := strings.ReplaceAll(n, "\x00", "\uFFFD") // XML 1.0, 2.2 has no place for it
		for _, column := range []string{"A", "C", "O"} {
			at := column + strconv.Itoa(i+2)
			if got := cell(t, f, "Rework", at); got != want {
				t.Errorf("Rework!%s is %q, want %q", at, got, want)
			}
			if got := formatOf(t, f, "Rework", at); got != textFormat {
				t.Errorf("Rework!%s has format %q, want the text format", at, got)
			}
			if formula, err := f.GetCellFormula("Rework", at); err != nil || formula != "" {
				t.Errorf("Rework!%s has formula %q, %v", at, formula, err)
			}
		}
	}
	if at := find(t, f, "Summary", "=2+2"); at == "" || formatOf(t, f, "Summary", at) != textFormat {
		t.Errorf("the batch's note is not on Summary as text: %q", at)
	}
}
