package web

import (
	"context"
	"testing"

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

func fitPhone(t *testing.T, ctx context.Context, s *shop, url string) {
	webtest.FitsPhone(t, ctx, url, "/batches", "/batches/QM-2611")
	webtest.Does(t, ctx, chromedp.Navigate(url+"/batches/QM-2611/necks"))
	if right := webtest.Says[float64](t, ctx, `Math.max(...[...document.querySelectorAll("#necks td.state")].map(e => e.firstElementChild.getBoundingClientRect().right))`); right > 390 {
		t.Errorf("a neck's disposition begins %.0f px from the left of a phone of 390 px", right)
	}
}
