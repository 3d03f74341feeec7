package web

import (
	"net/http/httptest"
	"testing"

	"github.com/chromedp/chromedp"

	"sagitta/station/web/webtest"
)

// TestOutgoingAuditInBrowser goes from a batch's page through an audit to its signed result with the mouse and the keyboard,
// and fits its pages on a phone.
func TestOutgoingAuditInBrowser(t *testing.T) {
	t.Parallel()
	s := openShop(t).fill()
	s.Passed("QM-2611-0004", "QM-2611-0005", "QM-2611-0006", "QM-2611-0007", "QM-2611-0008", "QM-2611-0009")
	srv := httptest.NewServer(s.Handler)
	t.Cleanup(srv.Close)
	ctx := webtest.Browser(t)
	press := func(selector string) {
		t.Helper()
		webtest.Says[bool](t, ctx, `document.querySelector('`+selector+`').click(), true`)
	}
	answer := func(words string) {
		t.Helper()
		webtest.Settled(t, ctx, `document.readyState === "complete" && [...document.querySelectorAll(".answer")].some(a => a.textContent.includes("`+words+`"))`)
	}
	webtest.Does(t, ctx, chromedp.EmulateViewport(1280, 800), chromedp.Navigate(srv.URL+"/batches/QM-2611"))
	press(`a[href$="/audit"]`)
	answer("8 necks of this batch may ship")
	webtest.Says[bool](t, ctx, `document.querySelector('[name=aql]').value = "6.5", true`)
	press(`form[method=get] button`)
	answer("Look at 2 of 8 necks")
	press(`form[method=post][action$="/audit"] button`)
	answer("0 of 2 necks looked at")
	webtest.Says[bool](t, ctx, `document.querySelectorAll('table.findings [value=conforming]').forEach(r => r.click()), true`)
	webtest.Says[bool](t, ctx, `document.querySelector('[name=by]').value = "Mara Quill", true`)
	webtest.Says[bool](t, ctx, `document.querySelector('table.findings [value=nonconforming]').click(), true`)
	press(`form[action$="/findings"] button.main`)
	webtest.Settled(t, ctx, `(document.querySelector("table.findings .error")?.textContent ?? "").includes("say what does not conform") && document.querySelector("[name=by]").value === "Mara Quill"`)
	webtest.Says[bool](t, ctx, `document.querySelector("table.findings input[type=text]").focus(), true`)
	webtest.Does(t, ctx, chromedp.KeyEvent("buzz at fret 3\r")) // Enter saves
	answer("2 of 2 necks looked at, 1 nonconforming so far")

	webtest.Does(t, ctx, chromedp.EmulateViewport(390, 844))
	audit := webtest.Says[string](t, ctx, "location.pathname")
	for _, path := range []string{audit, "/batches/QM-2611/audit", "/alarms"} {
		webtest.Does(t, ctx, chromedp.Navigate(srv.URL+path))
		if w := webtest.Says[int](t, ctx, "document.documentElement.scrollWidth"); w > 390 {
			t.Errorf("%s is %d px wide on a phone of 390 px", path, w)
		}
		if small := webtest.Says[[]string](t, ctx, `[...document.querySelectorAll("main button:not(.sort), main a.button, main select, main label.box")].filter(e => e.getBoundingClientRect().height < 48 && e.offsetParent).map(e => e.outerHTML.slice(0, 80))`); len(small) > 0 {
			t.Errorf("%s: less than 48 px to press: %q", path, small)
		}
		if bare := webtest.Says[[]string](t, ctx, `[...document.querySelectorAll("input:not([type=hidden]), select")].filter(e => !e.labels.length && !e.getAttribute("aria-label")).map(e => e.outerHTML)`); len(bare) > 0 {
			t.Errorf("%s: without a label: %q", path, bare)
		}
		if twice := webtest.Says[[]string](t, ctx, `[...document.querySelectorAll("[id]")].map(e => e.id).filter((id, i, all) => all.indexOf(id) !== i)`); len(twice) > 0 {
			t.Errorf("%s: stands twice: %q", path, twice)
		}
	}
	webtest.Does(t, ctx, chromedp.Navigate(srv.URL+audit))
	press(`form[action$="/sign"] button`)
	answer("The lot of 8 necks is rejected")
	webtest.Does(t, ctx, chromedp.Navigate(srv.URL+"/batches/QM-2611"))
	answer("may ship, for the lot was rejected")
}
