package web

import (
	"context"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"sagitta/station/web/webtest"
)

// pagesInBrowser opens the filled shop's pages in a headless browser and returns their address.
func pagesInBrowser(t *testing.T) (context.Context, *shop, string) {
	s := openShop(t).fill()
	return webtest.Browser(t), s, s.Serve()
}

func TestPagesInBrowser(t *testing.T) {
	t.Parallel()
	ctx, s, url := pagesInBrowser(t)
	t.Run("tables sort and filter by keyboard", func(t *testing.T) { sortAndFilter(t, ctx, url) })
	t.Run("a scale stands under its bar", func(t *testing.T) { scaleUnderBar(t, ctx, url) })
	t.Run("the switch of light changes something", func(t *testing.T) { lightOffered(t, ctx, url) })
	t.Run("pages fit a phone", func(t *testing.T) { fitPhone(t, ctx, s, url) })
}

func sortAndFilter(t *testing.T, ctx context.Context, url string) {
	webtest.Does(t, ctx, chromedp.EmulateViewport(1280, 800), chromedp.Navigate(url+"/batches/QM-2611/necks"))
	const first = `document.querySelector("#necks tbody th").textContent.trim()`
	webtest.Says[bool](t, ctx, `document.querySelector("#necks button.sort").focus(), true`)
	for _, want := range []string{"QM-2611-0001", "QM-2611-0030", "QM-2611-0001"} {
		webtest.Does(t, ctx, chromedp.KeyEvent("\r"))
		if got := webtest.Says[string](t, ctx, first); got != want {
			t.Errorf("after Enter on the head the first row is %s, want %s", got, want)
		}
	}
	if got := webtest.Says[string](t, ctx, `document.activeElement.closest("th").getAttribute("aria-sort")`); got != "ascending" {
		t.Errorf("the head says %q, want ascending", got)
	}
	webtest.Says[bool](t, ctx, `document.querySelector("#necks .filter input").focus(), true`)
	webtest.Does(t, ctx, chromedp.KeyEvent("rework"))
	shown := `[...document.querySelectorAll("#necks tbody tr")].filter(r => !r.hidden).length`
	if n := webtest.Says[int](t, ctx, shown); n != 1 {
		t.Errorf("%d rows match rework, want the one neck with the high fret", n)
	}
	if said := webtest.Says[string](t, ctx, `document.querySelector("#necks output").value`); said != "1 of 30 rows" {
		t.Errorf("the filter says %q", said)
	}
}

// scaleUnderBar: the label 50 is centred under the middle of the bar.
func scaleUnderBar(t *testing.T, ctx context.Context, url string) {
	webtest.Does(t, ctx, chromedp.EmulateViewport(1280, 800), chromedp.Navigate(url+"/batches/QM-2611"))
	const off = `(() => { const middle = e => { const r = e.getBoundingClientRect(); return (r.left + r.right) / 2 };
		return Math.abs(middle(document.querySelector(".scale span:nth-child(2)")) - middle(document.querySelector(".interval-bar"))) })()`
	if px := webtest.Says[float64](t, ctx, off); px > 1 {
		t.Errorf("50 stands %.1f px beside the middle", px)
	}
}

// lightOffered: where nobody has chosen, the page offers what the system has not.
func lightOffered(t *testing.T, ctx context.Context, url string) {
	for system, want := range map[string]string{"dark": "Light page", "light": "Dark page"} {
		media := emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: system}}}
		if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, media); err != nil {
			t.Fatal(err)
		}
		webtest.Does(t, ctx, chromedp.Navigate(url+"/batches"))
		const offered = `[...document.querySelectorAll("button[name=light]")].filter(b => b.checkVisibility()).map(b => b.textContent).join()`
		if got := webtest.Says[string](t, ctx, offered); got != want {
			t.Errorf("on a %s system it offers %q, want %q", system, got, want)
		}
	}
}

func fitPhone(t *testing.T, ctx context.Context, s *shop, url string) {
	webtest.FitsPhone(t, ctx, url, "/batches", "/batches/QM-2611")
	webtest.Does(t, ctx, chromedp.Navigate(url+"/batches/QM-2611/necks"))
	if right := webtest.Says[float64](t, ctx, `Math.max(...[...document.querySelectorAll("#necks td.state")].map(e => e.firstElementChild.getBoundingClientRect().right))`); right > 390 {
		t.Errorf("a neck's disposition begins %.0f px from the left of a phone of 390 px", right)
	}
}
