package web

import (
	"github.com/chromedp/chromedp"
	"testing"
)

// What is typed into a page's form survives a reload and the switch of light, belongs to the unit it was typed in, and is
// gone once it was sent.
func TestFormsSurviveAReloadInBrowser(t *testing.T) {
	ctx, s, url := pagesInBrowser(t)
	page := url + "/gauges/" + s.gauge.ID
	name := `document.querySelector("#entry [name=name]")`
	pageDoes(t, ctx, chromedp.Navigate(page))
	pageSays[bool](t, ctx, name+`.closest("details").open = true, `+name+`.select(), `+name+`.focus(), true`)
	pageDoes(t, ctx, chromedp.KeyEvent("carriage two"))
	for what, step := range map[string]chromedp.Action[chromedp.Void]{
		"a reload":            chromedp.Reload(),
		"the switch of light": chromedp.Click(`[name="light"]`),
	} {
		pageSays[bool](t, ctx, `(window.before = true)`)
		pageDoes(t, ctx, step)
		settled(t, ctx, `!window.before && document.querySelector("#entry .note .small") !== null`)
		if got := pageSays[string](t, ctx, name+`.value + "/" + `+name+`.closest("details").open`); got != "carriage two/true" {
			t.Errorf("after %s the form holds %q", what, got)
		}
	}
	pageDoes(t, ctx, chromedp.Click(`[name="unit"][value="in"]`))
	settled(t, ctx, `document.querySelector('[name="unit"][value="in"]').getAttribute("aria-pressed") === "true" && document.readyState === "complete"`)
	if got := pageSays[string](t, ctx, name+`.value`); got != s.gauge.Name {
		t.Errorf("numbers typed in mm came back in inches with %q", got)
	}
	pageDoes(t, ctx, chromedp.Click(`[name="unit"][value="mm"]`))
	settled(t, ctx, name+`.value === "carriage two"`)
	pageSays[bool](t, ctx, `document.querySelector("#entry [name=by]").selectedIndex = 1, document.querySelector("#entry .main").click(), true`)
	settled(t, ctx, `document.querySelector("h1")?.textContent === "carriage two"`)
	if left := pageSays[int](t, ctx, `sessionStorage.length`); left != 0 {
		t.Errorf("%d forms are still kept after they were sent", left)
	}
}
