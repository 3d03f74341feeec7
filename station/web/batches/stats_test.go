package batches

import (
	"context"
	"fmt"
	"html"
	"math"
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/inspect"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

// shop is a shop with these pages alone.
func shop(t testing.TB) *webtest.Shop {
	s := webtest.Open(t).Fill()
	return s.Mount(func(k *site.Site) error { return Mount(k, Options{Record: s.Rec, Now: time.Now}) })
}

// firstRelief are the first verdicts' reliefs on the bass side, read from the results as they were recorded, which is not
// the way that the page takes.
type firstRelief struct {
	serial string
	value  float64
	u      float64
	treble float64
	tu     float64
	others int // other limited characteristics than relief that do not conform
	passed bool
}

// recount reads the first verdicts of the batch, neck by neck.
func recount(s *webtest.Shop) []firstRelief {
	s.Helper()
	var all []firstRelief
	for n, err := range s.Rec.EachNeck(context.Background(), s.Batch.ID) {
		if err != nil {
			s.Fatal(err)
		}
		if len(n.Inspections) == 0 || n.Inspections[0].Verdict == nil {
			continue
		}
		res := n.Inspections[0].Verdict.Result
		f := firstRelief{serial: n.Serial, passed: res.Disposition == inspect.Pass}
		for _, c := range res.Characteristics {
			if c.Name == "relief" && c.Track == "bass" {
				f.value, f.u = *c.Value, *c.U
			} else if c.Name == "relief" && c.Track == "treble" {
				f.treble, f.tu = *c.Value, *c.U
			} else if c.Zone != inspect.Conforming && c.Zone != inspect.NoLimit {
				f.others++
			}
		}
		all = append(all, f)
	}
	return all
}

// Every number of the batch's statistics equals a recount from the recorded results.
func TestBatchStatistics(t *testing.T) {
	s := shop(t)
	for i := range 27 {
		s.Inspect(fmt.Sprintf("QM-2611-%04d", i+4), 0.26+0.005*float64(i*7%13), 0)
	}
	s.Inspect("QM-2611-0020", 0.5, 0) // a second attempt is none of the process's first measurements
	all := recount(s)
	if len(all) != 30 {
		t.Fatalf("%d necks", len(all))
	}
	page := s.Get("/batches/QM-2611/charts?of=relief/bass//7", 200)

	control := webtest.Drawn(t, page, "control")
	sum, passed, outside := 0.0, 0, 0
	for i, f := range all {
		p := control.Series[0].Points[i]
		if math.Abs(*p.Y-f.value) > 1e-12 || p.Link != "/necks/"+f.serial {
			t.Errorf("point %d is %v of %s, recorded %v of %s", i+1, *p.Y, p.Link, f.value, f.serial)
		}
		sum += f.value
		if f.passed {
			passed++
		}
		if f.value < 0.2 || f.value > 0.36 {
			outside++
		}
	}
	mean := sum / 30
	squares, ranges, center := 0.0, 0.0, 0.0
	for i, f := range all {
		squares += (f.value - mean) * (f.value - mean)
		if i < 25 {
			center += f.value / 25
		}
		if i > 0 && i < 25 {
			ranges += math.Abs(f.value-all[i-1].value) / 24
		}
	}
	// Limits of an individuals chart with the price of the base's 25 points: 4.0879 estimated sigmas, mean moving range / 1.128, to
	// either side (computed in R, testdata/reference/statistics/chance.json).
	for _, m := range control.Marks {
		want := map[string]float64{"centre": center, "control": center + 4.0879024206*math.Sqrt(math.Pi)/2*ranges}[m.Kind]
		if m.Kind == "centre" && math.Abs(m.At-want) > 1e-9 || m.Kind == "control" && m.At > center && math.Abs(m.At-want) > 1e-9 {
			t.Errorf("%s at %v, want %v", m.Words, m.At, want)
		}
	}
	bars := 0.0
	for _, p := range webtest.Drawn(t, page, "histogram").Series[0].Points {
		bars += *p.Y
		if p.State != "" && *p.Y > 0 {
			outside -= int(*p.Y)
		}
	}
	if bars != 30 || outside != 0 {
		t.Errorf("the histogram holds %v necks, %d necks outside the limits are not coloured", bars, outside)
	}
	if got, want := webtest.Cell(t, page, "Mean", 0), fmt.Sprintf("%.3f mm", mean); got != want {
		t.Errorf("mean %s, want %s", got, want)
	}
	if got, want := webtest.Cell(t, page, "Sigma of all values", 0), fmt.Sprintf("%.3f mm", math.Sqrt(squares/29)); got != want {
		t.Errorf("sigma %s, want %s", got, want)
	}
	// Rolled throughput yield: the product over the kinds of limits of the share that did not fail in each.
	failed := map[string]int{}
	kinds := map[string]bool{}
	for n, err := range s.Rec.EachNeck(context.Background(), s.Batch.ID) {
		if err != nil {
			t.Fatal(err)
		}
		seen := map[string]bool{}
		for _, c := range n.Inspections[0].Verdict.Result.Characteristics {
			if c.Zone != inspect.NoLimit {
				kinds[c.Name] = true
			}
			if c.Zone == inspect.Nonconforming && !seen[c.Name] {
				seen[c.Name] = true
				failed[c.Name]++
			}
		}
	}
	rolled := 100.0
	for name := range kinds {
		rolled *= float64(30-failed[name]) / 30
	}
	reasons, people := s.Get("/batches/QM-2611/reasons", 200), s.Get("/batches/QM-2611/people", 200)
	webtest.Wants(t, reasons, fmt.Sprintf("Rolled throughput yield over %d kinds of limits: %.1f", len(kinds), rolled))
	webtest.Wants(t, people, fmt.Sprintf(`Mara Quill</a></th><td class="number">30</td><td class="number">%d</td>`, passed))

	// What if the upper limit were 0.30, which the specification has for both sides: by guarded acceptance a value conforms inside
	// the limits drawn in by 1.645 u (ISO 14253-1, JCGM 106:2012, 8.3), and the neck where both do.
	for _, of := range []string{"bass", "treble"} {
		part := s.Get("/batches/QM-2611/what-if?of=relief/"+of+"//7&lower=0.2&upper=0.3", 200)
		inside, would := 0, 0
		for _, f := range all {
			if g, h := 1.645*f.u, 1.645*f.tu; f.value >= 0.2+g && f.value <= 0.3-g && f.treble >= 0.2+h && f.treble <= 0.3-h {
				inside++
				if f.others == 0 {
					would++
				}
			}
		}
		if got := webtest.Cell(t, part, "Conforming in this", 1); got != fmt.Sprint(inside) {
			t.Errorf("%s would conform, recounted %d", got, inside)
		}
		if got := webtest.Cell(t, part, "Conforming in everything, first-pass yield, %", 1); !strings.HasPrefix(got, fmt.Sprintf("%d, ", would)) {
			t.Errorf("%s would pass, recounted %d", got, would)
		}
		if got := webtest.Cell(t, part, "Conforming in everything, first-pass yield, %", 0); !strings.HasPrefix(got, fmt.Sprintf("%d, ", passed)) {
			t.Errorf("%s pass as specified, recorded %d", got, passed)
		}
	}
	limits := s.Get("/batches/QM-2611/limits?of=relief/treble//7&upper=0.31", 200)
	webtest.Wants(t, limits, "Relief, each track, judged again", "they are moved together", `data-now="0.360"`, "0.200 as specified</output>", "0.310 (−0.050)</output>", `<option value="0.360" label="as specified">`)
	if strings.Count(limits, ">Relief, each track</option>") != 1 {
		t.Error("a limit for each track is one choice")
	}
	webtest.Wants(t, s.Get("/batches/QM-2611/necks?hour=08", 200), "first inspected from 08:00 to 08:59.")
	// Every row of a table that leads to necks leads to as many as it counts.
	rows := regexp.MustCompile(`<a href="(/batches/QM-2611/necks\?(?:inspector|gauge|hour|reason|failing)=[^"#]*)">[^<]*</a></th><td class="number">(\d+)</td>`).FindAllStringSubmatch(reasons+people, -1)
	if len(rows) < 4 {
		t.Errorf("%d rows lead to necks", len(rows))
	}
	for _, row := range rows {
		webtest.Wants(t, s.Get(html.UnescapeString(row[1]), 200), fmt.Sprintf("Necks 1 to %s of %s ", row[2], row[2]))
	}
	for path, say := range map[string]string{"weekday=1": "first inspected on a Monday.", "humidity=": "first inspected with no humidity noted.",
		"humidity=40": "first inspected at a humidity of 40 to 50 % RH.", "station=bench+9": "first inspected at station bench 9."} {
		webtest.Wants(t, s.Get("/batches/QM-2611/necks?"+path, 200), say)
	}
	if after := recount(s); len(after) != 30 || after[0] != all[0] {
		t.Error("asking what if changed the record")
	}
	_, table, _ := strings.Cut(s.Get("/batches/QM-2611/necks?q=0007&disposition=pass", 200), `id="necks"`)
	if !strings.Contains(table, "QM-2611-0007") || strings.Contains(table, "QM-2611-0008") {
		t.Error("the filter does not pick the necks")
	}
}

// In inches a limit is shown rounded, 0.20 mm as 0.0079 in (0.2007 mm): a slider that stands where it stood judges by the
// limit itself. The neck's 0.2003 mm lies between the two.
func TestWhatIfInInches(t *testing.T) {
	s := shop(t)
	s.Inspect("QM-2611-0004", 0.2003, 0)
	req := webtest.Request("GET", "/batches/QM-2611/what-if?of=relief/bass//7&lower=0.0079&upper=0.0142", nil)
	req.Header.Set("Cookie", "unit=in")
	part := s.Do(req).Body.String()
	webtest.Wants(t, part, "Lower limit, in")
	for _, row := range []string{"Undecided", "Nonconforming"} {
		if now, then := webtest.Cell(t, part, row, 0), webtest.Cell(t, part, row, 1); now != then {
			t.Errorf("%s: %s as it is, %s with the same limits", row, now, then)
		}
	}
}

// A signal's words carry the unit of the page: a relief of 0.508 mm is 0.02 in.
func TestSignalsInInches(t *testing.T) {
	s := shop(t)
	for i := range 26 {
		s.Inspect(fmt.Sprintf("QM-2611-%04d", i+4), 0.28+0.004*float64(i%3), 0)
	}
	s.Inspect("QM-2611-0030", 0.508, 0)
	for _, kind := range []string{"imr", "ranges", "cusum"} {
		req := webtest.Request("GET", "/batches/QM-2611/charts?of=relief/bass//7&kind="+kind, nil)
		req.Header.Set("Cookie", "unit=in")
		_, page, _ := strings.Cut(s.Do(req).Body.String(), "What it says, numbers in in")
		page, _, _ = strings.Cut(page, "</table>")
		for _, m := range regexp.MustCompile(`(?:limit|interval|beyond|\() ?([0-9]+\.[0-9]+)`).FindAllStringSubmatch(page, -1) {
			if v, err := strconv.ParseFloat(m[1], 64); err != nil || v > 0.06 {
				t.Errorf("%s: %s, which is no relief in inches", kind, m[0])
			}
		}
		if kind == "imr" && !strings.Contains(page, "(0.02000, limit ") {
			t.Errorf("no word of 0.02 in: %s", page)
		}
	}
}

// Control limits are frozen from the necks that a person names, and the chart says so.
func TestFrozenBase(t *testing.T) {
	s := shop(t)
	for i := range 12 {
		s.Inspect(fmt.Sprintf("QM-2611-%04d", i+4), 0.28+0.004*float64(i%5), 0)
	}
	form := url.Values{"first": {"4"}, "last": {"10"}, "by": {"Tove Aske"}, "reason": {"after the first three"}}
	s.Post("/batches/QM-2611/base", form, 303)
	page := s.Get("/batches/QM-2611/charts", 200)
	webtest.Wants(t, page, "Limits from necks 4 to 10 in the order of inspection, frozen by Tove Aske: after the first three.")
	for by, want := range map[string]string{"": "Nothing is chosen. Choose one of the list", "Mara Quill": "&#34;Mara Quill&#34; is not offered", "Nobody Known": "&#34;Nobody Known&#34; is not offered"} {
		form.Set("by", by)
		webtest.Wants(t, s.Post("/batches/QM-2611/base", form, 422), want)
	}
	form.Set("by", "Tove Aske")
	webtest.Wants(t, s.Get("/batches/QM-2611/charts?of=relief/treble//7", 200), `action="/batches/QM-2611/base?of=relief%2Ftreble%2F%2F7#base"`)
	form.Set("first", "10")
	webtest.Wants(t, s.Post("/batches/QM-2611/base", form, 422), "at least two")
}

// An address that once picked a part of the batch's own page leads to the layer of that part, with everything it asks for.
func TestOldAddressesLeadToTheirLayer(t *testing.T) {
	s := shop(t)
	for from, to := range map[string]string{
		"?of=relief/bass//7&kind=ewma": "/charts?of=relief/bass//7&kind=ewma", "?test=1": "/charts?test=1", "?of=relief/bass//7&lower=0.2": "/limits?of=relief/bass//7&lower=0.2",
		"?reason=relief": "/necks?reason=relief", "?gauge=": "/necks?gauge=", "?held=1": "/necks?held=1", "?q=0007&page=2": "/necks?q=0007&page=2",
	} {
		w := s.Do(webtest.Request("GET", "/batches/QM-2611"+from, nil))
		if got := w.Header().Get("Location"); w.Code != 303 || got != "/batches/QM-2611"+to {
			t.Errorf("%s leads to %q, status %d, want %s", from, got, w.Code, to)
		}
		s.Get("/batches/QM-2611"+to, 200)
	}
	s.Get("/batches/QM-9999/charts", 404)
}

// Every layer has the batch's sentence and the same ways in the same order; the answer names what is behind it, and the
// anchors of its former parts stand at the ways to them.
func TestLayersOfABatch(t *testing.T) {
	s := shop(t)
	answer := s.Get("/batches/QM-2611", 200)
	ways := regexp.MustCompile(`<a href="(/batches/QM-2611[^"?]*)"[^>]*>([^<]*)</a>\n`)
	var want [][]string
	for _, l := range show.BatchLayers(false) {
		path := "/batches/QM-2611"
		if l.Key != "" {
			path += "/" + l.Key
			webtest.Wants(t, answer, fmt.Sprintf(`<a id=%q href=%q>%s</a>`, l.Anchor, path, l.Title))
		}
		want = append(want, []string{path, l.Title})
	}
	for _, l := range show.BatchLayers(false)[1:] {
		if l.Key == "audit" { // of another group
			continue
		}
		page := s.Get("/batches/QM-2611/"+l.Key, 200)
		webtest.Wants(t, page, "2 of 30 may ship")
		_, nav, _ := strings.Cut(page, `<nav class="layers`)
		nav, _, _ = strings.Cut(nav, "</nav>")
		var got [][]string
		for _, m := range ways.FindAllStringSubmatch(nav, -1) {
			got = append(got, m[1:])
		}
		if fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("%s: the ways are %v, want %v", l.Key, got, want)
		}
	}
}

func TestBatchShowsItsSignatures(t *testing.T) {
	s := shop(t)
	recordtest.SignsOn(t, s.Rec, "Tove Aske")
	seal := batch.WithSeals(t.Context(), batch.Seal{By: "Tove Aske", Reason: "all shipped"})
	if strings.Contains(s.Get("/batches/QM-2611", http.StatusOK), "Signed by") {
		t.Error("a batch about which nothing was signed shows a signature")
	}
	if err := s.Rec.CloseBatch(seal, "Tove Aske", "QM-2611"); err != nil {
		t.Fatal(err)
	}
	g := webtest.Must[[]batch.Signature](s)(s.Rec.Signatures(t.Context(), "QM-2611"))
	webtest.Wants(t, s.Get("/batches/QM-2611", http.StatusOK), ", to close a batch: all shipped. SHA-256 "+g[0].Digest)
}
