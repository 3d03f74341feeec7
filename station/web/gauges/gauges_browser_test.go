package gauges

import (
	"net/url"
	"testing"

	"github.com/chromedp/chromedp"

	"sagitta/station/web/webtest"
)

// What is typed into a page's form survives a reload and the switch of light, belongs to the unit it was typed in, and is
// gone once it was sent.
func TestFormsSurviveAReloadInBrowser(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	ctx, url := webtest.Browser(t), s.Serve()
	page := url + "/gauges/" + s.Gauge.ID
	name := `document.querySelector("#entry [name=name]")`
	webtest.Does(t, ctx, chromedp.Navigate(page))
	webtest.Says[bool](t, ctx, name+`.closest("details").open = true, `+name+`.select(), `+name+`.focus(), true`)
	webtest.Does(t, ctx, chromedp.KeyEvent("carriage two"))
	for what, step := range map[string]chromedp.Action[chromedp.Void]{
		"a reload":            chromedp.Reload(),
		"the switch of light": chromedp.Click(`[name="light"].while-light`),
	} {
		webtest.Says[bool](t, ctx, `(window.before = true)`)
		webtest.Does(t, ctx, step)
		webtest.Settled(t, ctx, `!window.before && document.querySelector("#entry .note .small") !== null`)
		if got := webtest.Says[string](t, ctx, name+`.value + "/" + `+name+`.closest("details").open`); got != "carriage two/true" {
			t.Errorf("after %s the form holds %q", what, got)
		}
	}
	webtest.Does(t, ctx, chromedp.Click(`[name="unit"][value="in"]`))
	webtest.Settled(t, ctx, `document.querySelector('[name="unit"][value="in"]').getAttribute("aria-pressed") === "true" && document.readyState === "complete"`)
	if got := webtest.Says[string](t, ctx, name+`.value`); got != s.Gauge.Name {
		t.Errorf("numbers typed in mm came back in inches with %q", got)
	}
	webtest.Does(t, ctx, chromedp.Click(`[name="unit"][value="mm"]`))
	webtest.Settled(t, ctx, name+`.value === "carriage two"`)
	webtest.Says[bool](t, ctx, `document.querySelector("#entry [name=by]").selectedIndex = 1, document.querySelector("#entry .main").click(), true`)
	webtest.Settled(t, ctx, `document.querySelector("h1")?.textContent === "carriage two"`)
	if left := webtest.Says[int](t, ctx, `sessionStorage.length`); left != 0 {
		t.Errorf("%d forms are still kept after they were sent", left)
	}
}

// TestGaugesFitAPhone fits the pages on a phone.
func TestGaugesFitAPhone(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	s.Post("/gauges/identify", url.Values{"port": {"/dev/ttyUSB3"}}, 303)
	s.lines.tells(lesson("\x02A:+0.123 mm5E\x03\r\n", "\x02A:+0.1mmB99\x03\r\n"))
	webtest.FitsPhone(t, webtest.Browser(t), s.Serve(), "/gauges", "/gauges/new", "/gauges/new?kind=beam", "/gauges/new?kind=leaves", "/gauges/identify", "/gauges/new?kind=indicator&learnt=yes", "/gauges/"+s.Gauge.ID)
}
