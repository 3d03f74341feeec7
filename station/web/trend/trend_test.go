package trend

import (
	"context"
	"fmt"
	"html"
	"math"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

// shop is an empty shop with these pages alone.
func shop(t testing.TB) *webtest.Shop {
	s := webtest.Open(t)
	return s.Mount(func(k *site.Site) error { return Mount(k, Options{Record: s.Rec, Now: time.Now}) })
}

// firstSeen is a neck's first verdict as it was recorded, read neck by neck, which is not the way that the pages take.
type firstSeen struct {
	batch, serial, revision, inspector, reason string
	at                                         time.Time
	passed, final                              bool
	all                                        []inspect.Characteristic
}

func firsts(s *webtest.Shop) []firstSeen {
	ctx := context.Background()
	var all []firstSeen
	for _, b := range webtest.Must[[]batch.BatchRow](s)(s.Rec.Batches(ctx)) {
		for n, err := range s.Rec.EachNeck(ctx, b.ID) {
			if err != nil {
				s.Fatal(err)
			}
			if len(n.Inspections) == 0 {
				continue
			}
			first := n.Inspections[0]
			f := firstSeen{batch: b.Number, serial: n.Serial, revision: b.Spec.Revision, inspector: first.Inspector, at: first.StartedAt.Local(),
				passed: first.Verdict.Disposition == inspect.Pass, final: n.Inspections[len(n.Inspections)-1].Verdict.Disposition == inspect.Pass, all: first.Verdict.Result.Characteristics}
			if c := inspect.FirstFailing(first.Verdict.Result); c != nil && !f.passed {
				f.reason = c.Name
			}
			all = append(all, f)
		}
	}
	return all
}

// percent writes a share as the pages do.
func percent(k, n int) string { return fmt.Sprintf("%.1f", 100*float64(k)/float64(n)) }

// Every number of the trend equals a recount from the recorded verdicts, neck by neck.
func TestTrendEqualsARecount(t *testing.T) {
	s := shop(t).Fill().Past()
	all := firsts(s)
	page := s.Get("/trend?from=2025-05&to=2025-10", http.StatusOK)
	type count struct{ n, first, final int }
	months, reasons, inspectors := map[string]count{}, map[string]int{}, map[string]count{}
	failed := 0
	for _, f := range all {
		if f.at.Year() != 2025 {
			continue
		}
		for _, sum := range []struct {
			of  map[string]count
			key string
		}{{months, f.at.Format("January 2006")}, {inspectors, f.inspector}} {
			c := sum.of[sum.key]
			c.n++
			if f.passed {
				c.first++
			}
			if f.final {
				c.final++
			}
			sum.of[sum.key] = c
		}
		if f.reason != "" {
			reasons[f.reason]++
			failed++
		}
	}
	if len(months) != 5 || failed < 20 {
		t.Fatalf("the recount has %d months and %d failed necks", len(months), failed)
	}
	table := webtest.RowsOf(t, page, "Yield by month")
	drawnYields := webtest.Drawn(t, page, "yields")
	seen := 0
	for _, row := range table {
		want, ok := months[row[0]]
		if !ok {
			continue
		}
		seen++
		if got := row[1:4]; !slices.Equal(got, []string{fmt.Sprint(want.n), fmt.Sprint(want.first), percent(want.first, want.n)}) || row[5] != percent(want.final, want.n) {
			t.Errorf("%s: %v, recounted %+v", row[0], row, want)
		}
		place := slices.Index(drawnYields.X.Names, row[0][:3]+" 2025")
		if y := drawnYields.Series[0].Points[place].Y; y == nil || math.Abs(*y-100*float64(want.first)/float64(want.n)) > 1e-9 {
			t.Errorf("%s is drawn at %v", row[0], y)
		}
	}
	if seen != 5 || drawnYields.Series[0].Points[2].Y != nil || drawnYields.X.Names[2] != "Jul 2025" {
		t.Errorf("%d months in the table, July drawn at %v", seen, drawnYields.Series[0].Points[2].Y)
	}
	for _, row := range webtest.RowsOf(t, s.Get("/trend/reasons?from=2025-05&to=2025-10", http.StatusOK), "Reasons")[1:] {
		for name, n := range reasons {
			if row[0] == inspect.Name(name) && (row[1] != fmt.Sprint(n) || row[2] != percent(n, failed)) {
				t.Errorf("reason %v, recounted %d of %d", row, n, failed)
			}
		}
	}
	for _, row := range webtest.RowsOf(t, s.Get("/trend/people?from=2025-05&to=2025-10", http.StatusOK), "By inspector")[1:] {
		want := inspectors[strings.TrimSpace(strings.Split(row[0], "  ")[0])]
		if got := row[1:4]; !slices.Equal(got, []string{fmt.Sprint(want.n), fmt.Sprint(want.first), percent(want.first, want.n)}) {
			t.Errorf("inspector %v, recounted %+v", row, want)
		}
	}
	webtest.Wants(t, page, "of all models was "+percent(months["October 2025"].first, months["October 2025"].n)+" % in October 2025", "September 2025: ", "above the limit of", "beyond the limits; chance alone would give 0.", "more than chance explains", " failed at the first inspection, ")
}

// TestTrendOfACharacteristic recounts means and standard deviations from the values as they were recorded.
func TestTrendOfACharacteristic(t *testing.T) {
	s := shop(t).Fill().Past()
	values := map[string][]float64{}
	for _, f := range firsts(s) {
		for _, c := range f.all {
			if c.Name == "action" && c.String == 1 && f.at.Year() == 2025 {
				values[f.at.Format("January 2006")] = append(values[f.at.Format("January 2006")], *c.Value)
			}
		}
	}
	of := "?model=QM+Bolt+648&from=2025-05&to=2025-10&of=action//1/12"
	if w := s.Do(webtest.Request(http.MethodGet, "/trend"+of, nil)); w.Header().Get("Location") != "/trend/characteristics"+of { // where it once stood
		t.Errorf("a characteristic of the trend leads to %q", w.Header().Get("Location"))
	}
	page := s.Get("/trend/characteristics"+of, http.StatusOK)
	rows := webtest.RowsOf(t, page, "Characteristics")
	if len(rows) != 6 {
		t.Fatalf("%d rows: %v", len(rows), rows)
	}
	for _, row := range rows[1:] {
		x := values[row[0]]
		sum, squares := 0.0, 0.0
		for _, v := range x {
			sum += v
		}
		for _, v := range x {
			squares += (v - sum/float64(len(x))) * (v - sum/float64(len(x)))
		}
		want := []string{fmt.Sprint(len(x)), fmt.Sprintf("%.3f", sum/float64(len(x))), fmt.Sprintf("%.3f", math.Sqrt(squares/float64(len(x)-1)))}
		if !slices.Equal(row[1:4], want) {
			t.Errorf("%s: %v, recounted %v", row[0], row[1:4], want)
		}
	}
	means := webtest.Drawn(t, page, "means")
	if len(means.Marks) != 2 || means.Marks[0].At != 1.4 || means.Marks[1].At != 2.1 {
		t.Errorf("the limits drawn are %+v", means.Marks)
	}
	webtest.Wants(t, page, "Action, string 1, fret 12, open: mean", "Limits are those of revision A")
}

// TestTrendLeadsToTheNecks follows a number from the trend to the batches behind it, which lead to their necks.
func TestTrendLeadsToTheNecks(t *testing.T) {
	s := shop(t).Fill().Past()
	page := s.Get("/trend?from=2025-08&to=2025-10", http.StatusOK)
	link := webtest.Drawn(t, s.Get("/trend/reasons?from=2025-08&to=2025-10", http.StatusOK), "reasons-chart").Series[0].Points[0].Link
	if !strings.HasPrefix(link, "/trend/batches?") {
		t.Fatalf("the commonest reason leads to %q", link)
	}
	want := map[string]int{}
	for _, f := range firsts(s) {
		if f.reason == "relief" && f.at.Year() == 2025 && f.at.Month() >= 8 {
			want[f.batch]++
		}
	}
	behind := s.Get(link, http.StatusOK)
	rows := webtest.RowsOf(t, strings.Replace(behind, "<h1>", "<h2>x</h2><h1>", 1), "x")
	for _, row := range rows[1 : len(rows)-1] {
		if row[3] != fmt.Sprint(want[row[0]]) {
			t.Errorf("%v, recounted %d", row, want[row[0]])
		}
	}
	if len(rows) != len(want)+2 || want["QM-2509"] == 0 {
		t.Fatalf("%d rows for %v", len(rows), want)
	}
	webtest.Wants(t, behind, `href="/batches/QM-2509/necks?reason=relief"`)
	month := webtest.Drawn(t, page, "yields").Series[0].Points[1].Link
	september := 0
	for _, f := range firsts(s) {
		if f.at.Year() == 2025 && f.at.Month() == time.September {
			september++
		}
	}
	webtest.Wants(t, s.Get(month, http.StatusOK), fmt.Sprintf("%d necks in 1 batch, first inspected in September 2025", september))
	webtest.Wants(t, s.Get("/trend/batches?by=inspector&value=Nobody", http.StatusOK), "There is no neck first inspected by Nobody.")
	webtest.Wants(t, s.Get("/trend/batches?by=colour&value=red", http.StatusNotFound), "not counted by")
}

// TestTrendWithLittle shows the pages of a record without inspections, of a choice that picks nothing, and of hostile names.
func TestTrendWithLittle(t *testing.T) {
	s := shop(t)
	webtest.Wants(t, s.Get("/trend", http.StatusOK), "Nothing has been inspected yet")
	webtest.Wants(t, s.Get("/compare", http.StatusOK), "Choose two batches")
	s.Fill()
	page := s.Get("/trend", http.StatusOK)
	webtest.Wants(t, page, "of all models is 33.3 % so far in "+time.Now().Format("January 2006")+" (3 necks)")
	webtest.Wants(t, s.Get("/trend?model="+url.QueryEscape(`<script>alert(1)</script>`), http.StatusOK), "Nothing of &lt;script&gt;alert(1)&lt;/script&gt; was inspected")
	webtest.Wants(t, s.Get("/trend?model=QM+Bolt+648&revision=Z", http.StatusOK), "First-pass yield of QM Bolt 648 is 33.3 %") // a revision of another model is let go
}

// TestMonthsInWords checks the words for spans of months.
func TestMonthsInWords(t *testing.T) {
	for _, c := range []struct {
		from, to batch.Month
		want     string
	}{{0, 0, ""}, {202610, 202610, "in October 2026"}, {202605, 202610, "from May to October 2026"}, {202512, 202601, "from December 2025 to January 2026"},
		{202512, 0, "since December 2025"}, {0, 202601, "until January 2026"}} {
		if got := tell.Months(c.from, c.to); got != c.want {
			t.Errorf("%d to %d: %q, want %q", c.from, c.to, got, c.want)
		}
	}
	if got := monthsAway(202612, 1); got != 202701 {
		t.Errorf("the month after December 2026 is %d", got)
	}
	if got := parseMonth("2026-13"); got != 0 {
		t.Errorf("month 13 is %d", got)
	}
}

// TestLayersKeepTheScope: the ways to the other layers lead to the same models and months.
func TestLayersKeepTheScope(t *testing.T) {
	s := shop(t).Fill().Past()
	page := s.Get("/trend?model=QM+Bolt+648&revision=A", http.StatusOK)
	_, nav, _ := strings.Cut(page, `<nav class="layers`)
	nav, _, _ = strings.Cut(nav, "</nav>")
	ways := regexp.MustCompile(`href="([^"]+)"`).FindAllStringSubmatch(nav, -1)
	if len(ways) != len(layers) {
		t.Fatalf("%d ways, want %d", len(ways), len(layers))
	}
	for _, way := range ways {
		to, err := url.Parse(html.UnescapeString(way[1]))
		if err != nil || to.Query().Get("model") != "QM Bolt 648" || to.Query().Get("revision") != "A" {
			t.Errorf("the way %s loses the model or its revision, %v", way[1], err)
		}
	}
}
