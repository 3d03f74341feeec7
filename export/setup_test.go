package export

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// TestSheetSetUp: frozen heads, filters, repeated heads, page set-up, widths, colours with words.
func TestSheetSetUp(t *testing.T) {
	workbook := made(t, newShop(8), options("mm"))
	f := open(t, workbook)
	names := map[string]string{}
	for _, n := range f.GetDefinedName() {
		names[n.Scope+" "+n.Name] = n.RefersTo
	}
	for _, sheet := range f.GetSheetList() {
		layout, err := f.GetPageLayout(sheet)
		if err != nil {
			t.Fatal(err)
		}
		props, err := f.GetSheetProps(sheet)
		if err != nil {
			t.Fatal(err)
		}
		if *layout.Orientation != "landscape" || *layout.Size != 9 || *layout.FitToHeight != 0 || !*props.FitToPage {
			t.Errorf("%s: page is %s, paper %d, fit %v to height %d", sheet, *layout.Orientation, *layout.Size, *props.FitToPage, *layout.FitToHeight)
		}
		if want := map[bool]int{true: 4, false: 1}[sheet == "Necks"]; *layout.FitToWidth != want {
			t.Errorf("%s: %d pages wide, want %d", sheet, *layout.FitToWidth, want)
		}
		panes, err := f.GetPanes(sheet)
		if err != nil {
			t.Fatal(err)
		}
		if !panes.Freeze || panes.YSplit != 1 {
			t.Errorf("%s: panes %+v, want the first row frozen", sheet, panes)
		}
		if !strings.HasSuffix(names[sheet+" _xlnm.Print_Titles"], "'"+sheet+"'!$1:$1") {
			t.Errorf("%s: print titles %q", sheet, names[sheet+" _xlnm.Print_Titles"])
		}
		if sheet == "Summary" {
			continue
		}
		dimension := names[sheet+" _xlnm._FilterDatabase"]
		rows, err := f.GetRows(sheet)
		if err != nil {
			t.Fatal(err)
		}
		lastColumn, err := excelize.ColumnNumberToName(len(rows[0]))
		if err != nil {
			t.Fatal(err)
		}
		if want := "'" + sheet + "'!$A$1:$" + lastColumn + "$" + strconv.Itoa(len(rows)); dimension != want {
			t.Errorf("%s: filter over %q, want %q", sheet, dimension, want)
		}
		if width, err := f.GetColWidth(sheet, "B"); err != nil || width < 8 {
			t.Errorf("%s: column B is %v wide, %v", sheet, width, err)
		}
	}
	all := parts(t, workbook)
	for sheet, cells := range map[string]string{"Necks": "F2:F9", "Summary": ""} {
		text := string(all[sheetPart(t, all, sheet)])
		if sheet != "Summary" && !strings.Contains(text, "<autoFilter") {
			t.Errorf("%s has no filter in its part", sheet)
		}
		if !strings.Contains(text, `<conditionalFormatting sqref="`+cells) {
			t.Errorf("%s: no conditional format over %s", sheet, cells)
		}
	}
	formats, err := f.GetConditionalFormats("Necks")
	if err != nil {
		t.Fatal(err)
	}
	var values []string
	for _, rule := range formats["F2:F9"] {
		values = append(values, rule.Value)
		style, err := f.GetConditionalStyle(*rule.Format)
		if err != nil {
			t.Fatal(err)
		}
		if rule.Value == `"rework"` && (style.Font.Color != bad.text || style.Fill.Color[0] != bad.fill) {
			t.Errorf("rework is coloured %s on %v", style.Font.Color, style.Fill.Color)
		}
	}
	slices.Sort(values)
	if want := []string{`"concession"`, `"pass"`, `"remeasure"`, `"repair"`, `"rework"`, `"scrap"`}; !slices.Equal(values, want) {
		t.Errorf("dispositions are coloured for %v, want %v", values, want)
	}
}
