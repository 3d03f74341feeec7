package web

import (
	"fmt"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"sagitta/batch"
	"sagitta/station/web/webtest"
)

// tallest is four screens of 800 px: no page for reading is longer.
const tallest = 4 * 800

// isFile matches the addresses of what is fetched and not opened.
var isFile = regexp.MustCompile(`\.(xlsx|csv|txt|toml|pdf|html|json|rules)$`)

// shapeOf is an address without what tells one batch, neck, gauge or choice from another: pages of one shape are long for
// the same reasons.
func shapeOf(address *url.URL) string {
	parts := strings.Split(address.Path, "/")
	if len(parts) > 2 && slices.Contains([]string{"batches", "necks", "gauges", "specs", "audits", "studies"}, parts[1]) && parts[2] != "new" && parts[2] != "identify" {
		parts[2] = "*"
	}
	var keys []string
	for key := range address.Query() {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	return strings.Join(parts, "/") + "?" + strings.Join(keys, "&")
}

// TestNoPageIsLong walks through all the pages of a shop with a full batch, an outgoing audit, a failed check and a year gone
// by, along their links: none is longer than four screens of a bench, and none scrolls sideways there or on a phone.
func TestNoPageIsLong(t *testing.T) {
	t.Parallel()
	s := openShop(t).fill().past()
	for i := range 27 {
		s.Inspect(fmt.Sprintf("QM-2611-%04d", i+4), 0.26+0.005*float64(i*7%13), 0)
	}
	s.Post("/batches/QM-2611/audit", url.Values{"aql": {"6.5"}, "level": {"II"}, "severity": {"normal"}, "by": {"Tove Aske"}}, 303)
	webtest.Must[batch.GaugeCheck](s)(s.Rec.AppendGaugeCheck(t.Context(), batch.GaugeCheck{GaugeID: s.Gauge.ID, By: "Mara Quill", Why: "+0.030 mm on the 1 mm master", After: batch.CheckDue}))
	ctx, at := webtest.Browser(t), s.Serve()
	// A neck of many attempts and the two kinds of batches are of the same shape as others, and longer.
	ways := []string{"/batches", "/batches/QM-2611", "/batches/QM-2509", "/batches/QM-2509/necks", "/batches/QM-2611/doubt", "/necks/QM-2611-0001", "/necks", "/necks?q=QM", "/alarms", "/trend",
		"/trend/characteristics?model=QM+Bolt+648", "/compare?a=QM-2505&b=QM-2509", "/specs", "/gauges", "/people", "/about", "/help", "/help/relief", "/callback", "/gauges/" + s.Gauge.ID}
	begun := len(ways)
	shapes := map[string]bool{}
	for i := 0; i < len(ways); i++ {
		address, err := url.Parse(ways[i])
		if err != nil {
			t.Fatal(err)
		}
		if shape := shapeOf(address); i < begun {
			shapes[shape] = true
		} else if shapes[shape] || isFile.MatchString(address.Path) || address.Path == "/" { // the bench has its own tests
			continue
		} else {
			shapes[shape] = true
		}
		webtest.Does(t, ctx, chromedp.EmulateViewport(1280, 800), chromedp.Navigate(at+ways[i]))
		webtest.Settled(t, ctx, `document.querySelectorAll("figure.chart:not([data-drawn])").length === 0`)
		if h := webtest.Says[int](t, ctx, `document.documentElement.scrollHeight`); h > tallest {
			t.Errorf("%s is %d px long, at most %d", ways[i], h, tallest)
		}
		if w := webtest.Says[int](t, ctx, `document.documentElement.scrollWidth`); w > 1280 {
			t.Errorf("%s is %d px wide in a window of 1280 px", ways[i], w)
		}
		ways = append(ways, webtest.Says[[]string](t, ctx, `[...document.querySelectorAll("a[href^='/']")].map(a => a.pathname + a.search)`)...)
		webtest.Does(t, ctx, chromedp.EmulateViewport(390, 844))
		if w := webtest.Says[int](t, ctx, `document.documentElement.scrollWidth`); w > 390 {
			t.Errorf("%s is %d px wide on a phone of 390 px", ways[i], w)
		}
	}
	if len(shapes) < 40 {
		t.Errorf("only %d kinds of pages were found", len(shapes))
	}
}
