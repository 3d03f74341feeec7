package webtest

import (
	"encoding/json"
	"html"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/show"
)

// Wants checks that a page holds each text.
func Wants(t testing.TB, page string, texts ...string) {
	t.Helper()
	for _, text := range texts {
		if !strings.Contains(page, text) {
			t.Errorf("the page does not say %q", text)
		}
	}
}

// RowsOf are the cells of every row of the tables between a heading and the next, without their markup.
func RowsOf(t *testing.T, page, heading string) [][]string {
	t.Helper()
	_, after, found := strings.Cut(page, "<h2>"+heading+"</h2>")
	if !found {
		if _, after, found = strings.Cut(page, "<h3>"+heading+"</h3>"); !found {
			t.Fatalf("the page has no part %q", heading)
		}
	}
	if end := regexp.MustCompile(`<h[23]>`).FindStringIndex(after); end != nil {
		after = after[:end[0]]
	}
	var rows [][]string
	for _, row := range regexp.MustCompile(`(?s)<tr>(.*?)</tr>`).FindAllStringSubmatch(after, -1) {
		var cells []string
		for _, c := range regexp.MustCompile(`(?s)<t[hd][^>]*>(.*?)</t[hd]>`).FindAllStringSubmatch(row[1], -1) {
			cells = append(cells, strings.TrimSpace(html.UnescapeString(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(c[1], " "))))
		}
		rows = append(rows, cells)
	}
	return rows
}

// Drawn is the description of a chart on a page.
func Drawn(t *testing.T, page, id string) (c show.Chart) {
	t.Helper()
	m := regexp.MustCompile(`(?s)<figure class="chart[^"]*" id="` + id + `">.*?<script type="application/json">(.*?)</script>`).FindStringSubmatch(page)
	if m == nil {
		t.Fatalf("the page has no chart %s", id)
	}
	if err := json.Unmarshal([]byte(m[1]), &c); err != nil {
		t.Fatal(err)
	}
	return c
}

// Cell is the text of a table's cell beside its row's head.
func Cell(t *testing.T, page, head string, column int) string {
	t.Helper()
	m := regexp.MustCompile(`<th scope="row">` + regexp.QuoteMeta(head) + `</th>((?:<td[^>]*>[^<]*</td>)+)`).FindStringSubmatch(page)
	if m == nil {
		t.Fatalf("the page has no row %q", head)
	}
	cells := regexp.MustCompile(`<td[^>]*>([^<]*)</td>`).FindAllStringSubmatch(m[1], -1)
	return cells[column][1]
}

// WantsU checks the expanded uncertainty that a page writes of a value: twice the standard uncertainty (JCGM 100:2008, 6.2, with
// coverage factor 2), to the nearest step and one step at the least.
func WantsU(t testing.TB, c inspect.Characteristic, written string, lengths unit.Unit) {
	t.Helper()
	want := 2 * *c.U
	if c.Unit == "mm" {
		want = lengths.From(want)
	}
	_, decimals, _ := strings.Cut(written, ".")
	last := math.Pow10(-len(decimals))
	if got, err := strconv.ParseFloat(written, 64); err != nil || got < last || math.Abs(got-max(want, last)) > last*0.5005 {
		t.Errorf("%s in %s: U %q, want %g", c.Name, lengths, written, want)
	}
}

// Hidden is the value of a page's first hidden field of a name, "" without one.
func Hidden(page, name string) string {
	_, after, _ := strings.Cut(page, `name="`+name+`" value="`)
	value, _, _ := strings.Cut(after, `"`)
	return value
}
